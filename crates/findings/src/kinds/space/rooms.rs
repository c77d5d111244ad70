//! How much of a track is room: what follows its hits and is unlike on both sides.
//!
//! A diffuse room sends unlike sound to left and right, so half of its power is side.
//! A sound that is wide by itself is as wide in its hits as after them; a room comes
//! later.

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
/// The side stands so much higher after the hits than in them, as a ratio.
const LATER: f64 = 2.0;

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
    let later = after.0 > 0.0 && after.1 / after.0 >= LATER * hits.1 / hits.0;
    later.then(|| unlike_db(&whole, &side)).flatten()
}

/// The same for whatever is unlike on both sides, room or not.
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
    (whole.iter().sum::<f64>() > 0.0).then_some((whole, side))
}

fn slots(passage: &PassageFacts, powers: &[f64], bands: &[usize]) -> Vec<f64> {
    let slot = |slot| passage.in_slot(powers, bands, slot);
    (0..passage.slots).map(slot).collect()
}
