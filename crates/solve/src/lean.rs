//! Left and right: which element tips the beam, and the pan that levels it.
//!
//! Judged on elements, as power over four bars: a mirrored pair, or a centre hit with
//! a wide pair, is level. Small percussion may sit aside as long
//! as it balances itself. Thresholds: common practice, no source.

use cupel_compare::Layout;
use cupel_session::{PanLaw, Parameters};
use cupel_units::Role;

use crate::audible::is_core;
use crate::lean_windows::{stands, windows};
use crate::levelling::levelling;
use crate::mix_scene::MixScene;

/// An element may lean this far.
const ELEMENT_DB: f64 = 2.0;
/// The whole mix may lean this far.
const WHOLE_DB: f64 = 1.5;
/// Elements this far below the whole tip nothing, dB.
const TOO_SOFT_DB: f64 = 20.0;

/// An element and how it stands.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Beam {
    /// Name of the element.
    pub name: String,
    /// Right over left in the middle one of all stretches of four bars, dB.
    pub lean_db: f64,
    /// Its power by loudness against the whole, dB.
    pub share_db: f64,
}

/// What is asked of an element.
#[derive(Clone, Debug)]
pub struct LeanElement<'a> {
    /// Name for people.
    pub name: &'a str,
    /// What it plays.
    pub role: Role,
    /// Its tracks, by place in the scene.
    pub tracks: &'a [usize],
}

/// A pan that levels an element.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PanMove {
    pub(crate) track: usize,
    pub(crate) parameters: Parameters,
    pub(crate) why: String,
    /// Whether it levels a core element or the whole mix.
    pub(crate) matters: bool,
}

/// Powers of left and right of some tracks at gains, by loudness.
pub(crate) fn channels(scene: &MixScene, gain_db: &[f64], tracks: &[usize]) -> [f64; 2] {
    let mut gains = vec![0.0; gain_db.len()];
    for &track in tracks {
        gains[track] = 10f64.powf(gain_db[track] / 20.0);
    }
    let mut parts = vec![0.0; gains.len()];
    [false, true].map(|right| {
        let cell = Layout::channel(&scene.layout, right);
        scene.scene.parts(cell, &gains, &mut parts);
        parts.iter().sum::<f64>().max(0.0)
    })
}

pub(crate) fn lean_db([left, right]: [f64; 2]) -> f64 {
    match left > 0.0 && right > 0.0 {
        true => 10.0 * (right / left).log10(),
        false if right > left => 60.0,
        false if left > right => -60.0,
        false => 0.0,
    }
}

/// How every element stands at gains.
pub fn beams(scene: &MixScene, gain_db: &[f64], elements: &[LeanElement<'_>]) -> Vec<Beam> {
    let all: Vec<usize> = (0..gain_db.len()).collect();
    let whole: f64 = channels(scene, gain_db, &all).iter().sum();
    let beam = |element: &LeanElement<'_>| {
        let own = channels(scene, gain_db, element.tracks);
        Beam {
            name: element.name.to_owned(),
            lean_db: stands(&windows(scene, gain_db, element.tracks)).0,
            share_db: 10.0 * (own.iter().sum::<f64>().max(1e-16) / whole.max(1e-16)).log10(),
        }
    };
    elements.iter().map(beam).collect()
}

/// Small percussion that may sit aside.
fn may_sit_aside(role: Role) -> bool {
    matches!(
        role,
        Role::ClosedHat
            | Role::OpenHat
            | Role::Shaker
            | Role::Percussion
            | Role::Rim
            | Role::Cymbal
            | Role::Tom
    )
}

/// The pans that level the beam; tracks in `settled` are not panned.
pub(crate) fn pans(
    scene: &MixScene,
    gain_db: &[f64],
    elements: &[LeanElement<'_>],
    mono: &[bool],
    settled: &[bool],
) -> Vec<PanMove> {
    let all: Vec<usize> = (0..gain_db.len()).collect();
    let stands_db = |tracks: &[usize]| stands(&windows(scene, gain_db, tracks)).0;
    let whole_db = stands_db(&all);
    let aside: Vec<usize> = elements
        .iter()
        .filter(|element| may_sit_aside(element.role))
        .flat_map(|element| element.tracks.iter().copied())
        .collect();
    let aside_db = stands_db(&aside);
    let beams = beams(scene, gain_db, elements);
    // Whether an element tips the beam, and whether that matters.
    let tips = |element: &LeanElement<'_>, beam: &Beam| -> Option<bool> {
        let against = |lean_db: f64| lean_db * beam.lean_db.signum();
        let core = is_core(element.role) && !may_sit_aside(element.role);
        let answered = may_sit_aside(element.role) && against(aside_db) <= ELEMENT_DB;
        let by_itself = beam.lean_db.abs() > ELEMENT_DB && !answered;
        let by_whole = against(whole_db) > WHOLE_DB && beam.lean_db.abs() > WHOLE_DB;
        let heard = beam.share_db > -TOO_SOFT_DB;
        (heard && (by_itself || by_whole)).then_some(core || by_whole)
    };
    elements
        .iter()
        .zip(&beams)
        .filter_map(|(element, beam)| {
            let matters = tips(element, beam)?;
            let side = if beam.lean_db > 0.0 { "right" } else { "left" };
            let (track, position) = levelling(scene, gain_db, element, mono, settled)?;
            let law = if mono[track] {
                PanLaw::Mono
            } else {
                PanLaw::Stereo
            };
            Some(PanMove {
                track,
                parameters: Parameters::pan(position, law),
                why: format!(
                    "{} leans {:.1} dB to the {side}; this brings both sides level",
                    element.name,
                    beam.lean_db.abs()
                ),
                matters,
            })
        })
        .collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use cupel_compare::Band;

    use super::*;
    use crate::scene::Scene;

    /// Independent tracks with these powers left and right, in one cell.
    pub(crate) fn scene(sides: &[[f64; 2]]) -> MixScene {
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
        let mut triangles = Vec::new();
        for cell in 0..layout.cells() {
            for (i, side) in sides.iter().enumerate() {
                triangles.push(match cell {
                    c if c == layout.channel(false) => side[0],
                    c if c == layout.channel(true) => side[1],
                    _ => 0.5 * (side[0] + side[1]),
                });
                triangles.extend((i + 1..sides.len()).map(|_| 0.0));
            }
        }
        MixScene {
            layout,
            scene: Scene::new(sides.len(), &triangles),
            read: Vec::new(),
            by_bar: Scene::new(0, &[]),
        }
    }

    /// Independent tracks with these powers left and right, bar by bar.
    pub(crate) fn by_bar(tracks: &[&[[f64; 2]]]) -> Scene {
        let mut triangles = Vec::new();
        for bar in 0..tracks[0].len() {
            for side in 0..2 {
                for (i, track) in tracks.iter().enumerate() {
                    triangles.push(track[bar][side]);
                    triangles.extend((i + 1..tracks.len()).map(|_| 0.0));
                }
            }
        }
        Scene::new(tracks.len(), &triangles)
    }

    fn asked(roles: &[Role], sides: &[[f64; 2]]) -> Vec<PanMove> {
        let places: Vec<[usize; 1]> = (0..sides.len()).map(|t| [t]).collect();
        let elements: Vec<LeanElement<'_>> = roles
            .iter()
            .zip(&places)
            .map(|(&role, tracks)| LeanElement {
                name: role.name(),
                role,
                tracks,
            })
            .collect();
        let count = sides.len();
        pans(
            &scene(sides),
            &vec![0.0; count],
            &elements,
            &vec![false; count],
            &vec![false; count],
        )
    }

    #[test]
    fn a_leaning_bass_is_levelled() {
        // 4 dB more on the left.
        let moves = asked(&[Role::Kick, Role::Bass], &[[1.0, 1.0], [2.512, 1.0]]);
        let [pan] = moves.as_slice() else {
            panic!("{moves:?}")
        };
        assert!(pan.track == 1 && pan.matters);
        let Parameters::Pan { left_db, .. } = pan.parameters else {
            panic!("no pan")
        };
        // The left must come down by the 4 dB.
        assert!((left_db.unwrap() + 4.0).abs() < 0.05, "{left_db:?}");
    }

    #[test]
    fn hats_and_shakers_that_balance_each_other_stay() {
        let roles = [Role::Kick, Role::ClosedHat, Role::Shaker];
        assert_eq!(asked(&roles, &[[1.0, 1.0], [0.2, 0.4], [0.4, 0.2]]), []);
        // Both to one side: they tip the beam.
        let moves = asked(&roles, &[[1.0, 1.0], [0.2, 0.4], [0.2, 0.4]]);
        assert_eq!(moves.len(), 2);
    }

    #[test]
    fn a_pad_may_lean_a_little_and_what_is_faint_tips_nothing() {
        let roles = [Role::Kick, Role::Pad];
        // 1.8 dB.
        assert_eq!(asked(&roles, &[[1.0, 1.0], [0.1, 0.15]]), []);
        assert_eq!(asked(&roles, &[[1.0, 1.0], [0.001, 0.004]]), []);
        let moves = asked(&roles, &[[1.0, 1.0], [0.1, 0.4]]);
        assert!(moves.len() == 1 && !moves[0].matters, "{moves:?}");
    }

    #[test]
    fn what_pans_to_and_fro_within_four_bars_stays_and_what_stays_aside_is_panned() {
        let bars = |sides: [[f64; 2]; 4]| -> Vec<[f64; 2]> { sides.repeat(2) };
        let kick = bars([[1.0, 1.0]; 4]);
        let (left, right) = ([0.4, 0.1], [0.1, 0.4]);
        let places: [&[usize]; 2] = [&[0], &[1]];
        let elements: Vec<LeanElement<'_>> = [Role::Kick, Role::Lead]
            .into_iter()
            .zip(places)
            .map(|(role, tracks)| LeanElement {
                name: role.name(),
                role,
                tracks,
            })
            .collect();
        let moves = |lead: [[f64; 2]; 4]| {
            let mut scene = scene(&[[1.0, 1.0], [0.25, 0.25]]);
            scene.by_bar = by_bar(&[&kick, &bars(lead)]);
            pans(&scene, &[0.0; 2], &elements, &[false; 2], &[false; 2])
        };
        assert_eq!(moves([left, right, left, right]), []);
        let aside = moves([left, left, left, left]);
        let [pan] = aside.as_slice() else {
            panic!("{aside:?}")
        };
        // 10 log10 (0.4 / 0.1) = 6.02 dB come off the left.
        let Parameters::Pan { left_db, .. } = pan.parameters else {
            panic!("no pan")
        };
        assert!(pan.track == 1 && (left_db.unwrap() + 6.02).abs() < 0.05);
    }
}
