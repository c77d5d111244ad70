//! Everything measured in one pass over the samples of a track.

use crate::bandwidth::bandwidth_hz;
use crate::critical_bands::BandFrames;
use crate::error::{MeasureError, check_rate};
use crate::gating::integrated_loudness;
use crate::intake::take_in;
use crate::k_weighting::{KPair, KWeighting};
use crate::level::{RATIO_LIMIT_DB, level_db, ratio_db};
use crate::levels::Levels;
use crate::long_term::LongTerm;
use crate::loudness_curve::LoudnessCurve;
use crate::loudness_meter::{Loudness, loudness_of};
use crate::pair_power::{DOUBLE_ROUNDING, PairPower};
use crate::power_track::{PowerTrack, SubBlockClock};
use crate::spectrum::{Sizes, Spectrum};
use crate::summary::{LowShare, Summary};
use crate::third_octaves::{broad_bands, third_octaves};
use crate::true_peak::TruePeak;
use serde::{Deserialize, Serialize};

/// What a [`Meter`] needs to know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MeterSettings {
    /// Sample rate, 4 kHz to 768 kHz.
    pub sample_rate_hz: u32,
    /// 1 or 2.
    pub channels: usize,
}

/// Everything measured of one file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Features {
    /// Single figures.
    pub summary: Summary,
    /// Loudness over time.
    pub curve: LoudnessCurve,
    /// Critical-band energy over time.
    pub bands: BandFrames,
}

/// Measures one track in one pass.
///
/// ```
/// use cupel_measure::{Meter, MeterSettings};
/// let settings = MeterSettings { sample_rate_hz: 48_000, channels: 2 };
/// let mut meter = Meter::new(settings)?;
/// let sine: Vec<f64> = (0..96_000)
///     .map(|n| 0.1 * (std::f64::consts::TAU * 997.0 * n as f64 / 48_000.0).sin())
///     .collect();
/// meter.push(&[&sine, &sine]);
/// let summary = meter.finish().summary;
/// // -20 dBFS on both sides: -20.0 LUFS.
/// assert!((summary.integrated_lufs.unwrap() + 20.0).abs() < 0.01);
/// # Ok::<(), cupel_measure::MeasureError>(())
/// ```
pub struct Meter {
    settings: MeterSettings,
    block: Vec<Vec<f64>>,
    single: Vec<Vec<f32>>,
    /// Peaks of the block, and of all blocks before.
    block_peaks: Vec<f64>,
    sample_peak: f64,
    filled: usize,
    frames: u64,
    unusable_samples: u64,
    levels: Levels,
    k_pair: KPair,
    clock: SubBlockClock,
    stereo: PowerTrack,
    /// Energies of (left + right) / 2 on both sides.
    mono: PowerTrack,
    true_peaks: Vec<TruePeak>,
    spectrum: Spectrum,
}

impl Meter {
    /// A meter at zero.
    ///
    /// # Errors
    /// [`MeasureError::SampleRate`] and [`MeasureError::Channels`].
    pub fn new(settings: MeterSettings) -> Result<Self, MeasureError> {
        let MeterSettings {
            sample_rate_hz,
            channels,
        } = settings;
        check_rate(sample_rate_hz)?;
        if !(1..=2).contains(&channels) {
            return Err(MeasureError::Channels { given: channels });
        }
        let hop = Sizes::new(sample_rate_hz).hop;
        Ok(Self {
            settings,
            block: vec![vec![0.0; hop]; channels],
            single: vec![vec![0.0; hop]; channels],
            block_peaks: vec![0.0; channels],
            sample_peak: 0.0,
            filled: 0,
            frames: 0,
            unusable_samples: 0,
            levels: Levels::default(),
            k_pair: KPair::new(&KWeighting::new(f64::from(sample_rate_hz))),
            clock: SubBlockClock::new(sample_rate_hz),
            stereo: PowerTrack::new(sample_rate_hz),
            mono: PowerTrack::new(sample_rate_hz),
            true_peaks: vec![TruePeak::new(); channels],
            spectrum: Spectrum::new(sample_rate_hz, channels),
        })
    }

    /// The same meter, which keeps no critical bands over time: its features
    /// hold none, and its memory hardly grows with the stream.
    pub fn without_bands(mut self) -> Self {
        self.spectrum.discard_bands();
        self
    }

    /// Hands over the critical bands gathered since the last call, so that a
    /// long stream need not hold them all. Put together in order with
    /// [`BandFrames::append`], the last part from [`Meter::finish`], they are
    /// what one call at the end would have given.
    pub fn take_bands(&mut self) -> BandFrames {
        self.spectrum.take_bands()
    }

    /// Takes the next frames: one slice a channel, 1.0 = full scale, any
    /// length; how the stream is cut changes nothing. Channels beyond the
    /// settings are ignored, as is what one channel has over another.
    pub fn push(&mut self, channels: &[&[f64]]) {
        if channels.len() < self.settings.channels {
            return;
        }
        let frames = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let hop = self.block[0].len();
        let mut start = 0;
        while start < frames {
            let count = (hop - self.filled).min(frames - start);
            self.take_in(channels, start..start + count);
            start += count;
            if self.filled == hop {
                self.take_block();
            }
        }
    }

    fn take_in(&mut self, channels: &[&[f64]], range: std::ops::Range<usize>) {
        let place = self.filled..self.filled + range.len();
        for (side, channel) in channels.iter().enumerate().take(self.settings.channels) {
            let peak = take_in(
                &channel[range.clone()],
                &mut self.block[side][place.clone()],
                &mut self.single[side][place.clone()],
                &mut self.unusable_samples,
            );
            self.block_peaks[side] = self.block_peaks[side].max(peak);
        }
        self.filled = place.end;
    }

    /// Measures the first `filled` frames of the block.
    fn take_block(&mut self) {
        let count = std::mem::take(&mut self.filled);
        self.frames += count as u64;
        for single in &mut self.single {
            single[count..].fill(0.0);
        }
        self.take_loudness(count);
        self.take_peaks(count);
        let singles: Vec<&[f32]> = self.single.iter().map(|side| &side[..]).collect();
        self.spectrum.push(&singles);
    }

    fn take_peaks(&mut self, count: usize) {
        let left = &self.block[0][..count];
        let right = &self.block[self.settings.channels - 1][..count];
        self.levels.push(left, right);
        let sides = self.true_peaks.iter_mut().zip(&self.single);
        for ((true_peak, single), peak) in sides.zip(&mut self.block_peaks) {
            true_peak.push_single(&single[..count], *peak);
            self.sample_peak = self.sample_peak.max(std::mem::take(peak));
        }
    }

    fn take_loudness(&mut self, count: usize) {
        let left = &self.block[0][..count];
        let right = &self.block[self.settings.channels - 1][..count];
        let mut start = 0;
        while start < count {
            let end = start + self.clock.frames_left().min(count - start);
            self.k_pair.push(&left[start..end], &right[start..end]);
            if self.clock.advance(end - start) {
                let energy = self.k_pair.take();
                let sides = energy.left + energy.right;
                self.stereo.push(sides);
                self.mono.push((0.5 * sides + energy.cross).max(0.0));
            }
            start = end;
        }
    }

    /// Ends the measure.
    pub fn finish(mut self) -> Features {
        if self.filled > 0 {
            self.take_block();
        }
        let true_peaks = std::mem::take(&mut self.true_peaks);
        let true_peak = true_peaks
            .into_iter()
            .map(TruePeak::finish)
            .fold(0.0, f64::max);
        let loudness = loudness_of(&self.stereo);
        let mono_loss_lu = self.mono_loss_lu(&loudness);
        let powers = self.levels.powers(self.frames);
        let summary = Figures {
            settings: self.settings,
            frames: self.frames,
            unusable_samples: self.unusable_samples,
            sample_peak: self.sample_peak,
            true_peak,
            powers,
            mono_loss_lu,
        };
        let spectra = self.spectrum.finish(self.frames, self.settings.channels);
        Features {
            summary: summary.into_summary(&loudness, &spectra.long_term),
            curve: loudness.curve,
            bands: spectra.bands,
        }
    }

    fn mono_loss_lu(&self, loudness: &Loudness) -> Option<f64> {
        let stereo_lufs = loudness.integrated_lufs?;
        if self.settings.channels == 1 {
            return Some(0.0);
        }
        let sum = |track: &PowerTrack| track.powers().iter().sum::<f64>();
        let loss_lu = match integrated_loudness(self.mono.powers()) {
            Some(mono_lufs) => mono_lufs - stereo_lufs,
            None => ratio_db(sum(&self.mono), sum(&self.stereo))?,
        };
        Some(loss_lu.clamp(-RATIO_LIMIT_DB, 0.0))
    }
}

/// What the pass gathered for the summary.
struct Figures {
    settings: MeterSettings,
    frames: u64,
    unusable_samples: u64,
    sample_peak: f64,
    true_peak: f64,
    powers: PairPower,
    mono_loss_lu: Option<f64>,
}

impl Figures {
    fn into_summary(self, loudness: &Loudness, spectrum: &LongTerm) -> Summary {
        let rate = self.settings.sample_rate_hz;
        let sample_peak_dbfs = level_db(self.sample_peak * self.sample_peak);
        let true_peak_dbtp = level_db(self.true_peak * self.true_peak);
        let rms_dbfs = self.powers.level_db();
        let difference = |a: Option<f64>, b: Option<f64>| Some(a? - b?);
        let total = self.powers.mean();
        Summary {
            sample_rate_hz: rate,
            channels: self.settings.channels,
            frames: self.frames,
            seconds: self.frames as f64 / f64::from(rate),
            unusable_samples: self.unusable_samples,
            integrated_lufs: loudness.integrated_lufs,
            loudness_range_lu: loudness.range_lu,
            max_momentary_lufs: loudness.max_momentary_lufs,
            max_short_term_lufs: loudness.max_short_term_lufs,
            sample_peak_dbfs,
            true_peak_dbtp,
            rms_dbfs,
            crest_db: difference(sample_peak_dbfs, rms_dbfs),
            peak_to_loudness_lu: difference(true_peak_dbtp, loudness.integrated_lufs),
            third_octaves: third_octaves(spectrum, total),
            broad_bands: broad_bands(spectrum, total),
            low_share: low_share(spectrum, total),
            lean_db: self.powers.lean_db(),
            width_db: self.powers.width_db(DOUBLE_ROUNDING),
            correlation: self.powers.correlation(),
            mono_loss_lu: self.mono_loss_lu,
            bandwidth_hz: bandwidth_hz(&spectrum.high, spectrum.nyquist_hz),
        }
    }
}

fn low_share(spectrum: &LongTerm, total: f64) -> LowShare {
    let below = |limit_hz: f64| spectrum.between(0.0, limit_hz).mean();
    let share_db = |power: f64| {
        level_db(total)?;
        ratio_db(power, total).map(|db| db.min(0.0))
    };
    let [low_60, low_120, low_150] = [60.0, 120.0, 150.0].map(below);
    LowShare {
        below_60_db: share_db(low_60),
        below_120_db: share_db(low_120),
        below_150_db: share_db(low_150),
        below_60_dbfs: level_db(low_60),
        below_120_dbfs: level_db(low_120),
        below_150_dbfs: level_db(low_150),
    }
}
