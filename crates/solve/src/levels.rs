//! Levels of all tracks beside the anchor, from a reference and what is usual.

use cupel_compare::Cells;
use cupel_units::Role;
use serde::Serialize;

use crate::mix_scene::MixScene;
use crate::prior::usual_level;
use crate::view::{Belief, View};
use crate::view_fit::{ViewFit, cost_at, fit_views};
use crate::views::song_views;

mod moves;
mod print;
mod same;
mod setting;

pub use moves::{AnchorOff, SONG_ERROR_DB, SONG_PART};

use same::same_tracks;
use setting::{Setting, beliefs};

/// Where the cells agree to this spread, the reference is a print of this mix. Prints
/// of drawn sessions that were limited, transposed and played faster agree to 0.6 dB;
/// other songs with drawn patterns stay above 2 dB, and with the very same patterns
/// above 1 dB.
const PRINT_SPREAD_DB: f64 = 0.8;
/// Belief in usual levels where the reference is a print: next to none.
const PRINT_BELIEF_DB: f64 = 30.0;
/// Tracks that the views would let go this far tell nothing.
const UNTOLD_DB: f64 = 10.0;
/// What is known of a track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelTrack {
    /// Its role, where known.
    pub role: Option<Role>,
    /// Whether it is part of the anchor.
    pub is_anchor: bool,
    /// Integrated loudness of the whole track.
    pub lufs: Option<f64>,
    /// Whether it sounds in the passage.
    pub sounds: bool,
    /// Gain that is settled, relative to the anchor as exported.
    pub kept_gain_db: Option<f64>,
}

/// What kind of reference it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ReferenceKind {
    /// A print of this very mix.
    Print,
    /// Another song.
    Song,
}

/// How a level came about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// Fitted.
    Fitted,
    /// Settled before, or part of the anchor.
    Settled,
    /// The passage tells nothing: it is silent there.
    Silent,
    /// The passage tells nothing: it is buried, as it is and as it would be.
    Buried,
    /// Fitted together with an earlier track that it cannot be told from.
    AsOneWith(usize),
}

/// The levels.
#[derive(Clone, Debug)]
pub struct Levels {
    /// Gain of every track beside the anchor, dB.
    pub gain_db: Vec<f64>,
    /// How far off it may be, dB.
    pub spread_db: Vec<f64>,
    /// How each came about.
    pub told: Vec<Told>,
    /// What the reference is.
    pub kind: ReferenceKind,
    /// How well a print of this mix would agree cell by cell, dB; `None` where cells
    /// do not compare.
    pub print_spread_db: Option<f64>,
    /// The cells of the reference where a print was found to agree, where that is not
    /// its busiest passage.
    pub matched: Option<Cells>,
    place: (i32, i32),
    views: Vec<View>,
    beliefs: Vec<Belief>,
    fit: ViewFit,
}

/// Where and how a print was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PrintPlace {
    /// Semitones by which it is higher than the mix.
    pub semitones: i32,
    /// Bars by which it begins later than the first bar lines of both say.
    pub bars: i32,
    /// Whether it agrees at the place of the passage, not where it is busiest itself.
    pub at_the_passage: bool,
}

/// Reads a reference as a print: semitones up, bars later.
pub type Prints<'a> = dyn Fn(i32, i32) -> Option<Cells> + Sync + 'a;

/// What levels are found from.
#[derive(Clone, Copy)]
pub struct LevelInput<'a> {
    /// The tracks together.
    pub scene: &'a MixScene,
    /// The reference's busiest passage.
    pub reference: &'a Cells,
    /// Where the reference may be a print of this mix: the passage at the same place
    /// in it, told how many semitones it was transposed and how many bars it begins
    /// later.
    pub prints: Option<&'a Prints<'a>>,
    /// What is known of the tracks.
    pub tracks: &'a [LevelTrack],
    /// Loudness of the anchor as exported.
    pub anchor_lufs: Option<f64>,
    /// What is usual for the anchor, LU above the usual kick.
    pub anchor_lu: f64,
    /// Largest gain beside the anchor, dB.
    pub limit_db: f64,
    /// Whether what is usual for a role counts; else the reference alone does.
    pub usual: bool,
}

impl Levels {
    /// Finds the levels.
    pub fn of(input: &LevelInput<'_>) -> Self {
        let told = Self::told(input);
        let print = Self::print(input, &told);
        Self::beside_print(input, told, print)
    }

    /// The levels twice: with what is usual for a role, and of the reference alone.
    /// `input.usual` is not looked at.
    pub fn with_and_without_usual(input: &LevelInput<'_>) -> (Self, Self) {
        let told = Self::told(input);
        // Next to nothing is believed of a print, so one attempt serves both.
        let print = Self::print(input, &told);
        let with = |usual: bool| {
            let input = LevelInput { usual, ..*input };
            Self::beside_print(&input, told.clone(), print.clone())
        };
        rayon::join(|| with(true), || with(false))
    }

    /// What is known before anything is fitted.
    fn told(input: &LevelInput<'_>) -> Vec<Told> {
        let same = same_tracks(input.scene);
        input
            .tracks
            .iter()
            .zip(&same)
            .map(|(track, same)| match (track, same) {
                (t, _) if t.is_anchor || t.kept_gain_db.is_some() => Told::Settled,
                (t, _) if !t.sounds => Told::Silent,
                (_, Some(other)) => Told::AsOneWith(*other),
                _ => Told::Fitted,
            })
            .collect()
    }

    /// The levels of a print where it agrees like one, else those of another song.
    fn beside_print(input: &LevelInput<'_>, told: Vec<Told>, print: Option<Self>) -> Self {
        let print_spread_db = print.as_ref().and_then(|print| print.print_spread_db);
        if let Some(print) = print
            && print_spread_db.is_some_and(|spread_db| spread_db < PRINT_SPREAD_DB)
        {
            return print.without_buried(input, told);
        }
        let views = song_views(input.scene, input.reference);
        let found = Self::fitted(input, views, told.clone(), least_belief_db(input));
        let mut found = found.without_buried(input, told);
        found.print_spread_db = print_spread_db;
        found
    }

    /// Where and how it was read, where the reference is a print.
    pub fn print_place(&self) -> Option<PrintPlace> {
        (self.kind == ReferenceKind::Print).then_some(PrintPlace {
            semitones: self.place.0,
            bars: self.place.1,
            at_the_passage: self.matched.is_some(),
        })
    }

    /// Fitted again with the tracks left alone about which nothing is told.
    fn without_buried(self, input: &LevelInput<'_>, mut told: Vec<Told>) -> Self {
        if !self.call_buried(input, &mut told) {
            return self;
        }
        let least_belief_db = match self.kind {
            ReferenceKind::Print => PRINT_BELIEF_DB,
            ReferenceKind::Song => least_belief_db(input),
        };
        let found = Self::fitted(input, self.views, told, least_belief_db);
        Self {
            kind: self.kind,
            print_spread_db: self.print_spread_db,
            matched: self.matched,
            place: self.place,
            ..found
        }
    }

    /// What the levels cost at other gains; less is better.
    pub fn cost(&self, input: &LevelInput<'_>, gain_db: &[f64]) -> f64 {
        let setting = Setting::of(input, &self.told);
        cost_at(
            &setting.problem(input, &self.views, &self.beliefs),
            &self.fit,
            gain_db,
        )
    }

    /// Fits from what is usual and from the tracks as they are; the better wins.
    fn fitted(
        input: &LevelInput<'_>,
        views: Vec<View>,
        told: Vec<Told>,
        least_belief_db: f64,
    ) -> Self {
        let setting = Setting::of(input, &told);
        let beliefs = beliefs(input, &told, least_belief_db);
        let problem = setting.problem(input, &views, &beliefs);
        let usual_db: Vec<f64> = (0..input.tracks.len())
            .map(|t| usual_gain_db(input, t).unwrap_or(0.0))
            .collect();
        let as_is = vec![0.0; input.tracks.len()];
        let (usual, plain) = rayon::join(
            || fit_views(&problem, &usual_db),
            || fit_views(&problem, &as_is),
        );
        let fit = if plain.cost < usual.cost {
            plain
        } else {
            usual
        };
        Self {
            gain_db: fit.gain_db.clone(),
            spread_db: fit.spread_db.clone(),
            told,
            kind: ReferenceKind::Song,
            print_spread_db: None,
            matched: None,
            place: (0, 0),
            views,
            beliefs,
            fit,
        }
    }

    /// Marks the tracks that are buried at their new level and as exported.
    fn call_buried(&self, input: &LevelInput<'_>, told: &mut [Told]) -> bool {
        let setting = Setting::of(input, told);
        let mut any = false;
        for t in 0..told.len() {
            if told[t] != Told::Fitted || self.fit.told_db[t] < UNTOLD_DB {
                continue;
            }
            let mut as_is = self.fit.gain_db.clone();
            as_is[t] = 0.0;
            let problem = setting.problem(input, &self.views, &self.beliefs);
            let (held, told_db) = crate::view_fit::told_at(&problem, &self.fit, &as_is, t);
            if held && told_db > UNTOLD_DB {
                told[t] = Told::Buried;
                any = true;
            }
        }
        any
    }
}

/// Spread below which no belief in usual levels goes for another song, dB.
fn least_belief_db(input: &LevelInput<'_>) -> f64 {
    if input.usual { 0.0 } else { PRINT_BELIEF_DB }
}

/// The gain that brings a track to its usual level beside the anchor.
pub(crate) fn usual_gain_db(input: &LevelInput<'_>, track: usize) -> Option<f64> {
    let known = &input.tracks[track];
    let usual = usual_level(known.role).mean_lu - input.anchor_lu;
    Some(usual - (known.lufs? - input.anchor_lufs?))
}
