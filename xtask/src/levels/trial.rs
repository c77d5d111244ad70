//! One trial: tracks as files, a reference, and what was advised.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::error::XtaskError;
use crate::levels::asked::{Advised, Gains, advise, read_back};
use crate::levels::material::{Material, Part};
use crate::levels::reference::{gained, write, write_reference};
use crate::levels::table::{draw_table, gain_of, usual_table};
use crate::prove::dice::Dice;
use crate::prove::work::{Work, fingerprint};

/// Every track is turned by up to this.
const OFFSET_DB: f64 = 12.0;
/// How far a role of the reference is moved either way.
pub(crate) const MOVED_DB: f64 = 4.0;
/// Seeds of the kinds that are beside the goals.
const SEEDS_BESIDE: u64 = 3;

/// What the reference is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Kind {
    OwnMix,
    Disguise,
    AnotherSong,
    /// Another song, and no track was turned.
    NothingWrong,
    /// The session's own bounce, read back by regression: no part of the solver.
    ReadBack,
}

impl Kind {
    pub(crate) const ALL: [Self; 5] = [
        Self::OwnMix,
        Self::Disguise,
        Self::AnotherSong,
        Self::NothingWrong,
        Self::ReadBack,
    ];

    /// Whether it needs a second session.
    fn is_of_two(self) -> bool {
        matches!(self, Self::AnotherSong | Self::NothingWrong)
    }

    fn is_beside(self) -> bool {
        matches!(self, Self::NothingWrong | Self::ReadBack)
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::OwnMix => "own mix",
            Self::Disguise => "own mix in disguise",
            Self::AnotherSong => "another song",
            Self::NothingWrong => "nothing wrong",
            Self::ReadBack => "read back",
        }
    }
}

/// Roles of the reference that are moved, in the data's words.
pub(crate) const MOVED: [(&str, &[&str]); 4] = [
    ("bass", &["bass"]),
    ("clap", &["clap", "snare"]),
    ("voice", &["vocal"]),
    ("hat", &["closed hat", "open hat"]),
];

/// What is to be tried.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    pub session: usize,
    pub other: usize,
    pub kind: Kind,
    pub seed: u64,
    /// Whether the reference's roles are moved, too.
    pub moves_reference: bool,
}

/// What was done to a track and what was advised.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Advice {
    pub role: String,
    /// Whether it sounds in the bars that were compared.
    pub sounds: bool,
    pub offset_db: f64,
    /// By `balance --all --exact`; of a bounce that was read back, the gain that undoes
    /// what was read.
    pub exact_db: Option<f64>,
    /// By one ordinary round.
    pub round_db: Option<f64>,
    /// By the reference alone.
    pub no_usual_db: Option<f64>,
    /// That brings all tracks to one loudness.
    pub equal_db: f64,
    /// By a table of roles made from the other sessions.
    pub table_db: f64,
}

/// What a trial gave.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Outcome {
    pub name: String,
    pub kind: Kind,
    pub shared: bool,
    pub tracks: Vec<Advice>,
    /// By how much the advice follows a role of the reference that goes from -4 to
    /// +4 dB: role and dB.
    pub follows: Vec<(String, f64)>,
    pub failed: Option<String>,
}

/// All trials with these sessions.
pub(crate) fn all(materials: &[Material], seeds: u64) -> Vec<Trial> {
    let mut trials = Vec::new();
    for seed in 0..seeds {
        for kind in Kind::ALL {
            if kind.is_beside() && seed >= SEEDS_BESIDE {
                continue;
            }
            for session in 0..materials.len() {
                let mut dice = Dice::new(7_000_000 + 1000 * seed + session as u64);
                // The reference's tracks come from a session of the same kind.
                let others: Vec<usize> = (0..materials.len())
                    .filter(|&m| m != session && materials[m].shared == materials[session].shared)
                    .collect();
                if kind.is_of_two() && others.is_empty() {
                    continue;
                }
                let other = match others.is_empty() {
                    true => session,
                    false => dice.pick(&others),
                };
                trials.push(Trial {
                    session,
                    other,
                    kind,
                    seed,
                    moves_reference: kind == Kind::AnotherSong && seed == 0,
                });
            }
        }
    }
    trials
}

impl Trial {
    pub(crate) fn name(&self, materials: &[Material]) -> String {
        let kind = self.kind.words().replace(' ', "-");
        let names: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
        let all = fingerprint(names.join(" ").as_bytes());
        let session = names[self.session];
        format!("levels-{kind}-{session}-{}-{:04x}", self.seed, all & 0xffff)
    }
}

/// Does the trial in an empty folder.
pub(crate) fn outcome(
    work: &Work,
    place: &Path,
    trial: &Trial,
    materials: &[Material],
) -> Result<Outcome, XtaskError> {
    let own = &materials[trial.session];
    let mut dice = Dice::new(9_000_000 + 1000 * trial.seed + trial.session as u64);
    let drawn = own.parts.iter();
    let drawn = drawn.map(|_| dice.between(-OFFSET_DB, OFFSET_DB));
    let mut offsets: Vec<f64> = drawn.collect();
    if trial.kind == Kind::NothingWrong {
        offsets.fill(0.0);
    }
    let table = match trial.kind.is_of_two() {
        true => draw_table(own, &materials[trial.other], &mut dice),
        false => BTreeMap::new(),
    };
    let right = own.parts.iter().map(|part| gain_of(part, own, &table));
    let right: Vec<f64> = right.collect();
    let tracks = place.join("tracks");
    fs::create_dir_all(&tracks).map_err(XtaskError::file(&tracks))?;
    for ((part, right_db), offset_db) in own.parts.iter().zip(&right).zip(&offsets) {
        let path = tracks.join(format!("{}.wav", part.name));
        let sides = gained(&part.sides, right_db + offset_db);
        write(&path, own.rate_hz, &sides)?;
    }
    let mut outcome = Outcome {
        name: trial.name(materials),
        kind: trial.kind,
        shared: own.shared,
        tracks: Vec::new(),
        follows: Vec::new(),
        failed: None,
    };
    let file = write_reference(work, place, trial, materials, (&table, &[], 0.0), &mut dice)?;
    let advised = file.and_then(|file| match trial.kind {
        Kind::ReadBack => read_back(work, place, &file).map(|exact| Advised {
            exact,
            ..Advised::default()
        }),
        kind => advise(work, place, &file, kind == Kind::AnotherSong),
    });
    match advised {
        Ok(advised) => {
            let tables = usual_table(materials, trial.session);
            let advice = |(n, part): (usize, &Part)| {
                let lufs = part.lufs.unwrap_or(-99.0) + right[n] + offsets[n];
                let usual = tables.get(part.role.as_str()).copied();
                Advice {
                    role: part.role.clone(),
                    sounds: part.sounds_in(own.rate_hz, advised.passage_s),
                    offset_db: offsets[n],
                    exact_db: advised.exact.get(&part.name).copied(),
                    round_db: advised.round.get(&part.name).copied(),
                    no_usual_db: advised.alone.get(&part.name).copied(),
                    equal_db: -lufs,
                    table_db: usual.map_or(0.0, |usual| usual - lufs),
                }
            };
            outcome.tracks = own.parts.iter().enumerate().map(advice).collect();
        }
        Err(said) => outcome.failed = Some(said),
    }
    if trial.moves_reference {
        for (name, words) in MOVED {
            let has = |m: &Material| {
                let mut parts = m.parts.iter();
                parts.any(|part| words.contains(&part.role.as_str()) && part.sounds)
            };
            if !has(own) || !has(&materials[trial.other]) {
                continue;
            }
            let mut levels = Vec::new();
            for moved_db in [-MOVED_DB, MOVED_DB] {
                let moved = (&table, words, moved_db);
                let file = write_reference(work, place, trial, materials, moved, &mut dice)?;
                let advised = file.and_then(|file| advise(work, place, &file, false));
                let Ok(advised) = advised else { continue };
                levels.push(level_of(own, &advised.exact, words));
            }
            if let [Some(low), Some(high)] = levels[..] {
                outcome.follows.push((name.to_owned(), high - low));
            }
        }
    }
    Ok(outcome)
}

/// Gain of some roles against the kick, mean over their tracks that sound.
fn level_of(own: &Material, gains: &Gains, words: &[&str]) -> Option<f64> {
    let mean = |wanted: &dyn Fn(&str) -> bool| {
        let parts = own.parts.iter().filter(|p| p.sounds && wanted(&p.role));
        let found: Vec<f64> = parts.filter_map(|p| gains.get(&p.name).copied()).collect();
        (!found.is_empty()).then(|| found.iter().sum::<f64>() / found.len() as f64)
    };
    Some(mean(&|role| words.contains(&role))? - mean(&|role| role == "kick")?)
}
