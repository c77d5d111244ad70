//! Loudness of any number of channels with their weights.

use crate::error::{MeasureError, check_rate};
use crate::gating::{integrated_loudness, loudness_range};
use crate::k_weighting::{KPair, KWeighting};
use crate::loudness_curve::LoudnessCurve;
use crate::power_track::{PowerTrack, SubBlockClock};

/// What a [`LoudnessMeter`] found.
#[derive(Clone, Debug)]
pub struct Loudness {
    /// Gated loudness of the whole, LUFS.
    pub integrated_lufs: Option<f64>,
    /// Loudness range, LU.
    pub range_lu: Option<f64>,
    /// Largest loudness of any 400 ms, LUFS.
    pub max_momentary_lufs: Option<f64>,
    /// Largest loudness of any 3 s, LUFS.
    pub max_short_term_lufs: Option<f64>,
    /// Loudness over time.
    pub curve: LoudnessCurve,
}

/// Measures the loudness of planar channels, each with its weight.
///
/// ```
/// use cupel_measure::LoudnessMeter;
/// // 5.0: left, right, centre, left surround, right surround.
/// let mut meter = LoudnessMeter::with_weights(48_000, &[1.0, 1.0, 1.0, 1.41, 1.41])?;
/// let silence = vec![0.0; 48_000];
/// meter.push(&[&silence[..]; 5]);
/// assert_eq!(meter.finish().integrated_lufs, None);
/// # Ok::<(), cupel_measure::MeasureError>(())
/// ```
#[derive(Clone, Debug)]
pub struct LoudnessMeter {
    weights: Vec<f64>,
    pairs: Vec<KPair>,
    clock: SubBlockClock,
    track: PowerTrack,
}

impl LoudnessMeter {
    /// A meter with one weight a channel (BS.1770-5 Annex 1 Table 3: 1.0 for
    /// left, right and centre, 1.41 for the surrounds, 0 for the low-frequency
    /// effects).
    ///
    /// # Errors
    /// [`MeasureError::SampleRate`] and, for no weights at all,
    /// [`MeasureError::Channels`].
    pub fn with_weights(sample_rate_hz: u32, weights: &[f64]) -> Result<Self, MeasureError> {
        check_rate(sample_rate_hz)?;
        if weights.is_empty() {
            return Err(MeasureError::Channels { given: 0 });
        }
        let weighting = KWeighting::new(f64::from(sample_rate_hz));
        Ok(Self {
            weights: weights.to_vec(),
            pairs: vec![KPair::new(&weighting); weights.len().div_ceil(2)],
            clock: SubBlockClock::new(sample_rate_hz),
            track: PowerTrack::new(sample_rate_hz),
        })
    }

    /// Takes the next frames: one slice a channel, all of one length. Channels
    /// beyond the weights are ignored.
    pub fn push(&mut self, channels: &[&[f64]]) {
        let frames = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut start = 0;
        while start < frames {
            let count = self.clock.frames_left().min(frames - start);
            self.filter(channels, start..start + count);
            if self.clock.advance(count) {
                let energy = self.take_energy();
                self.track.push(energy);
            }
            start += count;
        }
    }

    fn filter(&mut self, channels: &[&[f64]], range: std::ops::Range<usize>) {
        for (pair, sides) in self.pairs.iter_mut().zip(channels.chunks(2)) {
            let first = &sides[0][range.clone()];
            let second = sides.get(1).map_or(first, |side| &side[range.clone()]);
            pair.push(first, second);
        }
    }

    fn take_energy(&mut self) -> f64 {
        let mut energy = 0.0;
        for (pair, weights) in self.pairs.iter_mut().zip(self.weights.chunks(2)) {
            let sums = pair.take();
            energy += weights[0] * sums.left;
            energy += weights.get(1).map_or(0.0, |weight| weight * sums.right);
        }
        energy
    }

    /// Ends the measure. A last 10 ms that is not whole is left out.
    pub fn finish(self) -> Loudness {
        loudness_of(&self.track)
    }
}

pub(crate) fn loudness_of(track: &PowerTrack) -> Loudness {
    Loudness {
        integrated_lufs: integrated_loudness(track.powers()),
        range_lu: loudness_range(track.powers()),
        max_momentary_lufs: track.max_momentary_lufs(),
        max_short_term_lufs: track.max_short_term_lufs(),
        curve: LoudnessCurve::from_powers(track.powers()),
    }
}
