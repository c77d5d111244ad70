//! The bar map as it is written: decibels to a tenth.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, power_db};
use crate::rows::Row;

/// Levels by row and slot.
type Levels = Vec<Vec<Option<f32>>>;

/// A bar map in decibels.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct BarMapJson {
    slots: usize,
    bars: usize,
    rows: Vec<Row>,
    left_db: Levels,
    /// `None` where right is as left.
    right_db: Option<Levels>,
    /// `None` where mid is as left.
    mid_db: Option<Levels>,
    spread_db: Levels,
}

fn tenth(value: f64) -> f32 {
    ((value * 10.0).round() / 10.0) as f32
}

fn levels(powers: &[f32], slots: usize) -> Levels {
    let level = |&power: &f32| power_db(power.into()).map(tenth);
    powers
        .chunks(slots.max(1))
        .map(|row| row.iter().map(level).collect())
        .collect()
}

fn powers(levels: &Levels) -> Vec<f32> {
    let power = |level: &Option<f32>| level.map_or(0.0, |db| 10f32.powf(db / 10.0));
    levels.iter().flatten().map(power).collect()
}

impl From<BarMap> for BarMapJson {
    fn from(map: BarMap) -> Self {
        let different = |side: &[f32]| (side != map.left).then(|| levels(side, map.slots));
        Self {
            left_db: levels(&map.left, map.slots),
            right_db: different(&map.right),
            mid_db: different(&map.mid),
            spread_db: map
                .spread_db
                .chunks(map.slots.max(1))
                .map(|row| row.iter().map(|db| db.map(|db| tenth(db.into()))).collect())
                .collect(),
            slots: map.slots,
            bars: map.bars,
            rows: map.rows,
        }
    }
}

impl From<BarMapJson> for BarMap {
    fn from(json: BarMapJson) -> Self {
        let left = powers(&json.left_db);
        let side = |levels: &Option<Levels>| levels.as_ref().map_or_else(|| left.clone(), powers);
        Self {
            right: side(&json.right_db),
            mid: side(&json.mid_db),
            spread_db: json.spread_db.into_iter().flatten().collect(),
            slots: json.slots,
            bars: json.bars,
            rows: json.rows,
            left,
        }
    }
}
