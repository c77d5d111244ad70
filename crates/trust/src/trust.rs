//! The answer: can the tracks be trusted to add up to the mix?

use serde::{Deserialize, Serialize};

/// Whether the files add up to the bounce.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The files rebuild the bounce.
    AddsUp,
    /// They do but for named differences that leave the balance alone.
    AddsUpBut,
    /// They do not; the balance cannot be judged yet.
    DoesNotAddUp,
    /// There is no bounce to compare with.
    Untested,
}

/// Which way up the bounce is, relative to the tracks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Polarity {
    /// The same way up.
    Same,
    /// Upside down.
    Inverted,
}

/// What most likely makes the bounce differ from the sum of the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// The faders are not in the files.
    Faders,
    /// A limiter, clipper or compressor on the mix.
    MixDynamics,
    /// An equaliser, or another unchanging tonal difference, on the mix.
    MixTone,
    /// Tone and dynamics on the mix together.
    MixChain,
    /// A reverb or delay return that is not among the files.
    Return,
    /// One or more tracks that are not among the files.
    MissingTrack,
    /// Processing on single tracks or on a group that is not in the files.
    TrackProcessing,
    /// A track that is in the files but not in the bounce.
    NotInBounce,
    /// What is left is small and of no known kind, such as coding noise.
    Small,
    /// None of these explains it.
    Unknown,
}

/// One named difference between the bounce and the sum.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// Its kind.
    pub cause: Cause,
    /// The difference in plain words.
    pub text: String,
    /// Residual in dB of the bounce that would remain once it is allowed for;
    /// `None` where this cannot be computed.
    pub residual_after_db: Option<f64>,
    /// Ids of the tracks it concerns; empty for the whole mix.
    pub tracks: Vec<String>,
}

/// Residual in one octave band.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BandResidual {
    /// Lower edge.
    pub low_hz: f64,
    /// Upper edge.
    pub high_hz: f64,
    /// Residual power over bounce power in this band, dB; `None` where the
    /// bounce or the residual is silent.
    pub residual_db: Option<f64>,
    /// Share of the whole residual that lies in this band, 0 to 1.
    pub share: f64,
}

/// Residual in one stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TimeResidual {
    /// Where it starts.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
    /// Residual power over the bounce's mean power over the whole, dB.
    pub residual_db: f64,
}

/// Fader of one track as recovered from the bounce.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecoveredGain {
    /// Track.
    pub id: String,
    /// Gain that the bounce applies to the file, the bounce's overall gain
    /// taken off; `None` = the track is not heard in the bounce.
    pub gain_db: Option<f64>,
    /// Whether the figure can be relied on: false for silent tracks, for
    /// tracks that could stand for one another, and where little fits.
    pub confident: bool,
}

/// Why a file is not part of the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LeftOutWhy {
    /// The sum of other files: a group, or the mix itself.
    Sum,
    /// Very likely the sum of other files, lightly processed.
    ProbablySum,
    /// A copy of another file that the bounce does not hold.
    Duplicate,
}

/// A file left out of the sum.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Track.
    pub id: String,
    /// Kind of reason.
    pub why: LeftOutWhy,
    /// The reason in plain words.
    pub text: String,
    /// Ids of the tracks it is made of.
    pub of: Vec<String>,
    /// How exactly they make it, dB of its own power.
    pub residual_db: Option<f64>,
}

/// How a start was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FoundBy {
    /// The file was found in the bounce.
    Bounce,
}

/// Start of a file that was trimmed to its first clip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FoundStart {
    /// Track.
    pub id: String,
    /// Start from the common start of the tracks.
    pub start_s: f64,
    /// The same in frames at the session rate; never negative.
    pub start_frames: u64,
    /// How it was found.
    pub found_by: FoundBy,
}

/// A file that lies a little beside its place in the bounce.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrongStart {
    /// Track.
    pub id: String,
    /// How much later than in the bounce it plays; negative where it is early.
    pub late_s: f64,
    /// Share that it explains, moved so, of what all others leave of the bounce,
    /// 0 to 1.
    pub explained: f64,
}

/// Two files with the same audio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NearIdentical {
    /// First track, in session order.
    pub a: String,
    /// Second track.
    pub b: String,
    /// Level of `b` relative to `a`.
    pub level_db: f64,
    /// Correlation at the best lag; negative where one is upside down.
    pub correlation: f64,
    /// How many samples `b` is later than `a`.
    pub lag_samples: i64,
    /// Whether they are the same but for gain, polarity and lag.
    pub exact: bool,
}

/// A remark on the files.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Stable name of the remark, such as `common_ceiling`.
    pub code: String,
    /// The remark in plain words.
    pub text: String,
    /// Ids of the tracks it concerns.
    pub tracks: Vec<String>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trust {
    /// Whether the files add up.
    pub verdict: Verdict,
    /// The verdict in one or two plain sentences.
    pub sentence: String,
    /// Whether the balance may be judged; false only where a bounce shows that
    /// the files do not add up.
    pub can_judge_balance: bool,
    /// What the files, at the recovered faders, leave of the bounce: residual
    /// power over bounce power over the whole length. `None` without a bounce.
    pub residual_db: Option<f64>,
    /// The same with every file as it is, at unity.
    pub raw_residual_db: Option<f64>,
    /// Residual by octave, lowest first.
    pub residual_by_band: Vec<BandResidual>,
    /// The worst places, worst first.
    pub residual_by_time: Vec<TimeResidual>,
    /// Recovered faders of the tracks in the sum, in session order.
    pub gains: Vec<RecoveredGain>,
    /// Whether all faders are at unity within 0.1 dB, one overall gain apart.
    pub faders_in_files: Option<bool>,
    /// Overall gain from the sum of the files to the bounce.
    pub rough_gain_db: Option<f64>,
    /// How many samples the bounce is later than the tracks.
    pub rough_lag_samples: Option<i64>,
    /// Polarity of the bounce.
    pub rough_polarity: Option<Polarity>,
    /// What makes the bounce differ, the most important first.
    pub differences: Vec<Difference>,
    /// Files that are not part of the sum.
    pub tracks_left_out: Vec<LeftOut>,
    /// Starts found for trimmed files.
    pub starts: Vec<FoundStart>,
    /// Files that lie a little beside their place in the bounce.
    #[serde(default)]
    pub wrong_starts: Vec<WrongStart>,
    /// Files with the same audio.
    pub near_identical: Vec<NearIdentical>,
    /// Further remarks.
    pub notes: Vec<Note>,
    /// How to export so that it adds up; only where it is needed.
    pub how_to_export: Option<String>,
}
