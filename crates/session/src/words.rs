//! A move as a person would say it.

use cupel_units::{read_db_change, read_hertz};

use crate::{At, Delay, Move, Parameters};

impl Move {
    /// What to do, in words: `lead: fader +1.5 dB`, or without a name
    /// `fader +1.5 dB`.
    pub fn in_words(&self, track_name: &str) -> String {
        let mut words = match &self.at {
            None => self.parameters.in_words(),
            Some(at) => format!("{} {}", self.parameters.in_words(), at.in_words()),
        };
        if !track_name.is_empty() {
            words = format!("{track_name}: {words}");
        }
        words
    }
}

impl Parameters {
    /// What to do, in words, such as `pan 20 % left (left +1.2 dB, right -1.6 dB)`.
    pub fn in_words(&self) -> String {
        match self {
            Self::Trim { gain_db } => format!("trim {}", change(*gain_db)),
            Self::Fader { gain_db } => format!("fader {}", change(*gain_db)),
            Self::Pan { position, .. } => pan_in_words(self, *position),
            Self::Polarity {} => "turn the polarity over".into(),
            Self::Offset(delay) => delay_in_words(*delay),
            Self::LowCut {
                cutoff_hz,
                slope_db_per_octave,
            } => format!(
                "low cut at {}, {slope_db_per_octave} dB per octave",
                read_hertz(*cutoff_hz)
            ),
        }
    }
}

/// One decimal where that says it all, else two.
fn change(gain_db: f64) -> String {
    let tenths = gain_db * 10.0;
    if (tenths - tenths.round()).abs() < 1e-6 {
        return read_db_change(gain_db);
    }
    format!("{gain_db:+.2} dB")
}

fn pan_in_words(pan: &Parameters, position: f64) -> String {
    let percent = (position.abs() * 100.0).round();
    let place = match percent {
        0.0 => "pan to the centre".into(),
        _ if position < 0.0 => format!("pan {percent} % left"),
        _ => format!("pan {percent} % right"),
    };
    let Some(law) = pan.pan_law() else {
        return place;
    };
    let side = |db: Option<f64>| db.map_or_else(|| "silent".into(), read_db_change);
    let (left, right) = law.sides_db(position);
    format!("{place} (left {}, right {})", side(left), side(right))
}

fn delay_in_words(delay: Delay) -> String {
    let (amount, unit) = match delay {
        Delay::Milliseconds { delay_ms } => (delay_ms, "ms"),
        Delay::Samples { delay_samples } => (delay_samples as f64, "samples"),
    };
    let unit = if unit == "samples" && amount.abs() == 1.0 {
        "sample"
    } else {
        unit
    };
    let way = if amount < 0.0 { "earlier" } else { "later" };
    format!("move {} {unit} {way}", amount.abs())
}

impl At {
    /// Where a move holds, in words.
    fn in_words(&self) -> String {
        match self {
            Self::Sections(names) => format!("in {}", names.join(", ")),
            Self::Breakpoints(points) => format!("with {} breakpoints", points.len()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{By, PanLaw, Target};

    fn check(parameters: Parameters, words: &str) {
        let target = Target::Track("lead".into());
        let step = Move::new(target, parameters, By::Cupel, "rest", "");
        assert_eq!(step.in_words(""), words);
        assert_eq!(step.in_words("Lead"), format!("Lead: {words}"));
    }

    #[test]
    fn every_kind_in_words() {
        check(Parameters::Trim { gain_db: -6.3 }, "trim -6.3 dB");
        check(Parameters::Fader { gain_db: 1.5 }, "fader +1.5 dB");
        check(Parameters::Fader { gain_db: -0.123 }, "fader -0.12 dB");
        check(
            Parameters::pan(-0.2, PanLaw::Mono),
            "pan 20 % left (left +1.2 dB, right -1.6 dB)",
        );
        check(
            Parameters::pan(1.0, PanLaw::Stereo),
            "pan 100 % right (left silent, right +0.0 dB)",
        );
        let bare = Parameters::Pan {
            position: 0.35,
            left_db: None,
            right_db: None,
        };
        check(bare, "pan 35 % right");
        check(Parameters::Polarity {}, "turn the polarity over");
        let delay_ms = -1.5;
        check(
            Parameters::Offset(Delay::Milliseconds { delay_ms }),
            "move 1.5 ms earlier",
        );
        let delay_samples = 1;
        check(
            Parameters::Offset(Delay::Samples { delay_samples }),
            "move 1 sample later",
        );
        let cutoff_hz = 30.0;
        check(
            Parameters::LowCut {
                cutoff_hz,
                slope_db_per_octave: 12,
            },
            "low cut at 30 Hz, 12 dB per octave",
        );
    }

    #[test]
    fn places_are_said() {
        let target = Target::Track("lead".into());
        let parameters = Parameters::Fader { gain_db: -2.0 };
        let mut step = Move::new(target, parameters, By::Cupel, "check", "");
        step.at = Some(At::Sections(vec!["break".into(), "outro".into()]));
        assert_eq!(step.in_words(""), "fader -2.0 dB in break, outro");
    }
}
