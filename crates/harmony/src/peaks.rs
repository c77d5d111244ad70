//! Sinusoidal peaks of one spectrum, with pitch finer than the bins.

use realfft::num_complex::Complex32;

/// Lowest note that is told, A0 = MIDI 21, 27.5 Hz: ISO 16.
pub(crate) const LOWEST_MIDI: f32 = 20.5;

/// One peak of a spectrum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Peak {
    /// Pitch as a MIDI note number with its fraction.
    pub(crate) midi: f32,
    /// Level of the sine, dB against full scale amplitude 1.
    pub(crate) level_db: f32,
    /// Height over its surroundings in dB.
    pub(crate) height_db: f32,
}

/// Bytes of a packed peak.
pub(crate) const PACKED: usize = 4;

impl Peak {
    /// Note, fraction, level in half dB, height in quarter dB. A level of 0 is no
    /// peak.
    pub(crate) fn pack(self) -> [u8; PACKED] {
        let note = self.midi.round();
        [
            note.clamp(0.0, 255.0) as u8,
            ((self.midi - note + 0.5) * 255.0).round() as u8,
            (2.0 * (self.level_db + 120.0)).round().clamp(1.0, 255.0) as u8,
            (4.0 * self.height_db).round().clamp(0.0, 255.0) as u8,
        ]
    }

    pub(crate) fn unpack(bytes: &[u8]) -> Option<Self> {
        let &[note, fraction, level, height] = bytes else {
            return None;
        };
        (level > 0).then(|| Self {
            midi: f32::from(note) - 0.5 + f32::from(fraction) / 255.0,
            level_db: 0.5 * f32::from(level) - 120.0,
            height_db: 0.25 * f32::from(height),
        })
    }
}

/// Finds the peaks of spectra of one size.
#[derive(Clone, Debug)]
pub(crate) struct PeakFinder {
    bin_hz: f32,
    first: usize,
    last: usize,
    /// Bins each way that count as surroundings.
    reach: usize,
    /// Factor from a Hann-windowed bin's power to that of a full-scale sine.
    scale: f32,
    /// As a factor of power.
    lowest_height: f32,
    powers: Vec<f32>,
    sums: Vec<f32>,
    found: Vec<Peak>,
}

impl PeakFinder {
    /// Peaks from `lowest_hz` to `highest_hz` of Hann-windowed spectra with
    /// `window` frames at `rate_hz`, padded to `size`.
    pub(crate) fn new(
        rate_hz: f64,
        window: usize,
        size: usize,
        range_hz: (f64, f64),
        reach_hz: f64,
        lowest_height_db: f32,
    ) -> Self {
        let bin_hz = rate_hz / size as f64;
        let last = ((range_hz.1 / bin_hz) as usize).min((size / 2).saturating_sub(1));
        Self {
            bin_hz: bin_hz as f32,
            first: ((range_hz.0 / bin_hz) as usize).max(1),
            last,
            reach: (reach_hz / bin_hz).ceil() as usize,
            // a sine of amplitude 1 has a bin of window / 4
            scale: (16.0 / (window as f64 * window as f64)) as f32,
            lowest_height: 10f32.powf(0.1 * lowest_height_db),
            powers: Vec::new(),
            sums: Vec::new(),
            found: Vec::new(),
        }
    }

    /// The up to `most` highest peaks, packed onto the end of `out` and filled up
    /// with zeros.
    pub(crate) fn find(&mut self, bins: &[Complex32], most: usize, out: &mut Vec<u8>) {
        self.found.clear();
        if self.last > self.first + 2 * self.reach {
            self.collect(bins);
        }
        let rank = |peak: &Peak| peak.height_db + 0.25 * peak.level_db;
        self.found
            .sort_by(|a, b| rank(b).total_cmp(&rank(a)).then(a.midi.total_cmp(&b.midi)));
        self.found.truncate(most);
        for peak in &self.found {
            out.extend(peak.pack());
        }
        let empty = most - self.found.len();
        out.resize(out.len() + PACKED * empty, 0);
    }

    fn collect(&mut self, bins: &[Complex32]) {
        let bins = &bins[self.first - 1..self.last + 2];
        self.powers.clear();
        self.powers
            .extend(bins.iter().map(|bin| self.scale * bin.norm_sqr() + 1e-13));
        self.sums.clear();
        let mut sum = 0.0;
        self.sums.push(0.0);
        // roots, so that the surroundings are not ruled by the peak itself
        self.sums.extend(self.powers.iter().map(|power| {
            sum += power.sqrt();
            sum
        }));
        let count = self.powers.len();
        for n in 1..count - 1 {
            let [a, b, c] = [self.powers[n - 1], self.powers[n], self.powers[n + 1]];
            if !(b > a && b >= c && b > 3e-12) {
                continue;
            }
            let from = n.saturating_sub(self.reach);
            let to = (n + self.reach + 1).min(count);
            let around = (self.sums[to] - self.sums[from]) / (to - from) as f32;
            let height = b / (around * around).max(1e-14);
            if height < self.lowest_height {
                continue;
            }
            let height_db = 10.0 * height.log10();
            let [a, b, c] = [a.ln(), b.ln(), c.ln()];
            let curve = a - 2.0 * b + c;
            let shift = if curve < 0.0 {
                (0.5 * (a - c) / curve).clamp(-0.5, 0.5)
            } else {
                0.0
            };
            let hz = self.bin_hz * ((self.first - 1 + n) as f32 + shift);
            let midi = 69.0 + 12.0 * (hz / 440.0).log2();
            if midi >= LOWEST_MIDI {
                let level_db = 4.342_944_8 * (b - 0.25 * (a - c) * shift);
                self.found.push(Peak {
                    midi,
                    level_db,
                    height_db,
                });
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn packing_keeps_pitch_within_a_cent() {
        let peak = Peak {
            midi: 61.377,
            level_db: -31.2,
            height_db: 12.3,
        };
        let back = Peak::unpack(&peak.pack()).unwrap();
        assert!((back.midi - peak.midi).abs() < 0.004);
        assert!((back.level_db - peak.level_db).abs() <= 0.26);
        assert!(Peak::unpack(&[0; PACKED]).is_none());
    }
}
