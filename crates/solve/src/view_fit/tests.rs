//! Known gains come back, and views that do not agree lose their say.

use super::*;
use crate::view::Reading;

const TRACKS: usize = 4;
const CELLS: usize = 12;

/// Four independent tracks over twelve cells, each with a home of its own.
fn scene() -> (Scene, Vec<Vec<f64>>) {
    let power = |t: usize, c: usize| {
        let far = (c as f64 - 3.0 * t as f64 - 1.0) / 1.5;
        (-far * far).exp() + 1e-4
    };
    let tracks: Vec<Vec<f64>> = (0..TRACKS)
        .map(|t| (0..CELLS).map(|c| power(t, c)).collect())
        .collect();
    let mut triangles = Vec::new();
    let cells = (0..CELLS).map(|cell| tracks.iter().map(move |track| track[cell]));
    for cell in cells {
        for (i, power) in cell.enumerate() {
            triangles.push(power);
            triangles.extend((i + 1..TRACKS).map(|_| 0.0));
        }
    }
    (Scene::new(TRACKS, &triangles), tracks)
}

fn view(reference: &[f64]) -> View {
    let readings = reference
        .iter()
        .enumerate()
        .map(|(cell, &reference)| Reading {
            cells: vec![(cell, 1.0)],
            exponent: 1.0,
            reference,
            floor: 1e-6,
            weight: 1.0,
            group: None,
        });
    View {
        readings: readings.collect(),
        worth: 12.0,
        least_spread_db: 0.02,
        group_spread_db: 1.0,
    }
}

fn solve(views: &[View], beliefs: &[Belief], loudness: f64) -> ViewFit {
    let (scene, _) = scene();
    fit_views(
        &ViewProblem {
            scene: &scene,
            loudness_weight: &[1.0; CELLS],
            reference_loudness: loudness,
            views,
            beliefs,
            fixed_gain_db: &[Some(0.0), None, None, None],
            range_db: &[(-24.0, 24.0); TRACKS],
        },
        &[0.0; TRACKS],
    )
}

fn mixed(gains_db: [f64; TRACKS]) -> Vec<f64> {
    let (_, tracks) = scene();
    (0..CELLS)
        .map(|c| {
            let terms = tracks.iter().zip(gains_db);
            terms.map(|(t, g)| 31.6 * t[c] * 10f64.powf(g / 10.0)).sum()
        })
        .collect()
}

#[test]
fn known_gains_come_back_at_any_level() {
    let wanted = [0.0, 9.0, -11.0, 4.0];
    let reference = mixed(wanted);
    let fit = solve(&[view(&reference)], &[], reference.iter().sum());
    for (got, want) in fit.gain_db.iter().zip(wanted) {
        assert!((got - want).abs() < 0.01, "{:?}", fit.gain_db);
    }
    assert!(fit.view_spread_db[0] < 0.05, "{:?}", fit.view_spread_db);
}

#[test]
fn a_view_that_does_not_agree_loses_its_say() {
    let wanted = [0.0, 3.0, -2.0, 4.0];
    let reference = mixed(wanted);
    let nonsense: Vec<f64> = (0..CELLS)
        .map(|c| reference[c] * 10f64.powf(((c * 7) % 5) as f64 - 2.0))
        .collect();
    let views = [view(&reference), view(&nonsense)];
    let fit = solve(&views, &[], reference.iter().sum());
    for (got, want) in fit.gain_db.iter().zip(wanted) {
        assert!((got - want).abs() < 0.2, "{:?}", fit.gain_db);
    }
    assert!(fit.view_spread_db[1] > 5.0, "{:?}", fit.view_spread_db);
}

#[test]
fn beliefs_decide_where_the_reference_is_silent_on_it() {
    let belief = Belief {
        factors: vec![(2, 1.0), (1, -1.0)],
        mean_db: -6.0,
        spread_db: 1.0,
    };
    let fit = solve(&[], &[belief], 1.0);
    let apart = fit.gain_db[2] - fit.gain_db[1];
    assert!((apart + 6.0).abs() < 0.01, "{:?}", fit.gain_db);
}
