//! The tracks of a passage together, in the cells of the comparison.

use cupel_barmap::{CrossMap, LowPlace, Side};
use cupel_compare::{Cells, Layout};

use crate::scene::Scene;

/// The tracks of a passage together, in the cells.
#[derive(Clone, Debug, PartialEq)]
pub struct MixScene {
    /// Layout of the cells.
    pub layout: Layout,
    /// Cross-powers of the tracks.
    pub scene: Scene,
    /// Low places that were read.
    pub read: Vec<LowPlace>,
    /// Left and right by loudness bar by bar: cells 0 and 1 are those of the first bar.
    /// Without cells where bars were not read by themselves.
    pub by_bar: Scene,
}

impl MixScene {
    /// The scene of a cross map.
    pub fn of(map: &CrossMap) -> Self {
        let layout = Layout::of(&map.rows, map.slots);
        let pairs = map.tracks * (map.tracks + 1) / 2;
        let mut triangles = vec![0.0; layout.cells() * pairs];
        let weights = layout.band_weights();
        let channels = [false, true].map(|right| layout.channel(right) * pairs);
        for (index, band) in layout.bands.iter().enumerate() {
            for slot in 0..layout.slots {
                let whole = layout.whole(index, slot) * pairs;
                let side = layout.side(index, slot) * pairs;
                for row in band.first_row..=band.last_row {
                    let [left, right, middle] = Side::ALL.map(|side| map.triangle(side, row, slot));
                    for (pair, ((left, right), middle)) in
                        left.iter().zip(right).zip(middle).enumerate()
                    {
                        let mean = 0.5 * (f64::from(*left) + f64::from(*right));
                        triangles[whole + pair] += mean;
                        triangles[side + pair] += mean - f64::from(*middle);
                        triangles[channels[0] + pair] += weights[index] * f64::from(*left);
                        triangles[channels[1] + pair] += weights[index] * f64::from(*right);
                    }
                }
            }
        }
        let mut read = Vec::new();
        for place in LowPlace::ALL {
            let Some(low) = &map.low else { break };
            let bars: usize = (0..map.slots).map(|slot| low.bars(place, slot)).sum();
            if bars == 0 {
                continue;
            }
            read.push(place);
            let start = layout.low(place) * pairs;
            for slot in 0..map.slots {
                let share = low.bars(place, slot) as f64 / bars as f64;
                let cells = triangles[start..start + pairs].iter_mut();
                for (sum, value) in cells.zip(low.triangle(place, slot)) {
                    *sum += share * f64::from(*value);
                }
            }
        }
        let by_bar: Vec<f64> = (0..map.bars)
            .flat_map(|bar| [map.bar(bar, false), map.bar(bar, true)])
            .flatten()
            .map(|&value| f64::from(value))
            .collect();
        Self {
            scene: Scene::new(map.tracks, &triangles),
            layout,
            read,
            by_bar: Scene::new(map.tracks, &by_bar),
        }
    }

    /// Powers of all cells at gains in dB.
    pub fn cells(&self, gain_db: &[f64]) -> Cells {
        let gains: Vec<f64> = gain_db.iter().map(|g| 10f64.powf(g / 20.0)).collect();
        let mut parts = vec![0.0; self.scene.tracks()];
        let mut powers: Vec<Option<f64>> = (0..self.layout.cells())
            .map(|cell| {
                self.scene.parts(cell, &gains, &mut parts);
                Some(parts.iter().sum::<f64>().max(0.0))
            })
            .collect();
        for place in LowPlace::ALL {
            if !self.read.contains(&place) {
                powers[self.layout.low(place)] = None;
            }
        }
        Cells {
            layout: self.layout.clone(),
            powers,
        }
    }
}
