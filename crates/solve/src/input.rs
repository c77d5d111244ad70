//! What the balance works on.

use cupel_barmap::LowWaves;
use cupel_compare::Cells;
use cupel_session::Targets;
use cupel_units::Role;

use crate::hits::LowHit;
use crate::lean::LeanElement;
use crate::levels::Prints;
use crate::mix_scene::MixScene;

/// A track as measured.
#[derive(Clone, Debug)]
pub struct MeasuredTrack<'a> {
    /// Id in the session.
    pub id: &'a str,
    /// Its role, where known.
    pub role: Option<Role>,
    /// Whether it is part of the anchor.
    pub is_kick: bool,
    /// Whether its file has one channel.
    pub is_mono: bool,
    /// Integrated loudness of the whole track.
    pub lufs: Option<f64>,
    /// Whether it sounds in the passage.
    pub sounds: bool,
    /// Gain set by moves that stay, relative to the trim of all; the track is
    /// then not moved.
    pub kept_gain_db: Option<f64>,
    /// Whether a pan that stays is set on it.
    pub pan_is_set: bool,
    /// Whether a turn of polarity that stays is set on it.
    pub polarity_is_set: bool,
    /// Whether a shift in time that stays is set on it.
    pub offset_is_set: bool,
}

/// The passage beside the reference's.
#[derive(Clone, Copy)]
pub struct Beside<'a> {
    /// The tracks together.
    pub scene: &'a MixScene,
    /// The reference, where there is one.
    pub reference: Option<&'a Cells>,
    /// The reference as a print of this mix, where it may be one.
    pub prints: Option<&'a Prints<'a>>,
    /// Tracks of one role that sound together.
    pub elements: &'a [LeanElement<'a>],
    /// Kick and bass below 150 Hz, hit by hit.
    pub low_hits: &'a [LowHit],
    /// Waves of kick and bass around those hits.
    pub low_waves: Option<&'a LowWaves>,
    /// Bands (low and high edge, hertz) in which other things play.
    pub elsewhere_hz: &'a [(f64, f64)],
}

/// Which stages are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stages {
    /// One trim of all tracks brings the kick to its peak.
    pub anchor: bool,
    /// Kick and bass.
    pub low_end: bool,
    /// Snare and clap, hats, lead, voice.
    pub core: bool,
    /// The other tracks.
    pub rest: bool,
    /// Left and right.
    pub lean: bool,
    /// Headroom and sections.
    pub check: bool,
}

impl Default for Stages {
    fn default() -> Self {
        Self {
            anchor: true,
            low_end: true,
            core: true,
            rest: true,
            lean: true,
            check: true,
        }
    }
}

impl Stages {
    /// The names, in order, as in moves.
    pub const NAMES: [&'static str; 6] = ["anchor", "low end", "core", "rest", "lean", "check"];

    /// Whether a stage of that name is asked for; others always are.
    pub fn has(&self, stage: &str) -> bool {
        match stage {
            "anchor" => self.anchor,
            "low end" => self.low_end,
            "core" => self.core,
            "rest" => self.rest,
            "lean" => self.lean,
            "check" => self.check,
            _ => true,
        }
    }
}

/// What the balance works on.
#[derive(Clone)]
pub struct BalanceInput<'a> {
    /// The tracks that are part of the sum.
    pub tracks: &'a [MeasuredTrack<'a>],
    /// The passages; without them only the anchor is set.
    pub beside: Option<Beside<'a>>,
    /// Sample peak of the kick element, as exported, in dBFS.
    pub kick_peak_dbfs: Option<f64>,
    /// A trim of all tracks that stays: no new one is made.
    pub kept_trim_db: Option<f64>,
    /// What to aim at.
    pub targets: Targets,
    /// Stages asked for.
    pub stages: Stages,
    /// Turn on every move, not only the few that do most.
    pub all: bool,
    /// Neither round moves nor drop small ones.
    pub exact: bool,
    /// Whether what is usual for a role counts beside the reference.
    pub usual: bool,
}
