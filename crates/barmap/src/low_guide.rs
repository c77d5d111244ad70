//! What is known of bass and kick, and where each sixteenth is read for it.

use cupel_harmony::Note;
use serde::{Deserialize, Serialize};

use crate::low_bars::LowBars;
use crate::low_place::{BASS_PLACES, KICK_PLACES, LowPlace};
use crate::rows::note_hz;

/// A kick belongs to a sixteenth from this long before it starts.
const EARLY_S: f64 = 0.03;
/// A note is read where it fills this part of a sixteenth.
const LEAST_PART: f64 = 0.5;
/// How long a kick covers the bass where nobody says how long it is, and how
/// long at most: what rings on after that is faint.
const KICK_S: f64 = 0.12;
const LONGEST_KICK_S: f64 = 0.16;

/// A bass note.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowNote {
    /// Its start on the file's clock.
    pub start_s: f64,
    /// Its end.
    pub end_s: f64,
    /// Its fundamental.
    pub hertz: f64,
}

impl LowNote {
    /// A note of a bass line in a piece tuned `tuning_cents` off A4 = 440 Hz.
    pub fn of(note: &Note, tuning_cents: f64) -> Self {
        let midi = f64::from(note.midi) + 0.01 * (note.cents_off + tuning_cents);
        Self {
            start_s: note.start_s,
            end_s: note.end_s,
            hertz: note_hz(midi),
        }
    }
}

/// What is known of bass and kick of a passage.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LowGuide {
    /// The bass line.
    pub notes: Vec<LowNote>,
    /// Fundamental of the kick.
    pub kick_hz: Option<f64>,
    /// When kicks start, rising; none where the file has no kick in it, as a
    /// bass track.
    pub kick_times_s: Vec<f64>,
    /// How long a kick covers the bass; 0.12 s where not known.
    pub kick_length_s: Option<f64>,
}

/// A place to read, with its edges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) place: LowPlace,
    pub(crate) low_hz: f64,
    pub(crate) high_hz: f64,
}

impl LowGuide {
    /// What is read of the sixteenth from `start_s` to `end_s`: the kick where one
    /// starts, the bass where a note plays and no kick covers it.
    pub(crate) fn spots(&self, span_s: (f64, f64)) -> Vec<Spot> {
        let mut spots = Vec::new();
        let mut add = |hertz: f64, places: &[LowPlace]| {
            spots.extend(places.iter().filter_map(|&place| {
                let (low_hz, high_hz) = place.edges_hz(hertz);
                (high_hz < LowBars::top_hz()).then_some(Spot {
                    place,
                    low_hz,
                    high_hz,
                })
            }));
        };
        if self.kick_starts(span_s) {
            add(0.0, &[LowPlace::KickLows]);
            if let Some(hertz) = self.kick_hz {
                add(hertz, &KICK_PLACES);
            }
        }
        if let Some(hertz) = self.note_hz(span_s).filter(|_| !self.covered(span_s)) {
            add(hertz, &BASS_PLACES);
        }
        spots
    }

    /// The note that fills most of a stretch, where it fills enough of it.
    fn note_hz(&self, (start_s, end_s): (f64, f64)) -> Option<f64> {
        let part = |note: &LowNote| {
            (note.end_s.min(end_s) - note.start_s.max(start_s)) / (end_s - start_s)
        };
        let longest = self
            .notes
            .iter()
            .max_by(|a, b| part(a).total_cmp(&part(b)))?;
        let usable = part(longest) >= LEAST_PART && longest.hertz > 0.0;
        usable.then_some(longest.hertz)
    }

    fn kick_starts(&self, (start_s, end_s): (f64, f64)) -> bool {
        let from = self
            .kick_times_s
            .partition_point(|&kick_s| kick_s < start_s - EARLY_S);
        self.kick_times_s
            .get(from)
            .is_some_and(|&kick_s| kick_s < end_s - EARLY_S)
    }

    /// Whether a kick sounds in a stretch.
    fn covered(&self, (start_s, end_s): (f64, f64)) -> bool {
        let length_s = self.kick_length_s.unwrap_or(KICK_S).min(LONGEST_KICK_S);
        let from = self
            .kick_times_s
            .partition_point(|&kick_s| kick_s + length_s <= start_s);
        self.kick_times_s
            .get(from)
            .is_some_and(|&kick_s| kick_s < end_s - EARLY_S)
    }
}
