//! The pan that levels an element.

use cupel_session::PanLaw;

use crate::lean::LeanElement;
use crate::lean_windows::{stands, windows};
use crate::mix_scene::MixScene;

/// Panned at most this far.
const FURTHEST: f64 = 0.8;

/// The track of an element that tips it most, and the position that levels the
/// element, or comes as near as it goes.
pub(crate) fn levelling(
    scene: &MixScene,
    gain_db: &[f64],
    element: &LeanElement<'_>,
    mono: &[bool],
    settled: &[bool],
) -> Option<(usize, f64)> {
    // In the stretch by which the element is judged.
    let own = windows(scene, gain_db, element.tracks);
    let (_, place) = stands(&own);
    let own = own.get(place)?;
    let powers = |track: usize| {
        let windows = windows(scene, gain_db, &[track]);
        windows.get(place).copied().unwrap_or_default()
    };
    let tipped = own[1] - own[0];
    let tips = |track: usize| {
        let [left, right] = powers(track);
        (right - left) * tipped.signum()
    };
    let track = element
        .tracks
        .iter()
        .copied()
        .filter(|&track| !settled[track])
        .max_by(|&a, &b| tips(a).total_cmp(&tips(b)))?;
    let one = powers(track);
    let rest = [own[0] - one[0], own[1] - one[1]];
    let left_over = |position: f64| {
        let law = if mono[track] {
            PanLaw::Mono
        } else {
            PanLaw::Stereo
        };
        let (left_db, right_db) = law.sides_db(position);
        let power = |side_db: Option<f64>| side_db.map_or(0.0, |db| 10f64.powf(db / 10.0));
        let left = rest[0] + power(left_db) * one[0];
        let right = rest[1] + power(right_db) * one[1];
        right - left
    };
    // The difference of both sides rises with the position.
    let (mut low, mut high) = (-FURTHEST, FURTHEST);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if left_over(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some((track, 0.5 * (low + high)))
}
