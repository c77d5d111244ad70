//! The figures of one file.

use crate::third_octaves::BandLevel;
use serde::{Deserialize, Serialize};

/// Energy under three limits, as level and as share of the whole.
///
/// The shares are 10 log10(power under the limit / whole power), so 0 dB means
/// everything; `None` for silence.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LowShare {
    /// Share under 60 Hz, dB.
    pub below_60_db: Option<f64>,
    /// Share under 120 Hz, dB.
    pub below_120_db: Option<f64>,
    /// Share under 150 Hz, dB.
    pub below_150_db: Option<f64>,
    /// Mean square under 60 Hz, dBFS.
    pub below_60_dbfs: Option<f64>,
    /// Mean square under 120 Hz, dBFS.
    pub below_120_dbfs: Option<f64>,
    /// Mean square under 150 Hz, dBFS.
    pub below_150_dbfs: Option<f64>,
}

/// The figures of one file. `None` means silence or undefined; no figure is
/// infinite or not a number.
///
/// Mono files are measured as they play, on both sides: 3.01 LU louder than one
/// channel alone, lean 0, no width, correlation 1, mono loss 0. Levels in dBFS
/// are 10 log10 of the mean square (a full-scale square wave is 0 dB, a sine
/// -3.01), mean of both sides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Sample rate.
    pub sample_rate_hz: u32,
    /// 1 or 2.
    pub channels: usize,
    /// Frames measured.
    pub frames: u64,
    /// Length.
    pub seconds: f64,
    /// Samples that were not finite, or beyond +-1e6; measured as 0 and as that
    /// limit.
    pub unusable_samples: u64,
    /// Gated loudness (ITU-R BS.1770).
    pub integrated_lufs: Option<f64>,
    /// Loudness range (EBU Tech 3342); `None` under 3 s.
    pub loudness_range_lu: Option<f64>,
    /// Largest loudness of any 400 ms.
    pub max_momentary_lufs: Option<f64>,
    /// Largest loudness of any 3 s.
    pub max_short_term_lufs: Option<f64>,
    /// Largest sample of either side.
    pub sample_peak_dbfs: Option<f64>,
    /// Largest value of the waveform, see [`TruePeak`](crate::TruePeak).
    pub true_peak_dbtp: Option<f64>,
    /// Level of the whole.
    pub rms_dbfs: Option<f64>,
    /// Sample peak less RMS.
    pub crest_db: Option<f64>,
    /// True peak less integrated loudness.
    pub peak_to_loudness_lu: Option<f64>,
    /// Long-term one-third octaves, 20 Hz to 20 kHz as far as the rate allows.
    pub third_octaves: Vec<BandLevel>,
    /// Under 120 Hz, 120-500, 500-2000, 2000-8000 Hz and above.
    pub broad_bands: Vec<BandLevel>,
    /// Energy under 60, 120 and 150 Hz.
    pub low_share: LowShare,
    /// 10 log10(right/left power), held within +-100 (one side silent).
    pub lean_db: Option<f64>,
    /// Side over mid power; `None` where there is no side, +100 where there is
    /// no mid.
    pub width_db: Option<f64>,
    /// Correlation without removal of the mean; `None` where a side is silent.
    pub correlation: Option<f64>,
    /// Loudness of (left + right) / 2 on both sides less that of the stereo, at
    /// most 0; where the sum falls silent, without gates and not under -100.
    pub mono_loss_lu: Option<f64>,
    /// Brick-wall upper limit, as lossy coders leave; `None` where there is
    /// none under 20.5 kHz.
    pub bandwidth_hz: Option<f64>,
}
