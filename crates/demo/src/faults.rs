//! Honest mistakes in exported tracks.

use crate::rng::Rng;
use crate::role::Role;
use crate::settings::{DemoSettings, FaultPlan};

/// What is wrong with the exports.
#[derive(Clone, Debug, Default)]
pub(crate) struct Faults {
    /// Wanted peak of the kick in the exports, where the session is off.
    pub(crate) kick_peak_dbfs: Option<f64>,
    /// Gains on single tracks; the flag marks one of a pair.
    pub(crate) levels: Vec<(Role, f64, bool)>,
    /// Track and constant.
    pub(crate) dc: Option<(Role, f64)>,
    /// Track that ends too early.
    pub(crate) cut: Option<Role>,
}

/// Tracks off together, and by how much, about.
const LEVEL_FAULTS: &[(&[Role], f64)] = &[
    (&[Role::OpenHat], 5.0),
    (&[Role::Bass], -4.0),
    (&[Role::Lead], -5.0),
    (&[Role::PadWarm, Role::PadAir], 4.0),
    (&[Role::Sub], 4.0),
    (&[Role::Clap, Role::Snare], -4.0),
    (&[Role::Voice], -4.0),
    (&[Role::Chords], 4.0),
    (&[Role::Effects], 6.0),
    (&[Role::ClosedHat], 4.5),
];

impl Faults {
    /// Draws a handful among the roles of a session.
    pub(crate) fn draw(settings: &DemoSettings, roles: &[Role]) -> Self {
        if settings.faults == FaultPlan::None {
            return Self::default();
        }
        let mut rng = Rng::labelled(settings.seed, "faults");
        let hot = rng.chance(0.7);
        let kick_peak_dbfs = if hot {
            rng.between(-7.5, -6.5)
        } else {
            rng.between(-20.0, -17.5)
        };
        let mut faults = Self {
            kick_peak_dbfs: Some(kick_peak_dbfs),
            ..Self::default()
        };
        let leaning = *rng.pick(&[Role::ShakerLeft, Role::ShakerRight]);
        let lean_db = tenth(rng.between(3.5, 5.5));
        faults.levels.push((leaning, lean_db, true));
        faults.draw_levels(roles, &mut rng);
        let constant = rng.between(0.006, 0.014) * if rng.chance(0.5) { 1.0 } else { -1.0 };
        let with_dc = *rng.pick(&[Role::Bass, Role::Lead, Role::Piano]);
        faults.dc = Some((with_dc, constant));
        // the one part that surely rings at the end
        faults.cut = Some(Role::PadWarm);
        faults
    }

    fn draw_levels(&mut self, roles: &[Role], rng: &mut Rng) {
        let mut left: Vec<_> = LEVEL_FAULTS
            .iter()
            .filter(|(who, _)| who.iter().any(|role| roles.contains(role)))
            .collect();
        for _ in 0..3 + rng.below(2) {
            if left.is_empty() {
                return;
            }
            let (who, gain_db) = *left.remove(rng.below(left.len()));
            let gain_db = tenth(gain_db * rng.between(0.85, 1.2));
            let present = who.iter().filter(|role| roles.contains(role));
            self.levels
                .extend(present.map(|&role| (role, gain_db, false)));
        }
    }

    /// Gain of a role's own mistake.
    pub(crate) fn level_db(&self, role: Role) -> f64 {
        let own = self.levels.iter().find(|(who, _, _)| *who == role);
        own.map_or(0.0, |(_, gain_db, _)| *gain_db)
    }
}

fn tenth(db: f64) -> f64 {
    libm::round(10.0 * db) / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_handful_and_never_the_kick() {
        for seed in 0..200 {
            let settings = DemoSettings {
                seed,
                ..DemoSettings::default()
            };
            let faults = Faults::draw(&settings, &Role::ORDER);
            assert!((4..=9).contains(&faults.levels.len()), "{faults:?}");
            assert_eq!(faults.level_db(Role::Kick), 0.0);
        }
    }
}
