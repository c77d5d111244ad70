//! What the weights of the grid are fitted on; not part of the public face.

use crate::bar_choice::{Candidate, Choice, choose};
use crate::beat_choice::{all_candidates, candidates_close};
use crate::beat_features::{Scene, quick_features};
use crate::drift::follow;
use crate::drift_path::Prices;
use crate::grid::TempoSettings;
use crate::onset_curve::{OnsetCurve, Onsets};
use crate::proof::Proof;
use crate::pulse::Pulse;
use crate::steadiness::Sounds;
use crate::warp::Warp;

/// Grids looked at closely: more than a run does.
const CLOSE: usize = 22;

/// Features of one candidate.
pub struct Row {
    /// Time from beat to beat.
    pub period_s: f64,
    /// Time of a beat.
    pub offset_s: f64,
    /// Time of the first beat of the file.
    pub first_s: f64,
    /// What bears the grid out.
    pub proof: Vec<f64>,
    /// What speaks for the beats.
    pub beat: Vec<f64>,
    /// What speaks for each metre and bar line.
    pub bars: Vec<Vec<f64>>,
}

/// What a file, or the file in even time, offers.
#[derive(Default)]
pub struct Offer {
    /// Period, offset and quick features of all candidates.
    pub quick: Vec<(f64, f64, Vec<f64>)>,
    /// The likelier ones.
    pub rows: Vec<Row>,
    /// File times of the even times 0, 0.05, 0.1 s and so on; none where time was
    /// not bent.
    pub file_s: Vec<f64>,
}

/// The file as it is, and in even time.
pub fn offers(curve: &OnsetCurve) -> Vec<Offer> {
    let curve = &Onsets::of(curve);
    let mut all = vec![offer(curve, None)];
    if let Some(warp) = follow(curve, Prices::HARD) {
        all.push(offer(&warp.straighten(curve), Some(&warp)));
    }
    all
}

fn offer(curve: &Onsets, warp: Option<&Warp>) -> Offer {
    let sounds = Sounds::of(curve);
    let Some(pulse) = Pulse::of(curve).filter(|_| sounds.enough()) else {
        return Offer::default();
    };
    let scene = &Scene::of(curve, &pulse, &sounds);
    let settings = TempoSettings::default();
    let Some(choice) = choose(scene, &settings) else {
        return Offer::default();
    };
    let quick = all_candidates(scene, &settings).into_iter().map(|beats| {
        let features = quick_features(scene, beats).to_vec();
        (beats.period_s, beats.offset_s, features)
    });
    let rows = candidates_close(scene, &settings, CLOSE)
        .into_iter()
        .map(|beats| {
            let candidate = Candidate::of(scene, beats);
            let proof = Proof::of(&sounds, curve.seconds, &Choice { beats, ..choice });
            Row {
                period_s: beats.period_s,
                offset_s: beats.offset_s,
                first_s: candidate.first_s,
                proof: proof.features().to_vec(),
                beat: candidate.features.to_vec(),
                bars: candidate.bars.iter().map(|bar| bar.to_vec()).collect(),
            }
        });
    Offer {
        quick: quick.collect(),
        rows: rows.collect(),
        file_s: warp.map_or_else(Vec::new, |warp| {
            let count = (curve.seconds / 0.05) as usize;
            (0..=count).map(|k| warp.to_file(0.05 * k as f64)).collect()
        }),
    }
}
