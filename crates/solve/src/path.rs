//! What each move does to the distance, one after another.

use cupel_compare::{Cells, Distance};
use serde::Serialize;

use crate::mix_scene::MixScene;

/// A change of a part smaller than this is not spoken of, dB.
const SAID_DB: f64 = 0.1;

/// The distance before, and after each move with those before it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Path {
    /// Before any move.
    pub start: Distance,
    /// After each move.
    pub steps: Vec<Step>,
}

/// One move on the path.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Id of the track that is moved.
    pub track: String,
    /// Gain of the move, dB.
    pub gain_db: f64,
    /// The distance after it.
    pub distance: Distance,
    /// What it does, in words.
    pub effect: String,
}

/// Gains, one after another: track, its id, gain in dB.
pub(crate) fn path(
    scene: &MixScene,
    reference: &Cells,
    from_db: &[f64],
    gains: &[(usize, &str, f64)],
) -> Path {
    let mut gain_db = from_db.to_vec();
    let start = Distance::of(&scene.cells(&gain_db), reference);
    let mut before = start;
    let steps = gains
        .iter()
        .map(|&(track, id, added_db)| {
            gain_db[track] += added_db;
            let distance = Distance::of(&scene.cells(&gain_db), reference);
            let effect = effect(&before, &distance);
            before = distance;
            Step {
                track: id.to_owned(),
                gain_db: added_db,
                distance,
                effect,
            }
        })
        .collect();
    Path { start, steps }
}

/// The two parts that change most, in words.
pub(crate) fn effect(before: &Distance, after: &Distance) -> String {
    let values = before.values().into_iter().zip(after.values());
    let mut changes: Vec<(f64, &str)> = Distance::NAMES
        .iter()
        .zip(values)
        .filter_map(|(name, (before, after))| Some((after? - before?, name.words)))
        .filter(|(change, _)| change.abs() >= SAID_DB)
        .collect();
    changes.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    let words: Vec<String> = changes
        .iter()
        .take(2)
        .map(|(change, name)| {
            let way = if *change < 0.0 {
                "nearer"
            } else {
                "further off"
            };
            format!("{name} {:.1} dB {way}", change.abs())
        })
        .collect();
    match words.is_empty() {
        true => "by itself less than 0.1 dB in every part; it counts with the others".to_owned(),
        false => words.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_changes_are_said() {
        let before = Distance {
            bar_map_db: Some(5.0),
            spectrum_db: Some(3.0),
            low_end_db: Some(2.0),
            width_db: None,
            lean_db: Some(0.05),
        };
        let after = Distance {
            bar_map_db: Some(4.5),
            spectrum_db: Some(3.2),
            low_end_db: Some(0.5),
            width_db: None,
            lean_db: Some(0.0),
        };
        assert_eq!(
            effect(&before, &after),
            "low end 1.5 dB nearer, bar map 0.5 dB nearer"
        );
        assert!(effect(&before, &before).starts_with("by itself"));
    }
}
