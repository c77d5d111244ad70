//! How much of a track is room: what follows its hits and is unlike on both sides.
//!
//! A diffuse room sends unlike sound to left and right, so half of its power is side.
//! A sound that is wide by itself is as wide in its hits as after them; a room comes
//! later. What only leans to one side is alike on both, and is left out.

use cupel_traits::Decay;
use cupel_units::Role;

use crate::evidence::{Evidence, PassageFacts, TrackFacts, ratio_db};

/// The slow part of a decay is one of its own from this far under the hit, dB.
const OWN_PART_DB: f64 = 4.0;
/// Where the slow part is mostly low, it is the body of the sound, dB.
const BODY_DB: f64 = -6.0;
/// Slots this far below the loudest hold no hit, and those below the second nothing
/// at all, as powers.
const NO_HIT: f64 = 0.1;
const NOTHING: f64 = 1e-5;
/// The side stands so much higher after the hits than in them, as a ratio; less is
/// enough where what comes after them is mostly diffuse, since a loud room stands in the
/// hits as well.
const LATER: f64 = 2.0;
const LATER_DIFFUSE: f64 = 1.4;
/// Side of something diffuse against the whole: a half, less what is left of the hit.
const DIFFUSE: f64 = 0.3;

/// Whether a track is a struck sound whose own decay is short.
pub(super) fn is_struck(track: &TrackFacts) -> bool {
    matches!(
        track.role,
        Some(Role::Snare | Role::Clap | Role::Rim | Role::Tom | Role::Percussion)
    )
}

/// The decay of a struck track, where a slow part stands apart from the hit.
pub(super) fn slow_part(track: &TrackFacts) -> Option<&Decay> {
    let decay = track.file.traits.decay.as_ref()?;
    let body = decay.low_part_db.is_some_and(|part| part > BODY_DB);
    (is_struck(track) && decay.drop_db >= OWN_PART_DB && !body).then_some(decay)
}

/// Power of the room against the dry sound between two frequencies, dB; `None` where
/// nothing that comes later is unlike on both sides.
pub(super) fn wet_db(evidence: &Evidence, track: usize, band_hz: (f64, f64)) -> Option<f64> {
    let (whole, side) = both(evidence, track, band_hz)?;
    let loudest = whole.iter().copied().fold(0.0, f64::max);
    let part = |holds: &dyn Fn(f64) -> bool| {
        let some = whole.iter().zip(&side).filter(|(whole, _)| holds(**whole));
        some.fold((0.0, 0.0), |sum, (whole, side)| {
            (sum.0 + whole, sum.1 + side)
        })
    };
    let hits = part(&|power| power >= NO_HIT * loudest);
    let after = part(&|power| power < NO_HIT * loudest && power > NOTHING * loudest);
    let (in_hits, in_rest) = (hits.1 / hits.0, after.1 / after.0.max(1e-30));
    let times = match in_rest >= DIFFUSE {
        true => LATER_DIFFUSE,
        false => LATER,
    };
    let grows = Unlike::in_slots(&whole, &side).is_some_and(Unlike::ends_diffuse);
    let later = after.0 > 0.0 && in_rest >= times * in_hits;
    (later || grows).then(|| unlike_db(&whole, &side)).flatten()
}

/// Slots after the hits are read this far under the loudest, dB.
const AFTER_DB: std::ops::Range<f64> = -40.0..-12.0;
/// Fewest of them.
const FEWEST_AFTER: usize = 2;
/// A room makes them so many times, and so much, more unlike than the hits.
const MORE_UNLIKE: f64 = 1.6;
const UNLIKE_BY: f64 = 0.05;

/// How much of a track is unlike on both sides in its hits, and in the middle of what
/// comes after them, as far as a room would be heard: 0.5 is all diffuse. `None` where
/// it has no gaps to tell.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unlike {
    hits: f64,
    after: f64,
}

impl Unlike {
    pub(super) fn of(evidence: &Evidence, track: usize, band_hz: (f64, f64)) -> Option<Self> {
        let (whole, side) = both(evidence, track, band_hz)?;
        Self::in_slots(&whole, &side)
    }

    fn in_slots(whole: &[f64], side: &[f64]) -> Option<Self> {
        let loudest = whole.iter().copied().fold(0.0, f64::max);
        let pairs = || whole.iter().zip(side);
        let hits = pairs()
            .filter(|(whole, _)| **whole >= NO_HIT * loudest)
            .fold((0.0, 0.0), |sum, (whole, side)| {
                (sum.0 + whole, sum.1 + side)
            });
        let mut after: Vec<f64> = pairs()
            .filter(|(whole, _)| AFTER_DB.contains(&ratio_db(**whole, loudest)))
            .map(|(whole, side)| side / whole)
            .collect();
        if after.len() < FEWEST_AFTER || hits.0 <= 0.0 {
            return None;
        }
        after.sort_by(f64::total_cmp);
        Some(Self {
            hits: hits.1 / hits.0,
            after: after[after.len() / 2],
        })
    }

    /// A sound that is wide by itself keeps its width while it dies away; a room grows.
    pub(super) fn grows(self) -> bool {
        self.after >= MORE_UNLIKE * self.hits && self.after >= self.hits + UNLIKE_BY
    }

    /// What comes after the hits is mostly room.
    pub(super) fn ends_diffuse(self) -> bool {
        self.grows() && self.after >= DIFFUSE
    }
}

/// As [`wet_db`], for whatever is unlike on both sides, room or not.
pub(super) fn wide_db(evidence: &Evidence, track: usize, band_hz: (f64, f64)) -> Option<f64> {
    let (whole, side) = both(evidence, track, band_hz)?;
    unlike_db(&whole, &side)
}

/// Twice the side, which is what a diffuse part is, against the rest.
fn unlike_db(whole: &[f64], side: &[f64]) -> Option<f64> {
    let wet = 2.0 * side.iter().sum::<f64>();
    let dry = (whole.iter().sum::<f64>() - wet).max(1e-3 * wet);
    (wet > 0.0).then(|| ratio_db(wet, dry))
}

/// Power of a track and of its side by sixteenth; `None` where it is silent.
fn both(evidence: &Evidence, track: usize, band_hz: (f64, f64)) -> Option<(Vec<f64>, Vec<f64>)> {
    let passage = evidence.passage.as_ref()?;
    let powers = passage.tracks.get(track)?;
    let bands = passage.bands_within(band_hz.0, band_hz.1);
    let whole = slots(passage, &powers.whole, &bands);
    let side = slots(passage, &powers.side, &bands);
    let leans = lean_part(passage, track, &bands);
    let beyond = |(side, whole): (f64, &f64)| (side - leans * whole).max(0.0);
    let side = side.into_iter().zip(&whole).map(beyond).collect();
    (whole.iter().sum::<f64>() > 0.0).then_some((whole, side))
}

/// Side against the whole of a sound that is the same on both sides but for its level.
fn lean_part(passage: &PassageFacts, track: usize, bands: &[usize]) -> f64 {
    let Some(sides) = passage.track_sides.get(track) else {
        return 0.0;
    };
    let sum = |side: usize| bands.iter().map(|&band| sides[band][side]).sum::<f64>();
    let (left, right) = (sum(0), sum(1));
    let apart = left.max(0.0).sqrt() - right.max(0.0).sqrt();
    match left + right > 0.0 {
        true => 0.5 * apart * apart / (left + right),
        false => 0.0,
    }
}

fn slots(passage: &PassageFacts, powers: &[f64], bands: &[usize]) -> Vec<f64> {
    let slot = |slot| passage.in_slot(powers, bands, slot);
    (0..passage.slots).map(slot).collect()
}
