//! Which pieces are made: their settings hang on the seed alone.
//!
//! Nobody fits anything to seeds from 100000 on; they only judge.

use cupel_demo::{Arrangement, DemoSettings, FaultPlan, Key, Mode, Patterns, Style};

use crate::prove::dice::Dice;

/// First seed of the pieces; then of the arrangements, and of the whole sessions.
pub(crate) const PIECES: u64 = 100_000;
pub(crate) const ARRANGEMENTS: u64 = 110_000;
pub(crate) const SESSIONS: u64 = 120_000;

/// Raised whenever the same seed gives other settings or other questions.
pub(crate) const VERSION: u32 = 4;

/// How many are made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Size {
    pub pieces: u64,
    pub arrangements: u64,
    pub sessions: u64,
}

impl Size {
    pub(crate) const FULL: Self = Self {
        pieces: 300,
        arrangements: 40,
        sessions: 8,
    };
    /// All kinds of pieces, a few of each.
    pub(crate) const QUICK: Self = Self {
        pieces: 25,
        arrangements: 4,
        sessions: 1,
    };
}

/// One piece.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub settings: DemoSettings,
    /// Silence put before the finished file for a second look, in seconds.
    pub delay_s: Option<f64>,
    /// Whether 15 s of it are measured alone, too.
    pub excerpt: bool,
    /// Place of the tempo in the range that is given, 0 (low end) to 1.
    pub range_place: f64,
}

/// The piece of a seed. Of 25 pieces two have no beat, two drift, three count three;
/// every fifth is delayed, every third cut to 15 s.
pub(crate) fn piece(seed: u64) -> Plan {
    let number = seed - PIECES;
    let kind = number % 25;
    let (beatless, drifts) = (kind == 7 || kind == 19, kind == 3 || kind == 15);
    let mut dice = Dice::new(seed);
    let style = dice.pick(&Style::ALL);
    let drawn = dice.chance(0.5);
    let settings = DemoSettings {
        seed,
        style,
        tempo_bpm: if drawn {
            None
        } else {
            tempo_bpm(style, &mut dice)
        },
        key: Some(key(&mut dice)),
        density: dice.between(0.3, 1.0),
        voice: dice.chance(0.6),
        seconds: dice.between(58.0, 92.0),
        faults: FaultPlan::None,
        sample_rate_hz: dice.pick(&[44_100, 48_000]),
        swing: Some(if dice.chance(0.4) {
            0.5
        } else {
            hundredth(dice.between(0.5, 0.68))
        }),
        beats_per_bar: if [1, 10, 22].contains(&kind) { 3 } else { 4 },
        tuning_cents: if dice.chance(0.5) {
            0.0
        } else {
            hundredth(dice.between(-49.0, 49.0))
        },
        tempo_drift: if drifts {
            dice.between(0.01, 0.06)
        } else {
            0.0
        },
        beatless,
        drums_db: if dice.chance(0.4) {
            0.0
        } else {
            dice.between(0.0, 15.0)
        },
        start_s: match dice.between(0.0, 3.0) as u32 {
            0 => 0.0,
            1 => dice.between(0.05, 4.0),
            _ => -dice.between(0.05, 6.0),
        },
        patterns: if drawn {
            Patterns::Drawn
        } else {
            Patterns::Style
        },
        arrangement: if dice.chance(0.5) {
            Arrangement::Drawn
        } else {
            Arrangement::Plan
        },
        ..DemoSettings::default()
    };
    let steady = !beatless && !drifts;
    Plan {
        settings,
        delay_s: (steady && number.is_multiple_of(5)).then(|| dice.between(0.03, 2.9)),
        excerpt: steady && number.is_multiple_of(3),
        range_place: dice.between(0.15, 0.85),
    }
}

/// A song of drawn sections, long enough for them.
pub(crate) fn arrangement(seed: u64) -> Plan {
    let mut dice = Dice::new(seed);
    let settings = DemoSettings {
        seed,
        style: dice.pick(&Style::ALL),
        key: Some(key(&mut dice)),
        density: dice.between(0.4, 1.0),
        voice: dice.chance(0.6),
        seconds: dice.between(90.0, 150.0),
        faults: FaultPlan::None,
        patterns: if dice.chance(0.5) {
            Patterns::Drawn
        } else {
            Patterns::Style
        },
        arrangement: Arrangement::Drawn,
        ..DemoSettings::default()
    };
    Plan {
        settings,
        delay_s: None,
        excerpt: false,
        range_place: dice.between(0.15, 0.85),
    }
}

/// A whole session with tracks and reference, without mistakes.
pub(crate) fn session(seed: u64) -> DemoSettings {
    let mut dice = Dice::new(seed);
    DemoSettings {
        seed,
        style: dice.pick(&Style::ALL),
        key: Some(key(&mut dice)),
        density: dice.between(0.4, 1.0),
        seconds: 60.0,
        faults: FaultPlan::None,
        ..DemoSettings::default()
    }
}

/// Four on the floor at any tempo, other styles about their own: a broken kick played
/// at half its tempo is another kick.
fn tempo_bpm(style: Style, dice: &mut Dice) -> Option<f64> {
    let (slowest, fastest) = match style {
        Style::House | Style::Deep | Style::Techno | Style::Trance => (60.0, 200.0),
        Style::Breaks => (110.0, 150.0),
        Style::DrumAndBass => (155.0, 185.0),
        Style::Downtempo => (75.0, 115.0),
        Style::Garage => (115.0, 145.0),
    };
    Some(hundredth(dice.between(slowest, fastest)))
}

fn key(dice: &mut Dice) -> Key {
    Key {
        tonic: dice.between(0.0, 12.0) as u8,
        mode: if dice.chance(0.6) {
            Mode::Minor
        } else {
            Mode::Major
        },
    }
}

fn hundredth(value: f64) -> f64 {
    (100.0 * value).round() / 100.0
}

/// A range of less than an octave about a tempo, as a person would type it.
pub(crate) fn range(tempo_bpm: f64, place: f64) -> String {
    const WIDTH: f64 = 1.9;
    let low = (tempo_bpm * WIDTH.powf(-place)).floor();
    format!("{low:.0}-{:.0}", (low * WIDTH).ceil())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_kinds_are_there_and_few_are_alike() {
        let plans: Vec<Plan> = (PIECES..PIECES + 300).map(piece).collect();
        let count = |of: &dyn Fn(&Plan) -> bool| plans.iter().filter(|plan| of(plan)).count();
        assert_eq!(count(&|p| p.settings.beatless), 24);
        assert_eq!(count(&|p| p.settings.tempo_drift > 0.0), 24);
        assert_eq!(count(&|p| p.settings.beats_per_bar == 3), 36);
        assert!(count(&|p| p.delay_s.is_some()) >= 40);
        assert!(count(&|p| p.excerpt) >= 70);
        assert!(count(&|p| p.settings.patterns == Patterns::Drawn) > 100);
        assert!(count(&|p| p.settings.start_s < 0.0) > 50);
        assert!(count(&|p| p.settings.drums_db > 6.0) > 60);
        assert!(count(&|p| p.settings.swing > Some(0.6)) > 50);
    }

    #[test]
    fn a_range_holds_its_tempo_and_not_its_double() {
        for number in 0..200 {
            let (tempo_bpm, place) = (
                60.0 + 0.7 * f64::from(number),
                0.15 + f64::from(number) / 300.0,
            );
            let words = range(tempo_bpm, place);
            let (low, high) = words.split_once('-').unwrap();
            let (low, high): (f64, f64) = (low.parse().unwrap(), high.parse().unwrap());
            assert!(low <= tempo_bpm && tempo_bpm <= high, "{words} {tempo_bpm}");
            assert!(
                2.0 * tempo_bpm > high && 0.5 * tempo_bpm < low,
                "{words} {tempo_bpm}"
            );
        }
    }
}
