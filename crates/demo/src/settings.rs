//! What a person or a trial asks the generator for.

use crate::error::DemoError;

/// Genre of the song: sets tempo range, patterns, sounds and the base table of
/// levels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the names say it
pub enum Style {
    House,
    Deep,
    Techno,
    Trance,
    Breaks,
    DrumAndBass,
    Downtempo,
    Garage,
}

impl Style {
    /// All styles, in a fixed order.
    pub const ALL: [Style; 8] = [
        Style::House,
        Style::Deep,
        Style::Techno,
        Style::Trance,
        Style::Breaks,
        Style::DrumAndBass,
        Style::Downtempo,
        Style::Garage,
    ];

    /// The plain word for it, as typed and printed.
    pub fn name(self) -> &'static str {
        match self {
            Style::House => "house",
            Style::Deep => "deep",
            Style::Techno => "techno",
            Style::Trance => "trance",
            Style::Breaks => "breaks",
            Style::DrumAndBass => "dnb",
            Style::Downtempo => "downtempo",
            Style::Garage => "garage",
        }
    }
}

impl std::str::FromStr for Style {
    type Err = DemoError;

    fn from_str(word: &str) -> Result<Self, DemoError> {
        Style::ALL
            .into_iter()
            .find(|style| style.name() == word)
            .ok_or_else(|| DemoError::Setting {
                name: "style",
                given: word.to_owned(),
                allowed: "house, deep, techno, trance, breaks, dnb, downtempo, garage",
            })
    }
}

/// Major or natural minor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the names say it
pub enum Mode {
    Major,
    Minor,
}

/// Key of a song.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    /// Pitch class of the tonic: 0 is C, 11 is B.
    pub tonic: u8,
    /// Major or minor.
    pub mode: Mode,
}

impl std::fmt::Display for Key {
    /// As `D# minor`.
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        const NAMES: [&str; 12] = [
            "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B",
        ];
        let mode = match self.mode {
            Mode::Major => "major",
            Mode::Minor => "minor",
        };
        write!(out, "{} {mode}", NAMES[usize::from(self.tonic % 12)])
    }
}

impl std::str::FromStr for Key {
    type Err = DemoError;

    /// Reads `D minor`, `Eb major`, `f# minor`.
    fn from_str(words: &str) -> Result<Self, DemoError> {
        let read = || {
            let (note, mode) = words.trim().split_once(' ')?;
            let mode = match mode.trim().to_lowercase().as_str() {
                "major" => Mode::Major,
                "minor" => Mode::Minor,
                _ => return None,
            };
            let mut letters = note.chars();
            let place = match letters.next()?.to_ascii_lowercase() {
                'c' => 0,
                'd' => 2,
                'e' => 4,
                'f' => 5,
                'g' => 7,
                'a' => 9,
                'b' => 11,
                _ => return None,
            };
            let sign = match letters.as_str() {
                "" => 0,
                "#" => 1,
                "b" => 11,
                _ => return None,
            };
            let tonic = (place + sign) % 12;
            Some(Self { tonic, mode })
        };
        read().ok_or_else(|| DemoError::Setting {
            name: "key",
            given: words.to_owned(),
            allowed: "a key such as D minor or Eb major",
        })
    }
}

/// Whether the exported tracks carry mistakes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FaultPlan {
    /// The tracks sum, as they are, to the true mix.
    None,
    /// A handful of mistakes a person makes in good faith, drawn by the seed.
    Honest,
}

/// Where patterns of drums, bass and chords come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Patterns {
    /// The tables of the style.
    Style,
    /// Drawn beyond them: syncopated kicks, basses off the beat, songs without a
    /// kick, bars that differ in turn.
    Drawn,
}

/// Where the order and the lengths of the sections come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Arrangement {
    /// One of three plans, in whole eights of bars where there is room.
    Plan,
    /// Drawn: random lengths, one or two drops, false drops, loud outros.
    Drawn,
}

/// What to make. [`DemoSettings::default`] is the demo of the command line.
#[derive(Clone, Debug, PartialEq)]
pub struct DemoSettings {
    /// Same settings and seed, same bytes.
    pub seed: u64,
    /// Genre.
    pub style: Style,
    /// Tempo, 60 to 200; `None` draws one that fits the style.
    pub tempo_bpm: Option<f64>,
    /// Key; `None` draws one.
    pub key: Option<Key>,
    /// How much plays, 0 to 1: tracks (13 to 16 with the voice) and notes.
    pub density: f64,
    /// With the vowel-like voice.
    pub voice: bool,
    /// Standard deviation of the drawn level table, 0 to 12 dB. The voice gets
    /// 0.6 of it, the kick none.
    pub balance_spread_db: f64,
    /// Length of the song, 20 to 1200 s, to the nearest bar, with its last decay.
    pub seconds: f64,
    /// Mistakes or none.
    pub faults: FaultPlan,
    /// Session rate, 32 to 192 kHz.
    pub sample_rate_hz: u32,
    /// Place of the second sixteenth in its eighth, 0.5 (straight) to 0.75;
    /// `None` draws one that fits the style.
    pub swing: Option<f64>,
    /// 4 or 3.
    pub beats_per_bar: u32,
    /// How far everything tuned is from A4 = 440 Hz, -50 to 50 cents; the
    /// reference stays at 440 Hz.
    pub tuning_cents: f64,
    /// How far the tempo wanders from its middle, 0 (a grid) to 0.1; the reference
    /// keeps its tempo.
    pub tempo_drift: f64,
    /// Only pads, voice or noise, in free time: no beat can be told.
    pub beatless: bool,
    /// Raises all drums against the rest, -12 to 24 dB, in session and reference.
    pub drums_db: f64,
    /// Where the first bar starts, -30 to 30 s: silence before it, or, below 0, a
    /// start cut away from the session's music.
    pub start_s: f64,
    /// Patterns of the style, or drawn ones.
    pub patterns: Patterns,
    /// Sections by plan, or drawn.
    pub arrangement: Arrangement,
}

impl Default for DemoSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            style: Style::House,
            tempo_bpm: None,
            key: None,
            density: 0.7,
            voice: true,
            balance_spread_db: 3.5,
            seconds: 240.0,
            faults: FaultPlan::Honest,
            sample_rate_hz: 44_100,
            swing: None,
            beats_per_bar: 4,
            tuning_cents: 0.0,
            tempo_drift: 0.0,
            beatless: false,
            drums_db: 0.0,
            start_s: 0.0,
            patterns: Patterns::Style,
            arrangement: Arrangement::Plan,
        }
    }
}

impl DemoSettings {
    /// # Errors
    /// [`DemoError::Setting`] for the first setting outside its range.
    pub(crate) fn check(&self) -> Result<(), DemoError> {
        let ranges = [
            ("density", self.density, 0.0, 1.0, "0 to 1"),
            (
                "balance_spread_db",
                self.balance_spread_db,
                0.0,
                12.0,
                "0 to 12 dB",
            ),
            ("seconds", self.seconds, 20.0, 1200.0, "20 to 1200 s"),
            (
                "sample_rate_hz",
                f64::from(self.sample_rate_hz),
                32e3,
                192e3,
                "32000 to 192000 Hz",
            ),
            (
                "tempo_bpm",
                self.tempo_bpm.unwrap_or(100.0),
                60.0,
                200.0,
                "60 to 200",
            ),
            ("swing", self.swing.unwrap_or(0.5), 0.5, 0.75, "0.5 to 0.75"),
            (
                "beats_per_bar",
                f64::from(self.beats_per_bar),
                3.0,
                4.0,
                "3 or 4",
            ),
            (
                "tuning_cents",
                self.tuning_cents,
                -50.0,
                50.0,
                "-50 to 50 cents",
            ),
            ("tempo_drift", self.tempo_drift, 0.0, 0.1, "0 to 0.1"),
            ("drums_db", self.drums_db, -12.0, 24.0, "-12 to 24 dB"),
            ("start_s", self.start_s, -30.0, 30.0, "-30 to 30 s"),
        ];
        for (name, given, low, high, allowed) in ranges {
            // written so that a NaN is refused too
            if !(low..=high).contains(&given) {
                return Err(DemoError::Setting {
                    name,
                    given: given.to_string(),
                    allowed,
                });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_go_both_ways() {
        for style in Style::ALL {
            assert_eq!(style.name().parse::<Style>().unwrap(), style);
        }
        assert!("polka".parse::<Style>().is_err());
    }

    #[test]
    fn keys_go_both_ways() {
        for tonic in 0..12 {
            for mode in [Mode::Major, Mode::Minor] {
                let key = Key { tonic, mode };
                assert_eq!(key.to_string().parse::<Key>().unwrap(), key);
            }
        }
        let flat: Key = "eb minor".parse().unwrap();
        assert_eq!(flat.to_string(), "D# minor");
        for wrong in ["", "H major", "C", "C dorian", "Cx minor", "  major"] {
            assert!(wrong.parse::<Key>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_bad_setting_is_named() {
        let settings = DemoSettings {
            density: f64::NAN,
            ..DemoSettings::default()
        };
        let message = settings.check().unwrap_err().to_string();
        assert_eq!(message, "`density` is NaN, allowed is 0 to 1");
    }
}
