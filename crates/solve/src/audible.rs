//! Is every element heard where it plays?
//!
//! An element is heard in a sixteenth where, in its best band, it lies less than
//! 6 dB under all else. Noise hides a tone that lies 5.5 dB under it in one critical
//! band (Johnston 1988); a third octave is about one critical band from 500 Hz up
//! (Zwicker). This is an energy rule, no model of loudness.

use cupel_units::Role;
use serde::Serialize;

use crate::lean::LeanElement;
use crate::mix_scene::MixScene;

const HIDDEN_DB: f64 = -5.5;
/// An element plays in a sixteenth where it has this much of its loudest.
const PLAYS_DB: f64 = -10.0;
/// Core elements should be heard in this part of the sixteenths they play in.
const CORE_PART: f64 = 0.75;

/// How far an element is heard.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Audible {
    /// Name of the element.
    pub element: String,
    /// Part of the sixteenths it plays in where it is heard, 0 to 1.
    pub heard_part: f64,
    /// In its best band: its power against all else, dB.
    pub best_db: f64,
    /// Middle of that band, hertz.
    pub best_hz: f64,
    /// Whether that is enough for what it is.
    pub enough: bool,
}

/// Kick, snare and clap, hats, bass, lead and voice: what must be heard wherever
/// it plays.
pub fn is_core(role: Role) -> bool {
    use Role::{Bass, Clap, ClosedHat, Kick, Lead, OpenHat, Snare, Sub, Voice};
    matches!(
        role,
        Kick | Snare | Clap | ClosedHat | OpenHat | Bass | Sub | Lead | Voice
    )
}

/// How far every element is heard at gains; silent ones are left out, and so is
/// texture, which need not be heard.
pub fn audible(scene: &MixScene, gain_db: &[f64], elements: &[LeanElement<'_>]) -> Vec<Audible> {
    let whole = scene.cells(gain_db);
    let elements = elements.iter().filter(|e| e.role != Role::Texture);
    elements
        .filter_map(|element| {
            let mut alone_db = vec![-400.0; gain_db.len()];
            for &track in element.tracks {
                alone_db[track] = gain_db[track];
            }
            let alone = scene.cells(&alone_db);
            let layout = &scene.layout;
            let power = |cell: usize| alone.powers[cell].unwrap_or(0.0);
            let by_slot: Vec<f64> = (0..layout.slots)
                .map(|slot| {
                    let bands = 0..layout.bands.len();
                    bands.map(|band| power(layout.whole(band, slot))).sum()
                })
                .collect();
            let loudest = by_slot.iter().copied().fold(0.0, f64::max);
            if loudest < 1e-12 {
                return None;
            }
            let least = loudest * 10f64.powf(PLAYS_DB / 10.0);
            let (mut heard, mut plays) = (0_u32, 0_u32);
            let mut best = (f64::NEG_INFINITY, 0.0);
            for (slot, &own) in by_slot.iter().enumerate() {
                if own < least {
                    continue;
                }
                plays += 1;
                let here = (0..layout.bands.len())
                    .map(|band| {
                        let cell = layout.whole(band, slot);
                        let own = power(cell);
                        let rest = (whole.powers[cell].unwrap_or(0.0) - own).max(1e-3 * own);
                        let over_db = 10.0 * (own.max(1e-20) / rest.max(1e-20)).log10();
                        (over_db, layout.bands[band].centre_hz())
                    })
                    .reduce(|best, next| if next.0 > best.0 { next } else { best })?;
                heard += u32::from(here.0 > HIDDEN_DB);
                if here.0 > best.0 {
                    best = here;
                }
            }
            let heard_part = f64::from(heard) / f64::from(plays.max(1));
            let enough = match is_core(element.role) {
                true => heard_part >= CORE_PART,
                false => heard > 0,
            };
            Some(Audible {
                element: element.name.to_owned(),
                heard_part,
                best_db: best.0.min(30.0),
                best_hz: best.1,
                enough,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use cupel_compare::{Band, Layout};

    use super::*;
    use crate::scene::Scene;

    /// Independent tracks over two bands and four sixteenths: powers by track, band
    /// and sixteenth.
    fn scene(powers: &[[[f64; 4]; 2]]) -> MixScene {
        let band = |row: usize, low_hz: f64| Band {
            low_hz,
            high_hz: 2.0 * low_hz,
            first_row: row,
            last_row: row,
        };
        let layout = Layout {
            bands: vec![band(0, 500.0), band(1, 1000.0)],
            slots: 4,
            in_time: true,
        };
        let mut triangles = Vec::new();
        for cell in 0..layout.cells() {
            for (i, track) in powers.iter().enumerate() {
                triangles.push(if cell < 8 {
                    track[cell / 4][cell % 4]
                } else {
                    0.0
                });
                triangles.extend((i + 1..powers.len()).map(|_| 0.0));
            }
        }
        MixScene {
            layout,
            scene: Scene::new(powers.len(), &triangles),
            read: Vec::new(),
            by_bar: Scene::new(0, &[]),
        }
    }

    #[test]
    fn a_lead_under_a_pad_is_not_heard_enough() {
        // The lead plays in two sixteenths, 10 dB under the pad in one of them.
        let lead = [[0.0; 4], [1.0, 0.0, 1.0, 0.0]];
        let pad = [[1.0; 4], [10.0, 1.0, 1.0, 1.0]];
        let scene = scene(&[lead, pad]);
        let elements = [(Role::Lead, [0]), (Role::Pad, [1])];
        let elements: Vec<LeanElement<'_>> = elements
            .iter()
            .map(|(role, tracks)| LeanElement {
                name: role.name(),
                role: *role,
                tracks,
            })
            .collect();
        let heard = audible(&scene, &[0.0, 0.0], &elements);
        assert!((heard[0].heard_part - 0.5).abs() < 1e-12 && !heard[0].enough);
        assert!(heard[1].heard_part == 1.0 && heard[1].enough);
        // 6 dB more, and it is heard everywhere.
        let heard = audible(&scene, &[6.0, 0.0], &elements);
        assert!(heard[0].enough, "{heard:?}");
    }

    #[test]
    fn texture_need_not_be_heard() {
        let scene = scene(&[[[1e-6; 4]; 2], [[1.0; 4]; 2]]);
        let texture = LeanElement {
            name: "texture",
            role: Role::Texture,
            tracks: &[0],
        };
        assert_eq!(audible(&scene, &[0.0, 0.0], &[texture]), []);
    }
}
