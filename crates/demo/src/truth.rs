//! What is known about a made session: the contents of `truth.json`.

use serde::{Deserialize, Serialize};

/// Everything the generator knows. Times in seconds from the common start of all
/// tracks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Invented title.
    pub title: String,
    /// Style by its plain word.
    pub style: String,
    /// Seed of the settings.
    pub seed: u64,
    /// Rate of the tracks.
    pub sample_rate_hz: u32,
    /// Beats a minute, constant.
    pub tempo_bpm: f64,
    /// 4 or 3.
    pub beats_per_bar: u32,
    /// Start of the first bar.
    pub first_downbeat_s: f64,
    /// 0.5 is straight.
    pub swing: f64,
    /// As `D minor`.
    pub key: String,
    /// Pitch of A4.
    pub tuning_hz: f64,
    /// In order, on bar lines.
    pub sections: Vec<SectionTruth>,
    /// Every kick.
    pub kick_times_s: Vec<f64>,
    /// What kind of balance the tracks hold, in words.
    pub balance: String,
    /// The true mix: the sum with all mistakes undone.
    pub mix: MixTruth,
    /// The sum of the tracks as they are, written beside them.
    pub bounce: BounceTruth,
    /// In file order.
    pub tracks: Vec<TrackTruth>,
    /// The reference record.
    pub reference: ReferenceTruth,
    /// Mistakes in the exported tracks; none if they sum to the true mix.
    pub faults: Vec<FaultTruth>,
}

/// One section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SectionTruth {
    /// intro, build, drop, break or outro.
    pub name: String,
    /// Start.
    pub start_s: f64,
    /// End.
    pub end_s: f64,
    /// Whether most layers play here.
    pub busiest: bool,
}

/// Level and length of a mix.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MixTruth {
    /// Integrated loudness.
    pub lufs_i: Option<f64>,
    /// Highest sample.
    pub sample_peak_dbfs: f64,
    /// Length.
    pub seconds: f64,
}

/// The rough mix.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BounceTruth {
    /// File name.
    pub file: String,
    /// Level and length.
    pub mix: MixTruth,
}

/// One exported track.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrackTruth {
    /// Path from the session's folder, with `/`.
    pub file: String,
    /// Plain word for what it plays.
    pub role: String,
    /// The drawn part of the intended balance.
    pub level_offset_db: f64,
    /// 1 or 2.
    pub channels: usize,
    /// Of the file as it is, on both sides; `null` if silent.
    pub integrated_lufs: Option<f64>,
    /// -1 to 1.
    pub pan: f64,
    /// Decay time of the printed room; `null` if dry.
    pub reverb_rt60_s: Option<f64>,
    /// Depth of the printed duck; `null` if there is none.
    pub sidechain_duck_db: Option<f64>,
    /// Gain by which the file is off the true mix, the session's own included:
    /// its negative undoes it.
    pub mistake_db: f64,
}

/// The reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReferenceTruth {
    /// File name.
    pub file: String,
    /// Invented title.
    pub title: String,
    /// Its rate.
    pub sample_rate_hz: u32,
    /// Level and length.
    pub mix: MixTruth,
    /// Beats a minute.
    pub tempo_bpm: f64,
    /// 4 or 3.
    pub beats_per_bar: u32,
    /// Start of the first bar.
    pub first_downbeat_s: f64,
    /// 0.5 is straight.
    pub swing: f64,
    /// As `E minor`.
    pub key: String,
    /// Pitch of A4.
    pub tuning_hz: f64,
    /// In order.
    pub sections: Vec<SectionTruth>,
}

/// One mistake.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaultTruth {
    /// `session level`, `level`, `pair leans`, `dc` or `tail cut`.
    pub fault: String,
    /// File; `null` where all are meant.
    pub track: Option<String>,
    /// In words.
    pub what: String,
    /// Gain of this mistake alone; 0 where it is not one of level.
    pub mistake_db: f64,
    /// Constant added to every sample, 1.0 = full scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset_linear: Option<f64>,
    /// Where the file ends, while it still sounds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_s: Option<f64>,
}
