//! The low end read around its own notes.
//!
//! A bass in another key lies elsewhere in fixed bands without being louder or
//! softer. Here every sixteenth is read around the note that plays in it, and
//! the kick around its own fundamental. Edges lie halfway between partials, as
//! far from each as the window of a sixteenth can tell.
//!
//! On drawn basses, transposed by 2 to 5 semitones, the note, its octave and its
//! overtones move by 0.1 dB (95 percent under 0.6 dB) while fixed bands of half an
//! octave move by up to 12 dB; with bass notes under it a kick's places move by up
//! to 1.1 dB (`tests/it/low_trial.rs`). A faster tempo makes a kick's share of its
//! sixteenth larger: 0.4 dB for 10 percent.

use cupel_harmony::Note;
use serde::{Deserialize, Serialize};

use crate::bar_map::power_db;
use crate::low_bars::LowBars;
use crate::rows::note_hz;

/// A kick belongs to a sixteenth from this long before it starts.
const EARLY_S: f64 = 0.03;
/// The window's own smear: a place holds this part (-20 dB) of the loudest
/// place at least.
const SMEAR: f64 = 0.01;
/// The same below the note (-10 dB), where partials lie closest.
const SMEAR_UNDER: f64 = 0.1;
/// A note is read where it fills this part of a sixteenth.
const LEAST_PART: f64 = 0.5;
const KICK_LOWS_HZ: (f64, f64) = (25.0, 150.0);
/// How long a kick covers the bass where nobody says how long it is.
const KICK_S: f64 = 0.12;

/// Places that hang on a kick's fundamental, and those that hang on a note's.
const KICK_PLACES: [LowPlace; 2] = [LowPlace::KickBody, LowPlace::KickPunch];
const BASS_PLACES: [LowPlace; 4] = [
    LowPlace::UnderNote,
    LowPlace::Note,
    LowPlace::Octave,
    LowPlace::AboveOctave,
];

/// A place of the low end, with its edges in multiples of the note's (or
/// kick's) fundamental.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LowPlace {
    /// Below the bass note: up to 0.7.
    UnderNote,
    /// The note: 0.7 to 1.5.
    Note,
    /// Its octave: 1.5 to 2.5.
    Octave,
    /// Its third and fourth partials: 2.5 to 4.5.
    AboveOctave,
    /// The kick's fundamental: 0.7 to 1.5.
    KickBody,
    /// Where a kick falls from: 1.5 to 3.5.
    KickPunch,
    /// All of a kick's lows, 25 Hz to 150 Hz, wherever its fundamental is.
    KickLows,
}

impl LowPlace {
    /// All places, bass first.
    pub const ALL: [Self; 7] = [
        Self::UnderNote,
        Self::Note,
        Self::Octave,
        Self::AboveOctave,
        Self::KickBody,
        Self::KickPunch,
        Self::KickLows,
    ];

    /// Its edges around a fundamental.
    pub fn edges_hz(self, fundamental_hz: f64) -> (f64, f64) {
        let (from, to) = match self {
            Self::UnderNote => (0.0, 0.7),
            Self::Note | Self::KickBody => (0.7, 1.5),
            Self::Octave => (1.5, 2.5),
            Self::AboveOctave => (2.5, 4.5),
            Self::KickPunch => (1.5, 3.5),
            Self::KickLows => return KICK_LOWS_HZ,
        };
        (from * fundamental_hz, to * fundamental_hz)
    }

    fn smear(self) -> f64 {
        match self {
            Self::UnderNote => SMEAR_UNDER,
            _ => SMEAR,
        }
    }

    /// Its name for people, such as `bass note`.
    pub fn words(self) -> &'static str {
        match self {
            Self::UnderNote => "under note",
            Self::Note => "bass note",
            Self::Octave => "octave",
            Self::AboveOctave => "overtones",
            Self::KickBody => "kick body",
            Self::KickPunch => "kick punch",
            Self::KickLows => "kick lows",
        }
    }

    /// Whether the place hangs on the kick.
    pub fn is_kick(self) -> bool {
        matches!(self, Self::KickBody | Self::KickPunch | Self::KickLows)
    }
}

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

/// One place in one sixteenth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LowCell {
    /// Mean power of the bars in which it was read; 0 where in none.
    pub power: f64,
    /// Bars in which it was read.
    pub bars: usize,
}

impl LowCell {
    /// Level in dB; `None` where nothing was read.
    pub fn level_db(&self) -> Option<f64> {
        power_db(self.power)
    }

    fn take(&mut self, power: f64) {
        let bars = self.bars as f64;
        self.power = (self.power * bars + power) / (bars + 1.0);
        self.bars += 1;
    }
}

/// The low places by sixteenth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowReading {
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Cells in the order of [`LowPlace::ALL`], each with its slots.
    pub cells: Vec<Vec<LowCell>>,
}

impl LowReading {
    /// Reads a passage around its own notes.
    ///
    /// The bass is read in the sixteenths that a note fills by half or more and
    /// no kick covers; the kick where it starts, with what else sounds under it. What a place holds of less than
    /// 20 dB (under the note 10 dB) below the loudest place of the same sixteenth
    /// may be the window's smear and counts as that much below it.
    pub fn of(low: &LowBars, guide: &LowGuide) -> Self {
        let slots = low.lines().slots();
        let starts_s = low.lines().slot_starts_s();
        let mut cells = vec![vec![LowCell::default(); slots]; LowPlace::ALL.len()];
        for (sixteenth, pair) in starts_s.windows(2).enumerate() {
            let span_s = (pair[0], pair[1]);
            let mut take = |place: LowPlace, power: f64| {
                if let Some(row) = cells.get_mut(place as usize) {
                    row[sixteenth % slots].take(power);
                }
            };
            if guide.kick_starts(span_s) {
                let (from_hz, to_hz) = KICK_LOWS_HZ;
                take(LowPlace::KickLows, low.between(sixteenth, from_hz, to_hz));
                if let Some(hertz) = guide.kick_hz {
                    read(low, sixteenth, hertz, &KICK_PLACES, &mut take);
                }
            }
            let bass = guide.note_hz(span_s).filter(|_| !guide.covered(span_s));
            if let Some(hertz) = bass {
                read(low, sixteenth, hertz, &BASS_PLACES, &mut take);
            }
        }
        Self { slots, cells }
    }

    /// The sixteenths of a place.
    pub fn place(&self, place: LowPlace) -> &[LowCell] {
        self.cells.get(place as usize).map_or(&[], Vec::as_slice)
    }

    /// Power of a place where it plays: the mean over all that was read; `None`
    /// where nothing was.
    pub fn power(&self, place: LowPlace) -> Option<f64> {
        let cells = self.place(place);
        let bars: usize = cells.iter().map(|cell| cell.bars).sum();
        let sum: f64 = cells.iter().map(|cell| cell.power * cell.bars as f64).sum();
        (bars > 0).then(|| sum / bars as f64)
    }

    /// The same in dB; `None` for silence too.
    pub fn level_db(&self, place: LowPlace) -> Option<f64> {
        self.power(place).and_then(power_db)
    }

    /// By place: this reading less another that is turned by `other_gain_db`;
    /// `None` where either has nothing.
    pub fn less(&self, other: &Self, other_gain_db: f64) -> Vec<(LowPlace, Option<f64>)> {
        LowPlace::ALL
            .into_iter()
            .map(|place| {
                let levels = self.level_db(place).zip(other.level_db(place));
                (
                    place,
                    levels.map(|(one, other)| one - other - other_gain_db),
                )
            })
            .collect()
    }
}

/// Reads places around a fundamental, each with at least the smear of the loudest.
fn read(
    low: &LowBars,
    sixteenth: usize,
    hertz: f64,
    places: &[LowPlace],
    take: &mut impl FnMut(LowPlace, f64),
) {
    let known = places.iter().filter_map(|&place| {
        let (from_hz, to_hz) = place.edges_hz(hertz);
        let power = || low.between(sixteenth, from_hz, to_hz);
        (to_hz < LowBars::top_hz()).then(|| (place, power()))
    });
    let powers: Vec<(LowPlace, f64)> = known.collect();
    let loudest = powers
        .iter()
        .fold(0.0, |most: f64, &(_, power)| most.max(power));
    for (place, power) in powers {
        take(place, power.max(place.smear() * loudest));
    }
}

impl LowGuide {
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
        let length_s = self.kick_length_s.unwrap_or(KICK_S);
        let from = self
            .kick_times_s
            .partition_point(|&kick_s| kick_s + length_s <= start_s);
        self.kick_times_s
            .get(from)
            .is_some_and(|&kick_s| kick_s < end_s - EARLY_S)
    }
}
