//! The intended balance: a base table of the style and a draw on top of it.

use crate::rng::Rng;
use crate::role::Role;
use crate::settings::DemoSettings;
use crate::style::base_level_lu;

/// Drawn offset and resulting loudness of each role; one table serves session
/// and reference.
#[derive(Clone, Debug)]
pub(crate) struct Balance {
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
struct Row {
    role: Role,
    offset_db: f64,
    loudness_lu: f64,
}

impl Balance {
    pub(crate) fn draw(settings: &DemoSettings) -> Self {
        let rows = Role::ORDER
            .into_iter()
            .map(|role| {
                let offset_db = offset_db(settings, role);
                let drums_db = if role.is_drum() {
                    settings.drums_db
                } else {
                    0.0
                };
                Row {
                    role,
                    offset_db,
                    loudness_lu: base_level_lu(settings.style, role) + offset_db + drums_db,
                }
            })
            .collect();
        Self { rows }
    }

    /// Drawn offset from the base table, in dB, to a hundredth.
    pub(crate) fn offset_db(&self, role: Role) -> f64 {
        self.row(role).map_or(0.0, |row| row.offset_db)
    }

    /// Wanted integrated loudness of the track against a common line, in LU.
    pub(crate) fn loudness_lu(&self, role: Role) -> f64 {
        self.row(role).map_or(0.0, |row| row.loudness_lu)
    }

    fn row(&self, role: Role) -> Option<&Row> {
        self.rows.iter().find(|row| row.role == role)
    }
}

/// The pair of shakers has one draw; beyond 2.2 s.d. a draw is drawn in.
fn offset_db(settings: &DemoSettings, role: Role) -> f64 {
    let share = match role {
        Role::Kick => return 0.0,
        Role::Voice => 0.6,
        _ => 1.0,
    };
    let drawn_as = match role {
        Role::ShakerRight => Role::ShakerLeft,
        other => other,
    };
    let label = format!("balance/{}", drawn_as.label());
    let draw = Rng::labelled(settings.seed, &label)
        .normal()
        .clamp(-2.2, 2.2);
    libm::round(100.0 * share * settings.balance_spread_db * draw) / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The stated s.d. over many seeds, and a kick that never moves.
    #[test]
    fn spread_is_the_stated_one() {
        let draws: Vec<f64> = (0..2000)
            .map(|seed| {
                let settings = DemoSettings {
                    seed,
                    ..DemoSettings::default()
                };
                let balance = Balance::draw(&settings);
                assert_eq!(balance.offset_db(Role::Kick), 0.0);
                let left = balance.offset_db(Role::ShakerLeft);
                assert_eq!(left, balance.offset_db(Role::ShakerRight));
                balance.offset_db(Role::Lead)
            })
            .collect();
        let mean = draws.iter().sum::<f64>() / 2000.0;
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 2000.0;
        assert!(mean.abs() < 0.3, "{mean}");
        assert!((libm::sqrt(variance) - 3.5).abs() < 0.3, "{variance}");
    }
}
