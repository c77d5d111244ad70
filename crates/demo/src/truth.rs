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
    /// Beats a minute; the middle one where the tempo drifts.
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
    /// Without any beat: tempo, bars and swing then say nothing.
    #[serde(default, skip_serializing_if = "is_false")]
    pub beatless: bool,
    /// Every beat, where they are not on a grid.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beats_s: Vec<f64>,
    /// In order, on bar lines.
    pub sections: Vec<SectionTruth>,
    /// All bars in order.
    #[serde(default)]
    pub bars: Vec<BarTruth>,
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

fn is_false(value: &bool) -> bool {
    !*value
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
    /// Mean number of layers in its bars, as counted in [`BarTruth`].
    #[serde(default)]
    pub layers: f64,
}

/// One bar of a mix.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarTruth {
    /// Start.
    pub start_s: f64,
    /// Kinds of parts that sound in it, effects apart.
    pub layers: usize,
    /// Loudness without gates, to steps of 100 ms; `null` for silence. Of a session:
    /// as the tracks sum, mistakes included.
    pub lufs: Option<f64>,
}

/// One part of the reference, as it sounds in the first busiest section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LayerTruth {
    /// Plain word for what it plays.
    pub role: String,
    /// Share of the bars in which a note starts on each sixteenth.
    pub steps: Vec<f64>,
    /// Middle length of its notes; 0 for hits.
    pub note_s: f64,
    /// 10 percent of its energy lie below.
    pub low_hz: f64,
    /// 90 percent of its energy lie below.
    pub high_hz: f64,
    /// Loudness before mastering, comparable between layers.
    pub lufs: f64,
    /// Energy right less left, over both: -1 to 1.
    pub balance: f64,
    /// Energy of the side over side and middle: 0 is mono, 1 has no middle.
    pub width: f64,
}

/// A mix made alone, without its tracks; named as in [`Truth`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)] // as in `Truth`
pub struct PieceTruth {
    pub title: String,
    pub style: String,
    pub seed: u64,
    /// File name.
    pub file: String,
    pub sample_rate_hz: u32,
    pub tempo_bpm: f64,
    pub beats_per_bar: u32,
    pub first_downbeat_s: f64,
    pub swing: f64,
    pub key: String,
    pub tuning_hz: f64,
    #[serde(default, skip_serializing_if = "is_false")]
    pub beatless: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beats_s: Vec<f64>,
    pub sections: Vec<SectionTruth>,
    pub bars: Vec<BarTruth>,
    /// What plays, one word a part.
    pub roles: Vec<String>,
    pub kick_times_s: Vec<f64>,
    pub mix: MixTruth,
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
    /// All bars in order.
    #[serde(default)]
    pub bars: Vec<BarTruth>,
    /// What plays in the first busiest section, in part order.
    #[serde(default)]
    pub layers: Vec<LayerTruth>,
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
