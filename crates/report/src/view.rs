//! What the page is told: plain data, measured and judged elsewhere.
//!
//! Sentences arrive written; this crate never decides what is good or bad. All
//! times are in seconds, all frequencies in hertz, shares between 0 and 1.
//! `None` means silence where a level is meant, else "not measured". Numbers
//! that are not finite are treated as `None`.

mod finding;
mod low_end;
mod path;
mod peaks;
mod unmended;

use serde::{Deserialize, Serialize};

pub use finding::{FindingPicture, FindingView};
pub use low_end::{LowEndView, LowLine, LowNoteBand, PlayedNote};
pub use path::{PathPart, PathView};
pub use peaks::{PeakMark, PeakRow, PeaksView};
pub use unmended::{Cause, Unmended};

/// Everything one page shows, in no particular order; the page has its own.
///
/// An empty list or a `None` leaves its part of the page out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// Name of the session, as the heading.
    pub title: String,
    /// Name and version of the maker, such as `Cupel 0.1.0`.
    pub made_by: String,
    /// The day, as it should be printed; left out where two runs must match.
    pub date: Option<String>,
    /// File name of the reference, without its folder.
    pub reference: Option<String>,
    /// Whether the tracks can be trusted.
    pub trust: TrustView,
    /// The three to five things that matter now, the gravest first.
    pub matters: Vec<Matter>,
    /// What was found on the tracks as they came, the gravest first.
    #[serde(default)]
    pub findings: Vec<FindingView>,
    /// What is right already, one line each.
    pub fine: Vec<String>,
    /// The moves; the page sorts them by `order` and parts those that are off.
    pub moves: Vec<MoveView>,
    /// How the distance falls, move by move.
    pub path: Option<PathView>,
    /// What stays after the best balance, the largest first.
    pub unmended: Vec<Unmended>,
    /// Measures of the whole mix: before, after, reference.
    pub standing: Vec<Standing>,
    /// Where it got worse, said plainly.
    pub worse: Vec<String>,
    /// Tempo, key and the like in words, session beside reference.
    pub music: Vec<MusicFact>,
    /// What plays in the reference and in the session.
    pub layers: Vec<LayerRow>,
    /// The passages that were compared.
    pub passage: Option<PassageView>,
    /// Spectrum of mix and reference with each track's share.
    pub spectrum: Option<SpectrumView>,
    /// Loudness over time.
    pub loudness: Option<LoudnessView>,
    /// The tracks, in the session's order.
    pub tracks: Vec<TrackView>,
    /// Energy by sixteenth of the bar, mix and reference.
    pub bar_map: Option<BarMapView>,
    /// The low end by note and over time.
    pub low_end: Option<LowEndView>,
    /// The highest peaks of the sum and whose they are.
    pub peaks: Option<PeaksView>,
    /// Lean to the left and right; where `None`, the page draws it from `tracks`.
    pub lean: Option<LeanView>,
    /// Bill of health, file by file; files without notes get one common line.
    pub files: Vec<FileNotes>,
    /// Remarks on how the numbers came about.
    pub notes: Vec<String>,
    /// What to do next, one sentence; may hold a command between backticks.
    pub next: String,
}

/// How far the tracks can be trusted to be the mix.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TrustVerdict {
    /// The files rebuild the rough bounce.
    Trusted,
    /// They rebuild it in part; balance can be judged with care.
    WithCare,
    /// They do not; balance cannot be judged yet.
    CannotJudge,
    /// There is no bounce to compare with.
    #[default]
    Untold,
}

/// The answer to "can these tracks be trusted?".
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct TrustView {
    /// The verdict, printed in words.
    pub verdict: TrustVerdict,
    /// The verdict's reason in one sentence.
    pub sentence: String,
    /// What the files leave unexplained of the bounce, dB below it.
    pub residual_db: Option<f64>,
    /// The same by band.
    pub by_band: Vec<BandResidual>,
    /// Where it fits worst.
    pub worst_places: Vec<WorstPlace>,
    /// Gains recovered from the bounce; far from 0 where faders are not in the files.
    pub gains: Vec<TrackGain>,
    /// Files left out of the sum, and why.
    pub left_out: Vec<LeftOut>,
    /// How to export so that it can be judged, one step a line.
    pub how_to_export: Vec<String>,
}

/// Residual in one band.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BandResidual {
    /// Name of the band, such as `below 120 Hz`.
    pub label: String,
    /// Residual relative to the bounce in that band.
    pub residual_db: Option<f64>,
}

/// A stretch of time where the sum does not rebuild the bounce.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct WorstPlace {
    /// Start of the stretch.
    pub start_s: f64,
    /// End of the stretch.
    pub end_s: f64,
    /// Residual relative to the bounce there.
    pub residual_db: f64,
}

/// A gain belonging to a track.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct TrackGain {
    /// Name of the track.
    pub track: String,
    /// Gain relative to the file as exported.
    pub gain_db: f64,
}

/// A file that is not part of the sum.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Name of the file or track.
    pub track: String,
    /// Why it was left out.
    pub why: String,
}

/// One thing that matters now.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Matter {
    /// What is the matter, one sentence.
    pub sentence: String,
    /// The number it rests on, with sign and unit, such as `+3.1 dB`.
    pub number: String,
    /// Name of the track concerned; `None` for the whole mix.
    pub track: Option<String>,
    /// Where in time, such as `2:08-2:38`.
    pub time: Option<String>,
    /// The move that mends it, in words; `None` where no move does.
    pub mend: Option<String>,
}

/// One move, in the words a hand needs.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MoveView {
    /// Place in the order of doing, from 1.
    pub order: usize,
    /// Name of the track, group or mix it is made on.
    pub target: String,
    /// What to do, such as `fader -2.5 dB`.
    pub in_words: String,
    /// Why.
    pub why: String,
    /// What to expect of it.
    pub expected: String,
    /// Whether it is so large that it should be looked at first.
    #[serde(default)]
    pub large: bool,
    /// Stage of the work it belongs to, such as `anchor`.
    pub stage: String,
    /// Whether it is switched on in the session.
    pub on: bool,
    /// Whether the session's owner has locked it.
    pub locked: bool,
    /// Who wrote it: `cupel` or `hand`.
    pub by: String,
}

/// One measure of the whole mix, side by side.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// Name of the measure.
    pub name: String,
    /// Unit of the three numbers, such as `LUFS`, `dB` or `percent`.
    pub unit: String,
    /// Before the moves.
    pub before: Option<f64>,
    /// After the moves, where they were rendered.
    pub after: Option<f64>,
    /// The reference.
    pub reference: Option<f64>,
    /// Whether the moves brought it nearer; `None` where neither.
    pub better: Option<bool>,
}

/// One fact of the music, in words.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MusicFact {
    /// What it is, such as `Tempo`.
    pub name: String,
    /// Of the session.
    pub session: String,
    /// Of the reference, where there is one.
    pub reference: Option<String>,
}

/// A layer of the reference, the session, or both.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LayerRow {
    /// How the two stand, such as `in both` or `only in the reference`.
    pub standing: String,
    /// The layer in the reference, in words.
    pub reference: Option<String>,
    /// The layer in the session, in words.
    pub session: Option<String>,
}

/// The passages compared.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PassageView {
    /// Start and end in the mix.
    pub mix_s: (f64, f64),
    /// Start and end in the reference.
    pub reference_s: Option<(f64, f64)>,
    /// How they were chosen, one sentence.
    pub sentence: String,
}

/// Spectrum of the compared passage, mix and reference at equal loudness.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SpectrumView {
    /// What the drawing shows, in words; written by the page where empty.
    pub title_sentence: String,
    /// Bands in rising order.
    pub bands: Vec<SpectrumBand>,
}

/// One band of the spectrum.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SpectrumBand {
    /// Lower edge, above 0.
    pub low_hz: f64,
    /// Upper edge, above `low_hz`.
    pub high_hz: f64,
    /// Level before the moves.
    pub before_db: Option<f64>,
    /// Level after the moves.
    pub after_db: Option<f64>,
    /// Level of the reference.
    pub reference_db: Option<f64>,
    /// Whose energy it is, in the newest state of the mix.
    pub owners: Vec<Owner>,
}

/// A track's part of the energy in a band.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Owner {
    /// Name of the track.
    pub track: String,
    /// Its share of the energy, 0 to 1.
    pub share: f64,
}

/// Energy by sixteenth of the bar, averaged over the bars of the passages; the
/// reference turned so that both are equally loud.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BarMapView {
    /// What the drawing shows, in words; written by the page where empty.
    pub sentence: String,
    /// Beats in a bar of the mix, each with four sixteenths.
    pub beats: u32,
    /// Beats in a bar of the reference, where there is one.
    pub reference_beats: Option<u32>,
    /// Rows in rising order, at most 64 are drawn.
    pub rows: Vec<BarMapRow>,
}

/// One row of a bar map; lists have an entry a sixteenth or are empty.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BarMapRow {
    /// Name of the row, such as `1.3 kHz` or `bass note`.
    pub label: String,
    /// Whether it moves with the notes of its side; such rows stand apart.
    pub by_note: bool,
    /// Level of the mix; `None` for silence or where it is not read.
    pub mix_db: Vec<Option<f64>>,
    /// Level of the reference.
    pub reference_db: Vec<Option<f64>>,
    /// Mix less reference; `None` where both are silent, empty where the bars
    /// have different numbers of beats.
    pub difference_db: Vec<Option<f64>>,
    /// Where the difference comes from a layer that one side has not; empty: none.
    pub arrangement: Vec<bool>,
    /// Mix less reference over the whole bar.
    pub whole_db: Option<f64>,
    /// The track with the largest share of the mix; empty where not known.
    pub owners: Vec<Option<Owner>>,
}

/// Loudness over time. The lists start at time 0 and step by `hop_s`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LoudnessView {
    /// What the drawing shows, in words; written by the page where empty.
    pub sentence: String,
    /// Step of the lists, above 0.
    pub hop_s: f64,
    /// The mix before the moves, LUFS.
    pub before: Vec<Option<f64>>,
    /// The mix after the moves, LUFS.
    pub after: Option<Vec<Option<f64>>>,
    /// The reference, LUFS, on its own clock and at its own level.
    pub reference: Option<Vec<Option<f64>>>,
    /// Gain on the reference that makes the passages equally loud, for the drawing.
    pub reference_gain_db: f64,
    /// The compared passage of the mix, start and end.
    pub passage_s: Option<(f64, f64)>,
    /// The compared passage of the reference, start and end.
    pub reference_passage_s: Option<(f64, f64)>,
    /// Sections of the mix, where they are known.
    pub sections: Vec<SectionMark>,
    /// Sections of the reference, where they are known.
    #[serde(default)]
    pub reference_sections: Vec<SectionMark>,
}

/// Where a section of the mix begins.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SectionMark {
    /// Name of the section.
    pub label: String,
    /// Its start.
    pub start_s: f64,
}

/// One track as exported.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct TrackView {
    /// Name of the track.
    pub name: String,
    /// Its role, such as `kick`.
    pub role: Option<String>,
    /// Its group, such as `drums`.
    pub group: Option<String>,
    /// Integrated loudness.
    pub integrated_lufs: Option<f64>,
    /// Highest sample.
    pub sample_peak_dbfs: Option<f64>,
    /// Highest point of the waveform between the samples.
    pub true_peak_dbtp: Option<f64>,
    /// 10 log10(right/left power); positive leans to the right.
    pub lean_db: Option<f64>,
    /// Side against mid power.
    pub width_db: Option<f64>,
    /// Loudness change when both sides are folded to one.
    pub mono_loss_lu: Option<f64>,
    /// Share of its energy below 120 Hz, 0 to 1.
    pub below_120_share: Option<f64>,
    /// Its share of the 50 highest peaks of the sum, 0 to 1.
    pub peak_share: Option<f64>,
    /// Sum of trim, fader and group gains that are on.
    pub net_gain_db: Option<f64>,
    /// Remarks.
    pub notes: Vec<String>,
}

/// Lean of elements to the left (negative) and right (positive).
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LeanView {
    /// What the drawing shows, in words; written by the page where empty.
    pub sentence: String,
    /// The elements, in the session's order.
    pub rows: Vec<LeanRow>,
    /// The whole mix.
    pub mix: Option<LeanRow>,
    /// The reference.
    pub reference_db: Option<f64>,
}

/// Lean of one element.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LeanRow {
    /// Name of the element.
    pub name: String,
    /// Before the moves; `None` where it is silent.
    pub before_db: Option<f64>,
    /// After the moves; `None` where nothing moved it.
    pub after_db: Option<f64>,
}

/// Bill of health of one file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct FileNotes {
    /// File name without its folder.
    pub file: String,
    /// What it is, such as `48 kHz, 24 bit, stereo, 4:00`.
    pub facts: String,
    /// What was found, the gravest first.
    pub notes: Vec<FileNote>,
}

/// One finding about a file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct FileNote {
    /// How grave it is.
    pub weight: NoteWeight,
    /// What was found and where.
    pub text: String,
    /// How to mend it.
    pub mend: Option<String>,
}

/// How grave a finding is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoteWeight {
    /// Worth knowing; may be meant.
    #[default]
    Remark,
    /// Should be looked at.
    Warning,
    /// The file cannot be used as it is.
    Fault,
}
