//! Left and right of elements, by loudness.

use cupel_units::Role;

use crate::evidence::{ElementFacts, Evidence, ratio_db};
use crate::say::median;

/// Elements this far under the whole tip nothing, dB.
pub(super) const TOO_SOFT_DB: f64 = -20.0;

/// Small percussion: it may sit aside as long as it balances itself.
pub(super) fn may_sit_aside(role: Role) -> bool {
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

/// Right over left of an element in the passage, dB: the middle of its stretches of
/// four bars where they are known.
pub(super) fn lean_db(element: &ElementFacts) -> Option<f64> {
    let whole_db = element.lean_db?;
    if element.share_db? < TOO_SOFT_DB {
        return None;
    }
    match element.lean_by_four_bars_db.as_slice() {
        [] => Some(whole_db),
        stretches => Some(median(stretches.to_vec())),
    }
}

/// How all lean alike, dB: the middle of the elements'. The middle ones, kick and bass,
/// lean only where everything does.
pub(super) fn common_db(evidence: &Evidence) -> f64 {
    let leans = evidence.elements.iter().filter_map(lean_db);
    let leans: Vec<f64> = leans.collect();
    if leans.len() < 3 {
        return 0.0;
    }
    let middle = median(leans.clone());
    let alike = leans.iter().filter(|lean| (*lean - middle).abs() < 1.0);
    if alike.count() * 3 >= leans.len() * 2 {
        middle
    } else {
        0.0
    }
}

/// Left and right power of an element against the whole.
pub(super) fn channels(element: &ElementFacts) -> [f64; 2] {
    let (Some(lean_db), Some(share_db)) = (element.lean_db, element.share_db) else {
        return [0.0; 2];
    };
    let (power, ratio) = (10f64.powf(share_db / 10.0), 10f64.powf(lean_db / 10.0));
    [power / (1.0 + ratio), power * ratio / (1.0 + ratio)]
}

/// Right over left of an element in all of its files, dB.
pub(super) fn of_files_db(evidence: &Evidence, element: &ElementFacts) -> f64 {
    let mut sum = [0.0; 2];
    for &track in &element.tracks {
        let Some(facts) = evidence.tracks.get(track) else {
            continue;
        };
        let summary = &facts.file.summary;
        if let (Some(lufs), Some(lean_db)) = (summary.integrated_lufs, summary.lean_db) {
            let (power, ratio) = (10f64.powf(lufs / 10.0), 10f64.powf(lean_db / 10.0));
            sum[0] += power / (1.0 + ratio);
            sum[1] += power * ratio / (1.0 + ratio);
        }
    }
    ratio_db(sum[1], sum[0])
}

/// Left and right of a track by loudness in the passage; nothing where unknown.
pub(super) fn track_channels(evidence: &Evidence, track: usize) -> [f64; 2] {
    let Some(passage) = &evidence.passage else {
        return [0.0; 2];
    };
    weighed(
        passage.track_sides.get(track).map_or(&[], Vec::as_slice),
        &passage.loudness_weights,
    )
}

/// Left and right by loudness from those of the bands.
pub(super) fn weighed(sides: &[[f64; 2]], weights: &[f64]) -> [f64; 2] {
    let cells = sides.iter().zip(weights);
    cells.fold([0.0; 2], |[left, right], (side, weight)| {
        [left + weight * side[0], right + weight * side[1]]
    })
}
