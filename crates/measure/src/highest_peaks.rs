//! The highest sample peaks of a sum, and what each of its parts adds to them.
//!
//! A peak is the highest sample of a stretch: one that is followed by a higher
//! sample within [`APART_S`] gives way to it; after a peak has stood that long
//! the search begins anew. So peaks are never nearer than that to each other,
//! one loud hit counts once, and the result is the same however the stream is
//! cut. The distance of 50 ms and the number of 50 are choices of ours: a hit of
//! a drum is over in less, and 50 are as many as bars of a drop have beats.

use cupel_units::amplitude_to_db;
use serde::{Deserialize, Serialize};

/// Least distance between two peaks, in seconds.
pub const APART_S: f64 = 0.05;
/// How many peaks are kept.
pub const KEPT_PEAKS: usize = 50;

/// One of the highest peaks of a sum.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HighestPeak {
    /// Frame at which it is, from the start of the stream.
    pub frame: u64,
    /// Level of the sum there, dBFS of the sample; finite.
    pub level_dbfs: f64,
    /// By part: its sample over the sum's, signed. Below 0 the part takes away
    /// from the peak. They add up to 1 where the parts add up to the sum.
    pub shares: Vec<f64>,
}

/// A part of a sum: its two channels, and the factor with which it is in the sum.
#[derive(Clone, Copy, Debug)]
pub struct SummedPart<'a> {
    /// Left channel.
    pub left: &'a [f64],
    /// Right channel.
    pub right: &'a [f64],
    /// Its factor in the sum.
    pub gain_linear: f64,
}

/// Finds the highest peaks of a stereo sum in one pass.
///
/// ```
/// use cupel_measure::{HighestPeaks, SummedPart};
///
/// let (one, other) = ([0.0, 0.75, 0.0], [0.0, -0.25, 0.0]);
/// let sum = [0.0, 0.5, 0.0];
/// let part = |samples| SummedPart { left: samples, right: samples, gain_linear: 1.0 };
/// let mut finder = HighestPeaks::new(48_000);
/// finder.push((&sum, &sum), &[part(&one), part(&other)]);
/// let peaks = finder.finish();
/// assert_eq!((peaks.len(), peaks[0].frame), (1, 1));
/// assert_eq!(peaks[0].shares, [1.5, -0.5]);
/// ```
#[derive(Clone, Debug)]
pub struct HighestPeaks {
    apart_frames: u64,
    frame: u64,
    standing: Option<Standing>,
    /// The highest so far, the highest first; of equals the earliest.
    kept: Vec<(f64, HighestPeak)>,
}

/// The peak that has not yet stood long enough.
#[derive(Clone, Debug)]
struct Standing {
    frame: u64,
    sample: f64,
    is_right: bool,
    /// Read when the block in which it lies is over.
    shares: Option<Vec<f64>>,
}

impl HighestPeaks {
    /// For a sum at a sample rate above 0.
    pub fn new(sample_rate_hz: u32) -> Self {
        Self {
            apart_frames: (APART_S * f64::from(sample_rate_hz)).ceil().max(1.0) as u64,
            frame: 0,
            standing: None,
            kept: Vec::new(),
        }
    }

    /// Takes the next frames of the sum, left and right, and of its parts; all
    /// slices of one length. Samples that are no numbers are no peaks.
    pub fn push(&mut self, sum: (&[f64], &[f64]), parts: &[SummedPart<'_>]) {
        let begins = self.frame;
        for (&left, &right) in sum.0.iter().zip(sum.1) {
            let stood = |peak: &Standing| self.frame - peak.frame >= self.apart_frames;
            if self.standing.as_ref().is_some_and(stood) {
                self.settle(begins, parts);
            }
            let is_right = right.abs() > left.abs();
            let sample = if is_right { right } else { left };
            let lowest = self.standing.as_ref().map_or(0.0, |peak| peak.sample.abs());
            if sample.abs() > lowest && sample.is_finite() {
                self.standing = Some(Standing {
                    frame: self.frame,
                    sample,
                    is_right,
                    shares: None,
                });
            }
            self.frame += 1;
        }
        if let Some(peak) = &mut self.standing {
            peak.read(begins, parts);
        }
    }

    /// The peaks, by time; at most [`KEPT_PEAKS`], none of silence.
    pub fn finish(mut self) -> Vec<HighestPeak> {
        self.settle(self.frame, &[]);
        let mut peaks: Vec<HighestPeak> = self.kept.into_iter().map(|(_, peak)| peak).collect();
        peaks.sort_by_key(|peak| peak.frame);
        peaks
    }

    /// Keeps the standing peak where it is among the highest.
    fn settle(&mut self, begins: u64, parts: &[SummedPart<'_>]) {
        let Some(mut peak) = self.standing.take() else {
            return;
        };
        let height = peak.sample.abs();
        let place = self.kept.partition_point(|(other, _)| *other >= height);
        if place >= KEPT_PEAKS {
            return;
        }
        peak.read(begins, parts);
        let peak = HighestPeak {
            frame: peak.frame,
            level_dbfs: amplitude_to_db(height),
            shares: peak.shares.unwrap_or_default(),
        };
        self.kept.truncate(KEPT_PEAKS - 1);
        self.kept.insert(place, (height, peak));
    }
}

impl Standing {
    /// Reads the shares, where the peak lies in the block that begins there.
    fn read(&mut self, begins: u64, parts: &[SummedPart<'_>]) {
        let Some(at) = self.frame.checked_sub(begins) else {
            return;
        };
        if self.shares.is_some() {
            return;
        }
        let share = |part: &SummedPart<'_>| {
            let side = if self.is_right { part.right } else { part.left };
            let sample = side.get(at as usize).copied().unwrap_or(0.0);
            part.gain_linear * sample / self.sample
        };
        self.shares = Some(parts.iter().map(share).collect());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: u32 = 1000; // 50 ms are 50 frames

    fn part(samples: &[f64]) -> SummedPart<'_> {
        SummedPart {
            left: samples,
            right: samples,
            gain_linear: 1.0,
        }
    }

    fn peaks_of(sum: &[f64]) -> Vec<HighestPeak> {
        let mut finder = HighestPeaks::new(RATE_HZ);
        finder.push((sum, sum), &[part(sum)]);
        finder.finish()
    }

    fn with_hits(length: usize, hits: &[(usize, f64)]) -> Vec<f64> {
        let mut samples = vec![0.0; length];
        hits.iter().for_each(|&(at, height)| samples[at] = height);
        samples
    }

    #[test]
    fn one_hit_counts_once_and_its_highest_sample_stands() {
        let sum = with_hits(300, &[(10, 0.5), (40, -0.9), (80, 0.4), (95, 0.6)]);
        let frames: Vec<u64> = peaks_of(&sum).iter().map(|peak| peak.frame).collect();
        // 40 beats 10; 80 lies within its 50 ms; 95 does not.
        assert_eq!(frames, [40, 95]);
        assert!((peaks_of(&sum)[0].level_dbfs - 20.0 * 0.9f64.log10()).abs() < 1e-12);
    }

    #[test]
    fn the_highest_fifty_stay_by_time() {
        let hits: Vec<(usize, f64)> = (0..80)
            .map(|hit| (10 + 60 * hit, 0.1 + 0.01 * ((hit * 37) % 80) as f64))
            .collect();
        let peaks = peaks_of(&with_hits(5000, &hits));
        assert_eq!(peaks.len(), KEPT_PEAKS);
        assert!(peaks.is_sorted_by_key(|peak| peak.frame));
        let lowest = peaks.iter().map(|peak| peak.level_dbfs).fold(0.0, f64::min);
        // The 50 highest of 0.10, 0.11 … 0.89 begin at 0.40.
        assert!((lowest - 20.0 * 0.4f64.log10()).abs() < 1e-9, "{lowest}");
    }

    #[test]
    fn shares_are_signed_and_add_up() {
        let (left, right) = ([0.0, 0.3, 0.0], [0.0, -0.6, 0.0]);
        let one = SummedPart {
            left: &[0.0, 0.1, 0.0],
            right: &[0.0, -0.4, 0.0],
            gain_linear: 2.0,
        };
        let other = SummedPart {
            left: &[0.0, 0.1, 0.0],
            right: &[0.0, 0.2, 0.0],
            gain_linear: 1.0,
        };
        let mut finder = HighestPeaks::new(RATE_HZ);
        finder.push((&left, &right), &[one, other]);
        let shares = finder.finish().remove(0).shares;
        assert!((shares[0] - 4.0 / 3.0).abs() < 1e-12 && (shares[1] + 1.0 / 3.0).abs() < 1e-12);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_size_of_blocks_changes_nothing() {
        // Park and Miller's generator, "minimal standard".
        let mut state = 1u64;
        let mut next = || {
            state = state * 48_271 % 2_147_483_647;
            state as f64 / 2_147_483_647.0 * 2.0 - 1.0
        };
        let one: Vec<f64> = (0..9000).map(|_| next()).collect();
        let other: Vec<f64> = (0..9000).map(|_| next()).collect();
        let sum: Vec<f64> = one.iter().zip(&other).map(|(a, b)| a + b).collect();
        let with_blocks = |size: usize| {
            let mut finder = HighestPeaks::new(RATE_HZ);
            for from in (0..sum.len()).step_by(size) {
                let of = |samples: &'_ [f64]| {
                    let to = (from + size).min(samples.len());
                    samples[from..to].to_vec()
                };
                let (one, other, sum) = (of(&one), of(&other), of(&sum));
                finder.push((&sum, &sum), &[part(&one), part(&other)]);
            }
            finder.finish()
        };
        let whole = with_blocks(9000);
        assert_eq!(whole.len(), KEPT_PEAKS);
        assert!(
            whole
                .windows(2)
                .all(|pair| pair[1].frame - pair[0].frame >= 50)
        );
        for size in [1, 49, 50, 51, 4096] {
            assert_eq!(with_blocks(size), whole, "{size}");
        }
    }

    #[test]
    fn silence_has_no_peaks_and_numbers_that_are_none_are_none() {
        assert!(peaks_of(&[0.0; 500]).is_empty());
        let spoilt = with_hits(200, &[(20, f64::NAN), (30, 0.5), (40, f64::INFINITY)]);
        let peaks = peaks_of(&spoilt);
        assert_eq!((peaks.len(), peaks[0].frame), (1, 30));
    }
}
