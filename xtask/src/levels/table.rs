//! Tables of levels: drawn ones, and the mean of sessions.

use std::collections::BTreeMap;

use crate::levels::material::{Material, Part};
use crate::prove::dice::Dice;

/// Spread of a drawn level table; the voice gets 0.6 of it, the kick none.
const TABLE_DB: f64 = 3.5;

/// Levels of all roles of both sessions beside the kick, as drawn, LU.
pub(crate) fn draw_table(
    own: &Material,
    other: &Material,
    dice: &mut Dice,
) -> BTreeMap<String, f64> {
    let mut table: BTreeMap<String, f64> = BTreeMap::new();
    for (key, level) in other.plain_levels().into_iter().chain(own.plain_levels()) {
        table.insert(key.to_owned(), level);
    }
    for (key, level) in &mut table {
        let share = match key.as_str() {
            "kick" => 0.0,
            "vocal" => 0.6,
            _ => 1.0,
        };
        *level += share * TABLE_DB * normal(dice).clamp(-2.2, 2.2);
    }
    table
}

/// Sum of twelve draws less six: near enough to normal.
fn normal(dice: &mut Dice) -> f64 {
    (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0
}

/// The gain that brings a part to its level in the table.
pub(crate) fn gain_of(part: &Part, session: &Material, table: &BTreeMap<String, f64>) -> f64 {
    let plain = session.plain_levels();
    let levels = table.get(&part.key).zip(plain.get(part.key.as_str()));
    levels.map_or(0.0, |(wanted, plain)| wanted - plain - part.drawn_db)
}

/// Loudness of every role beside the kick in the other sessions, their mean, LU.
pub(crate) fn usual_table(materials: &[Material], but: usize) -> BTreeMap<&str, f64> {
    let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for (_, material) in materials.iter().enumerate().filter(|(n, _)| *n != but) {
        let levels = material.plain_levels();
        for part in &material.parts {
            if let Some(level) = levels.get(part.key.as_str()) {
                let sum = sums.entry(part.role.as_str()).or_default();
                *sum = (sum.0 + level, sum.1 + 1.0);
            }
        }
    }
    sums.into_iter()
        .map(|(role, (sum, count))| (role, sum / count))
        .collect()
}
