//! What is lost where both sides are folded to one.

use serde::Serialize;

use crate::audible::is_core;
use crate::lean::LeanElement;
use crate::mix_scene::MixScene;

/// A loss beyond this is spoken of, dB: sides that have nothing in common lose
/// 3.0 dB.
const SAID_DB: f64 = 3.05;

/// The loss of one element.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MonoLoss {
    /// Name of the element.
    pub element: String,
    /// Its power by loudness in mono against that in stereo, dB; 0 or below.
    pub loss_db: f64,
    /// Whether it is a core element that loses more than 3 dB.
    pub too_much: bool,
}

/// The loss of every element that sounds. `gains` has the factors (amplitudes, below 0
/// where turned over) on the left and right of every track.
///
/// Exact for one track; between two tracks that are panned apart the product of the
/// left of one and the right of the other is taken as half of both such products.
pub fn mono_losses(
    scene: &MixScene,
    gains: &[[f64; 2]],
    elements: &[LeanElement<'_>],
) -> Vec<MonoLoss> {
    let layout = &scene.layout;
    let weights = layout.loudness_weights();
    // Left, right and mid of two tracks by loudness.
    let pair = |i: usize, j: usize| {
        let of = |right| scene.scene.pair(i, j, layout.channel(right));
        let mut middle = 0.0;
        for band in 0..layout.bands.len() {
            for slot in 0..layout.slots {
                let (whole, side) = (layout.whole(band, slot), layout.side(band, slot));
                let mid = scene.scene.pair(i, j, whole) - scene.scene.pair(i, j, side);
                middle += weights[whole] * mid;
            }
        }
        (of(false), of(true), middle)
    };
    let loss = |element: &LeanElement<'_>| {
        let (mut mono, mut stereo) = (0.0, 0.0);
        for &i in element.tracks {
            for &j in element.tracks {
                let (left, right, middle) = pair(i, j);
                let across = 0.5 * (4.0 * middle - left - right);
                let (a, b) = (gains[i], gains[j]);
                let (left, right) = (a[0] * b[0] * left, a[1] * b[1] * right);
                stereo += 0.5 * (left + right);
                let across = (a[0] * b[1] + a[1] * b[0]) * across;
                mono += 0.25 * (left + right + across);
            }
        }
        if stereo < 1e-14 {
            return None;
        }
        let loss_db = (10.0 * (mono.max(1e-10 * stereo) / stereo).log10()).min(0.0);
        Some(MonoLoss {
            element: element.name.to_owned(),
            loss_db,
            too_much: is_core(element.role) && loss_db < -SAID_DB,
        })
    };
    elements.iter().filter_map(loss).collect()
}

#[cfg(test)]
mod tests {
    use cupel_compare::{Band, Layout};
    use cupel_units::Role;

    use super::*;
    use crate::scene::Scene;

    /// Tracks that have nothing in common, each with the power of its left and right
    /// and the product of both, in one cell of weight 1 beside the channels.
    fn scene(tracks: &[[f64; 3]]) -> MixScene {
        let layout = Layout {
            bands: vec![Band {
                low_hz: 500.0,
                high_hz: 1000.0,
                first_row: 0,
                last_row: 0,
            }],
            slots: 1,
            in_time: true,
        };
        let weight = layout.loudness_weights()[0];
        let mut triangles = Vec::new();
        for cell in 0..layout.cells() {
            for (i, [left, right, product]) in tracks.iter().enumerate() {
                let mid = 0.25 * (left + right + 2.0 * product);
                let mean = 0.5 * (left + right);
                triangles.push(match cell {
                    0 => mean,
                    1 => mean - mid,
                    c if c == layout.channel(false) => weight * left,
                    c if c == layout.channel(true) => weight * right,
                    _ => 0.0,
                });
                triangles.extend((i + 1..tracks.len()).map(|_| 0.0));
            }
        }
        MixScene {
            layout,
            scene: Scene::new(tracks.len(), &triangles),
            read: Vec::new(),
            by_bar: Scene::new(0, &[]),
        }
    }

    fn loss_db(track: [f64; 3], gains: [f64; 2]) -> f64 {
        let element = LeanElement {
            name: "lead",
            role: Role::Lead,
            tracks: &[0],
        };
        mono_losses(&scene(&[track]), &[gains], &[element])[0].loss_db
    }

    #[test]
    fn known_pairs_of_sides() {
        // One sound on both sides; on one side; two with nothing in common; the same
        // turned over by three quarters: 10 log10 ((2 - 1.5) / 4).
        assert!(loss_db([1.0, 1.0, 1.0], [1.0, 1.0]).abs() < 1e-9);
        assert!((loss_db([1.0, 0.0, 0.0], [1.0, 1.0]) + 3.0103).abs() < 1e-4);
        assert!((loss_db([1.0, 1.0, 0.0], [0.5, 0.5]) + 3.0103).abs() < 1e-4);
        assert!((loss_db([1.0, 1.0, -0.75], [1.0, 1.0]) + 9.0309).abs() < 1e-4);
        // Both sides turned over are as they were; one of them is not.
        assert!(loss_db([1.0, 1.0, 1.0], [-1.0, -1.0]).abs() < 1e-9);
        assert!(loss_db([1.0, 1.0, 1.0], [1.0, -1.0]) < -90.0);
        // Panned: (2 + 1)^2 / 2 of 4 + 1.
        let wanted = 10.0 * (4.5f64 / 5.0).log10();
        assert!((loss_db([1.0, 1.0, 1.0], [2.0, 1.0]) - wanted).abs() < 1e-9);
    }

    #[test]
    fn only_core_elements_and_only_what_is_more_than_independent_sides() {
        let scene = scene(&[[1.0, 1.0, 0.0], [1.0, 1.0, -0.5], [1.0, 1.0, -0.5]]);
        let element = |name, role, tracks| LeanElement { name, role, tracks };
        let elements = [
            element("clap", Role::Clap, &[0][..]),
            element("lead", Role::Lead, &[1]),
            element("pad", Role::Pad, &[2]),
        ];
        let losses = mono_losses(&scene, &[[1.0; 2]; 3], &elements);
        let said: Vec<bool> = losses.iter().map(|loss| loss.too_much).collect();
        assert_eq!(said, [false, true, false], "{losses:?}");
    }
}
