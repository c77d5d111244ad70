//! Which clean sessions are made. Those that may set a threshold never judge one.

use cupel_demo::{DemoSettings, FaultPlan, Style};

use crate::faults::hard::Hard;

/// First seed of the sessions that set thresholds, and of those that judge.
const SETTING: u64 = 1_000;
const JUDGING: u64 = 200_300;

/// How to make a clean session.
#[derive(Clone, Debug)]
pub(crate) struct Recipe {
    pub seed: u64,
    pub style: Style,
    pub hard: Option<Hard>,
    /// Whether the reference was mixed to other levels, s.d. 3 dB.
    pub other_balance: bool,
    pub bounce: bool,
    pub voice: bool,
    pub density: f64,
    pub seconds: f64,
}

impl Recipe {
    pub(crate) fn name(&self) -> String {
        let hard = self.hard.map_or("", Hard::short);
        let other = if self.other_balance { "other" } else { "" };
        let words = [self.style.name(), hard, other, &self.seed.to_string()];
        let words: Vec<&str> = words.into_iter().filter(|word| !word.is_empty()).collect();
        words.join("-")
    }

    pub(crate) fn settings(&self) -> DemoSettings {
        DemoSettings {
            seed: self.seed,
            style: self.style,
            seconds: self.seconds,
            density: self.density,
            voice: self.voice,
            faults: FaultPlan::None,
            balance_spread_db: if self.other_balance { 0.0 } else { 3.5 },
            ..DemoSettings::default()
        }
    }
}

/// All recipes: every style, and every way to be hard on purpose.
pub(crate) fn recipes(setting: bool) -> Vec<Recipe> {
    let hard = [
        None,
        Some(Hard::PannedHats),
        Some(Hard::DrivenKick),
        Some(Hard::PrintedDuck),
        Some(Hard::LoFi),
        Some(Hard::Vinyl),
        Some(Hard::WidePads),
        None,
    ];
    let (first, turn) = if setting { (SETTING, 0) } else { (JUDGING, 3) };
    (0..16)
        .map(|number: usize| {
            // the second eight meet other styles than the first
            let style = Style::ALL[(number * 3 + number / 8 + turn) % 8];
            Recipe {
                seed: first + number as u64,
                style,
                hard: hard[number % 8],
                other_balance: number % 2 == 1 || number == 8,
                bounce: number % 3 != 2,
                voice: number % 5 != 4,
                density: [0.7, 0.5, 0.85][number % 3],
                seconds: [92.0, 100.0][number % 2],
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_style_and_every_hardship_is_there_on_both_sides() {
        for setting in [true, false] {
            let recipes = recipes(setting);
            let styles: BTreeSet<&str> = recipes.iter().map(|r| r.style.name()).collect();
            assert_eq!(styles.len(), 8);
            let names: BTreeSet<String> = recipes.iter().map(Recipe::name).collect();
            assert_eq!(names.len(), 16);
            let hard: BTreeSet<&str> = recipes
                .iter()
                .filter_map(|r| r.hard)
                .map(Hard::short)
                .collect();
            assert_eq!(hard.len(), 6);
            let all = |seed: u64| {
                if setting {
                    (1000..2000).contains(&seed)
                } else {
                    seed >= 200_000
                }
            };
            assert!(recipes.iter().all(|recipe| all(recipe.seed)));
        }
    }
}
