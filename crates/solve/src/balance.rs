//! From measured passages to moves.

use cupel_measure::{KWeighting, Summary};
use cupel_session::{By, Move, Parameters, Target, Targets};
use cupel_units::{Role, db_to_power};
use serde::Serialize;

use crate::reasons::{Ownership, reason};
use crate::{FitProblem, Fitted, anchor_trim_db, fit};

/// Bands further than this under the reference's strongest count less and less,
/// until they count for nothing (common practice, no source).
const FULL_WEIGHT_RANGE_DB: f64 = 40.0;
const NO_WEIGHT_RANGE_DB: f64 = 60.0;

/// A track with less than this share of the power in every band is buried: the
/// passage does not tell how loud it should be (common practice, no source).
const BURIED_SHARE: f64 = 0.01;

/// Bands that are fitted: below, little is heard and rumble rules; above, lossy
/// sources and rates differ (common practice, no source).
const FITTED_HZ: (f64, f64) = (30.0, 16_500.0);

/// A track as measured in the passage, at its gain as exported.
#[derive(Clone, Debug)]
pub struct MeasuredTrack<'a> {
    /// Id in the session.
    pub id: &'a str,
    /// Its role, where known.
    pub role: Option<Role>,
    /// Whether it is part of the kick element.
    pub is_kick: bool,
    /// The passage of this track.
    pub passage: &'a Summary,
    /// Gain set by moves that stay, relative to the trim of all; the track is
    /// then not moved.
    pub kept_gain_db: Option<f64>,
}

/// What the balance works on.
#[derive(Clone, Debug)]
pub struct BalanceInput<'a> {
    /// The tracks that are part of the sum.
    pub tracks: &'a [MeasuredTrack<'a>],
    /// The reference's passage.
    pub reference: Option<&'a Summary>,
    /// Sample peak of the kick element, as exported, in dBFS.
    pub kick_peak_dbfs: Option<f64>,
    /// A trim of all tracks that stays: no new one is made.
    pub kept_trim_db: Option<f64>,
    /// What to aim at.
    pub targets: Targets,
}

/// What remains of one band after the balance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandLeft {
    /// Nominal midband frequency, in hertz.
    pub nominal_hz: f64,
    /// Mix less reference at equal loudness before the moves, in dB.
    pub before_db: Option<f64>,
    /// The same as predicted after them, in dB.
    pub after_db: Option<f64>,
}

/// The moves, unrounded, and what they leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Balance {
    /// Moves in the order to do them; all on.
    pub moves: Vec<Move>,
    /// Predicted differences by band; empty without a reference.
    pub bands: Vec<BandLeft>,
    /// Ids of tracks about which the passage tells nothing: silent or buried.
    pub cannot_tell: Vec<String>,
}

/// Computes the moves. Without a reference only the anchor is set.
pub fn balance(input: &BalanceInput<'_>) -> Balance {
    let mut moves = anchor(input);
    let Some(reference) = input.reference.filter(|r| r.integrated_lufs.is_some()) else {
        return Balance {
            moves,
            bands: Vec::new(),
            cannot_tell: Vec::new(),
        };
    };
    let bands = Bands::of(reference);
    let powers: Vec<Vec<f64>> = input
        .tracks
        .iter()
        .map(|t| bands.powers(t.passage))
        .collect();
    let kept: Vec<Option<f64>> = input
        .tracks
        .iter()
        .map(|track| track.kept_gain_db.or(track.is_kick.then_some(0.0)))
        .collect();
    let shares = shares(&powers, &kept);
    let buried = |t: usize| {
        let fitted = shares[t]
            .iter()
            .zip(&bands.fit_weight)
            .filter(|(_, weight)| **weight > 0.0);
        fitted.into_iter().all(|(&share, _)| share < BURIED_SHARE)
    };
    let untold: Vec<bool> = (0..kept.len())
        .map(|t| kept[t].is_none() && buried(t))
        .collect();
    let fixed: Vec<Option<f64>> = kept
        .iter()
        .zip(&untold)
        .map(|(gain, untold)| gain.or(untold.then_some(0.0)))
        .collect();
    let ranges: Vec<(f64, f64)> = input
        .tracks
        .iter()
        .map(|track| range_db(track, &input.targets))
        .collect();
    let fitted = fit(&FitProblem {
        track_power: &powers,
        fixed_gain_db: &fixed,
        reference_power: &bands.reference,
        loudness_weight: &bands.loudness_weight,
        band_weight: &bands.fit_weight,
        range_db: &ranges,
    });
    let mut faders: Vec<Move> = (0..input.tracks.len())
        .filter(|&t| fixed[t].is_none())
        .map(|t| fader(&input.tracks[t], &fitted, t, &shares[t], &bands))
        .collect();
    faders.sort_by_key(|step| cupel_session::stage_rank(&step.stage));
    moves.extend(faders);
    let cannot_tell = (0..untold.len())
        .filter(|&t| untold[t])
        .map(|t| input.tracks[t].id.to_owned())
        .collect();
    Balance {
        moves,
        bands: bands.left(&fitted),
        cannot_tell,
    }
}

fn anchor(input: &BalanceInput<'_>) -> Vec<Move> {
    let (None, Some(peak_dbfs)) = (input.kept_trim_db, input.kick_peak_dbfs) else {
        return Vec::new();
    };
    let why = format!(
        "the kick peaks at {peak_dbfs:.1} dBFS; its anchor is {:.1} dBFS",
        input.targets.kick_peak_dbfs
    );
    let gain_db = anchor_trim_db(peak_dbfs, &input.targets);
    vec![Move::new(
        Target::All,
        Parameters::Trim { gain_db },
        By::Cupel,
        "anchor",
        why,
    )]
}

fn fader(
    track: &MeasuredTrack<'_>,
    fitted: &Fitted,
    index: usize,
    share: &[f64],
    bands: &Bands,
) -> Move {
    let gain_db = fitted.gain_db[index];
    let ownership = Ownership {
        edges_hz: &bands.edges_hz,
        share,
        before_db: &fitted.before_db,
    };
    let why = reason(&ownership, gain_db);
    let target = Target::Track(track.id.to_owned());
    Move::new(
        target,
        Parameters::Fader { gain_db },
        By::Cupel,
        stage(track.role),
        why,
    )
}

/// How far a track may be moved. Effects and textures are never pushed forward:
/// no band of a reference says how loud they should be.
fn range_db(track: &MeasuredTrack<'_>, targets: &Targets) -> (f64, f64) {
    match track.role {
        Some(Role::Effects | Role::Texture) => (-targets.limit_db, 0.0),
        _ => (-targets.limit_db, targets.limit_db),
    }
}

/// The stage a track's level belongs to.
fn stage(role: Option<Role>) -> &'static str {
    match role {
        Some(Role::Bass | Role::Sub | Role::Kick) => "low end",
        Some(
            Role::Snare | Role::Clap | Role::ClosedHat | Role::OpenHat | Role::Lead | Role::Voice,
        ) => "core",
        _ => "rest",
    }
}

/// Every track's share of every band, before the fit.
fn shares(powers: &[Vec<f64>], fixed: &[Option<f64>]) -> Vec<Vec<f64>> {
    let gained: Vec<Vec<f64>> = powers
        .iter()
        .zip(fixed)
        .map(|(bands, gain)| {
            let factor = db_to_power(gain.unwrap_or(0.0));
            bands.iter().map(|p| p * factor).collect()
        })
        .collect();
    let bands = gained.first().map_or(0, Vec::len);
    let sums: Vec<f64> = (0..bands)
        .map(|b| gained.iter().map(|t| t[b]).sum())
        .collect();
    gained
        .iter()
        .map(|track| {
            track
                .iter()
                .zip(&sums)
                .map(|(p, s)| if *s > 0.0 { p / s } else { 0.0 })
                .collect()
        })
        .collect()
}

/// The bands of the fit, as the reference has them.
struct Bands {
    nominal_hz: Vec<f64>,
    edges_hz: Vec<(f64, f64)>,
    reference: Vec<f64>,
    loudness_weight: Vec<f64>,
    fit_weight: Vec<f64>,
}

impl Bands {
    fn of(reference: &Summary) -> Self {
        let weighting = KWeighting::new(f64::from(reference.sample_rate_hz));
        let levels = || reference.third_octaves.iter();
        let strongest = levels()
            .filter_map(|b| b.level_dbfs)
            .fold(f64::NEG_INFINITY, f64::max);
        Self {
            nominal_hz: levels().map(|b| b.nominal_hz).collect(),
            edges_hz: levels().map(|b| (b.low_hz, b.high_hz)).collect(),
            reference: levels()
                .map(|b| b.level_dbfs.map_or(0.0, db_to_power))
                .collect(),
            loudness_weight: levels()
                .map(|b| db_to_power(weighting.gain_db(b.nominal_hz)))
                .collect(),
            fit_weight: levels()
                .map(|b| {
                    let range_db = strongest - b.level_dbfs.unwrap_or(f64::NEG_INFINITY);
                    let part = (NO_WEIGHT_RANGE_DB - range_db)
                        / (NO_WEIGHT_RANGE_DB - FULL_WEIGHT_RANGE_DB);
                    if (FITTED_HZ.0..=FITTED_HZ.1).contains(&b.nominal_hz) {
                        part.clamp(0.0, 1.0)
                    } else {
                        0.0
                    }
                })
                .collect(),
        }
    }

    fn powers(&self, passage: &Summary) -> Vec<f64> {
        self.nominal_hz
            .iter()
            .map(|&nominal_hz| {
                let band = passage
                    .third_octaves
                    .iter()
                    .find(|b| b.nominal_hz == nominal_hz);
                band.and_then(|b| b.level_dbfs).map_or(0.0, db_to_power)
            })
            .collect()
    }

    fn left(&self, fitted: &Fitted) -> Vec<BandLeft> {
        self.nominal_hz
            .iter()
            .zip(fitted.before_db.iter().zip(&fitted.remaining_db))
            .map(|(&nominal_hz, (&before_db, &after_db))| BandLeft {
                nominal_hz,
                before_db,
                after_db,
            })
            .collect()
    }
}
