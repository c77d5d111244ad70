//! From the evidence to the verdict.
//!
//! The limits below were set on sessions of known truth, in which one thing at a
//! time was changed; all are common practice, no source.

use crate::clues::Clues;
use crate::pass::Residuals;
use crate::session::Session;
use crate::thresholds::{ADDS_UP_DB, BALANCE_DB, EXPLAINED_DB, EXPLAINS_BY_DB, UNITY_TOLERANCE_DB};
use crate::{Cause, Difference, Trust, Verdict, words};
use cupel_units::{amplitude_to_db, db_to_amplitude, power_to_db};

/// How much more a chain must explain than its parts to be named.
const CHAIN_BY_DB: f64 = 4.0;
/// Share of what is left, in places where the bounce has much more than the
/// sum, up to which it may be coding noise.
const CODING_ADDED: f64 = 0.02;
/// Part made by decays up to which it may be coding noise.
const CODING_TAIL: f64 = 0.4;
/// Share of what is left that one track must explain to be named.
const FOLLOWS: f64 = 0.6;
/// Share absent from all tracks from which a track is missing.
const ABSENT: f64 = 0.03;
/// Share of added sound from which a track may be missing.
const ADDED: f64 = 0.05;
/// How well decays must imitate what is left, and their part, for a return.
const IMITATED: f64 = 0.7;
const TAIL: f64 = 0.45;
/// A track this far down is not in the bounce.
const NOT_HEARD_DB: f64 = -40.0;

/// A lossy format may take this much off a bright track.
const LOSSY_WITHIN_DB: f64 = 1.0;

/// Everything that is known when the verdict falls.
pub(crate) struct Evidence<'a> {
    pub session: &'a Session<'a>,
    /// Columns in the sum.
    pub used: &'a [usize],
    pub residuals: &'a Residuals,
    pub clues: Option<&'a Clues>,
    /// Where the comparison starts.
    pub start_s: f64,
}

impl Evidence<'_> {
    fn db(&self, power: f64) -> f64 {
        relative_db(power, self.residuals.bounce)
    }

    /// The same for powers of spectra.
    fn spectral_db(&self, power: f64) -> f64 {
        relative_db(power, self.residuals.powers.bounce_total())
    }

    pub fn left_db(&self) -> f64 {
        self.db(self.residuals.left)
    }

    fn added_share(&self) -> f64 {
        let powers = &self.residuals.powers;
        powers.left_added / powers.left_total().max(f64::MIN_POSITIVE)
    }

    /// Most that the bounce's gain falls below that of the quieter places, dB.
    pub fn deepest_db(&self) -> f64 {
        let levels = &self.residuals.by_level;
        let total: f64 = levels.iter().map(|(_, power)| power).sum();
        levels
            .iter()
            .filter(|(product, power)| *power > 1e-3 * total && *product > 0.0)
            .map(|(product, power)| amplitude_to_db(product / power))
            .fold(0.0, f64::min)
    }
}

fn relative_db(power: f64, whole: f64) -> f64 {
    power_to_db((power / whole.max(f64::MIN_POSITIVE)).max(1e-15))
}

/// Names the differences and gives the verdict.
pub(crate) fn decide(evidence: &Evidence, trust: &mut Trust) {
    let left_db = evidence.left_db();
    trust.residual_db = Some(left_db);
    trust.raw_residual_db = Some(evidence.db(evidence.residuals.left_raw));
    let mut remaining_db = left_db;
    if left_db > ADDS_UP_DB {
        let found = on_the_mix(evidence).or_else(|| on_the_tracks(evidence));
        if let Some(after_db) = found.as_ref().and_then(|f| f.residual_after_db) {
            remaining_db = after_db;
        }
        trust.differences.extend(found);
    }
    name_unheard(evidence, trust);
    name_faders(evidence, trust);
    let balance_db = if remaining_db < left_db {
        EXPLAINED_DB
    } else {
        BALANCE_DB
    };
    trust.can_judge_balance = remaining_db <= balance_db;
    let clean = trust.differences.iter().all(|d| d.cause == Cause::Small);
    trust.verdict = match (trust.can_judge_balance, clean) {
        (false, _) => Verdict::DoesNotAddUp,
        (true, true) => Verdict::AddsUp,
        (true, false) => Verdict::AddsUpBut,
    };
    words::conclude(evidence, trust);
}

/// A limiter, an equaliser, or both, on the mix.
fn on_the_mix(evidence: &Evidence) -> Option<Difference> {
    let r = evidence.residuals;
    let left_db = evidence.left_db();
    let dynamics_db = evidence.db(r.left_after_gain.min(r.left_after_curve));
    let tone_db = evidence.spectral_db(r.powers.after_tone());
    let chain_db = evidence.spectral_db(r.powers.after_chain);
    let explains = |after_db: f64| after_db <= left_db - EXPLAINS_BY_DB;
    let best_part_db = dynamics_db.min(tone_db);
    let (cause, after_db) = if explains(chain_db) && chain_db <= best_part_db - CHAIN_BY_DB {
        (Cause::MixChain, chain_db)
    } else if explains(dynamics_db) && dynamics_db <= tone_db {
        (Cause::MixDynamics, dynamics_db)
    } else if explains(tone_db) {
        (Cause::MixTone, tone_db)
    } else {
        return None;
    };
    Some(Difference {
        cause,
        text: words::on_the_mix(evidence, cause),
        residual_after_db: Some(after_db),
        tracks: Vec::new(),
    })
}

/// What the closer look says: a processed track, a missing one, a return.
fn on_the_tracks(evidence: &Evidence) -> Option<Difference> {
    let clues = evidence.clues?;
    let added = evidence.added_share();
    let follows = strongest(&clues.follows).filter(|(_, share)| *share >= FOLLOWS);
    let (cause, tracks) = if let Some((track, _)) = follows {
        (Cause::TrackProcessing, vec![evidence.used[track]])
    } else if added <= CODING_ADDED && clues.tail <= CODING_TAIL {
        let small = evidence.left_db() <= BALANCE_DB;
        (
            if small { Cause::Small } else { Cause::Unknown },
            Vec::new(),
        )
    } else if clues.absent >= ABSENT && added >= ADDED {
        (Cause::MissingTrack, Vec::new())
    } else if clues.imitated >= IMITATED && clues.tail >= TAIL {
        let sends = strongest(&clues.sends).filter(|(_, share)| *share >= 0.25);
        let sends = sends.map(|(track, _)| evidence.used[track]);
        (Cause::Return, sends.into_iter().collect())
    } else {
        (Cause::Unknown, Vec::new())
    };
    Some(Difference {
        cause,
        text: words::on_the_tracks(evidence, cause, &tracks),
        residual_after_db: None,
        tracks: tracks.iter().map(|&c| evidence.session.id(c)).collect(),
    })
}

fn strongest(shares: &[f64]) -> Option<(usize, f64)> {
    shares
        .iter()
        .copied()
        .enumerate()
        .fold(None, |best: Option<(usize, f64)>, new| match best {
            Some(best) if best.1 >= new.1 => Some(best),
            _ => Some(new),
        })
}

fn name_unheard(evidence: &Evidence, trust: &mut Trust) {
    let unheard: Vec<usize> = evidence
        .used
        .iter()
        .zip(&trust.gains)
        .filter(|(_, gain)| gain.confident && gain.gain_db.is_none_or(|db| db < NOT_HEARD_DB))
        .map(|(&column, _)| column)
        .collect();
    if !unheard.is_empty() {
        trust.differences.push(Difference {
            cause: Cause::NotInBounce,
            text: words::not_in_bounce(evidence.session, &unheard),
            residual_after_db: None,
            tracks: unheard.iter().map(|&c| evidence.session.id(c)).collect(),
        });
    }
}

fn name_faders(evidence: &Evidence, trust: &mut Trust) {
    let heard = |gain: &&crate::RecoveredGain| {
        gain.confident && gain.gain_db.is_some_and(|db| db >= NOT_HEARD_DB)
    };
    let sure: Vec<f64> = trust
        .gains
        .iter()
        .filter(heard)
        .filter_map(|gain| gain.gain_db)
        .collect();
    if sure.is_empty() || sure.len() * 2 < trust.gains.len() {
        return;
    }
    // What is left, in phase with a track, could feign this much.
    let feigned_db = amplitude_to_db(1.0 + db_to_amplitude(evidence.left_db()));
    let lossy = trust.differences.iter().any(|d| d.cause == Cause::Small);
    let lost_db = if lossy { LOSSY_WITHIN_DB } else { 0.0 };
    let tolerance_db = UNITY_TOLERANCE_DB.max(feigned_db).max(lost_db);
    let named: Vec<&String> = trust.differences.iter().flat_map(|d| &d.tracks).collect();
    let moved: Vec<usize> = evidence
        .used
        .iter()
        .zip(&trust.gains)
        .filter(|(_, gain)| heard(gain))
        .filter(|(_, gain)| gain.gain_db.is_some_and(|db| db.abs() > tolerance_db))
        .filter(|(_, gain)| !named.contains(&&gain.id))
        .map(|(&column, _)| column)
        .collect();
    trust.faders_in_files = Some(moved.is_empty());
    if !moved.is_empty() {
        trust.differences.push(Difference {
            cause: Cause::Faders,
            text: words::faders(evidence.session, &moved, trust),
            residual_after_db: trust.residual_db,
            tracks: moved.iter().map(|&c| evidence.session.id(c)).collect(),
        });
    }
}
