//! How periodic the onsets of a whole file are: autocorrelation and a fine
//! spectrum.

use realfft::RealFftPlanner;

use crate::onset_curve::Onsets;

/// Longest lag kept.
const LONGEST_LAG_S: f64 = 14.0;
/// Weight of each band; equal ones served as well as any that were tried.
const WEIGHTS: [f32; 4] = [1.0, 0.7, 1.0, 0.8];

/// Periodicity of a file.
#[derive(Clone, Debug)]
pub(crate) struct Pulse {
    acf: Vec<f32>,
    hop_s: f64,
    magnitudes: Vec<f32>,
    step_hz: f64,
}

impl Pulse {
    pub(crate) fn of(curve: &Onsets) -> Option<Self> {
        let joined = joined(curve);
        let total: f32 = joined.iter().sum();
        if joined.len() < 64 || total < 1.0 {
            return None;
        }
        let mean = total / joined.len() as f32;
        let size = (4 * joined.len()).next_power_of_two();
        let mut planner = RealFftPlanner::<f32>::new();
        let forward = planner.plan_fft_forward(size);
        let mut input = forward.make_input_vec();
        for (x, y) in input.iter_mut().zip(&joined) {
            *x = y - mean;
        }
        let mut bins = forward.make_output_vec();
        forward.process(&mut input, &mut bins).ok()?;
        let magnitudes = bins.iter().map(|bin| bin.norm()).collect();
        for bin in &mut bins {
            *bin = (bin.norm_sqr()).into();
        }
        planner
            .plan_fft_inverse(size)
            .process(&mut bins, &mut input)
            .ok()?;
        let lags = ((LONGEST_LAG_S / curve.hop_s) as usize).min(joined.len() - 1);
        let acf = (0..lags)
            .map(|lag| {
                let share = (joined.len() - lag) as f32 / joined.len() as f32;
                input[lag] / (input[0] * share)
            })
            .collect();
        Some(Self {
            acf,
            hop_s: curve.hop_s,
            magnitudes,
            step_hz: 1.0 / (size as f64 * curve.hop_s),
        })
    }

    /// Autocorrelation at a lag, smoothed over three hops; 0 beyond the longest.
    pub(crate) fn at_lag(&self, lag_s: f64) -> f64 {
        let place = lag_s / self.hop_s;
        let index = place as usize;
        if index < 2 || index + 2 >= self.acf.len() {
            return 0.0;
        }
        let share = (place - index as f64) as f32;
        let smooth = |at: usize| (self.acf[at - 1] + self.acf[at] + self.acf[at + 1]) / 3.0;
        f64::from(smooth(index) * (1.0 - share) + smooth(index + 1) * share)
    }

    /// Mean autocorrelation at the first multiples of a period.
    pub(crate) fn comb(&self, period_s: f64) -> f64 {
        let longest_s = self.acf.len() as f64 * self.hop_s - 0.05;
        let count = ((longest_s / period_s) as usize).clamp(1, 16);
        let sum: f64 = (1..=count).map(|k| self.at_lag(k as f64 * period_s)).sum();
        sum / count as f64
    }

    fn magnitude(&self, frequency_hz: f64) -> f64 {
        let place = frequency_hz / self.step_hz;
        let index = place as usize;
        match self.magnitudes.get(index..index + 2) {
            Some(pair) => {
                let share = place - index as f64;
                f64::from(pair[0]) * (1.0 - share) + f64::from(pair[1]) * share
            }
            None => 0.0,
        }
    }

    /// Sum of the lines of a beat and of its parts; thirds, as the period may be
    /// three quarters of the true one, or three halves.
    fn coherence(&self, beat_hz: f64) -> f64 {
        [1.0, 2.0, 3.0, 4.0, 6.0, 8.0]
            .iter()
            .map(|h| self.magnitude(h * beat_hz))
            .sum()
    }

    /// Periods near `period_s` at which onsets agree well, the best first. Where
    /// parts come and go the best is not always the right one.
    pub(crate) fn refined(&self, period_s: f64) -> Vec<f64> {
        const MOST: usize = 4;
        let centre_hz = 1.0 / period_s;
        let step_hz = 0.1 * self.step_hz;
        let reach = ((0.006 * centre_hz / step_hz) as i64).min(4000);
        let values: Vec<f64> = (-reach..=reach)
            .map(|step| self.coherence(centre_hz + step as f64 * step_hz))
            .collect();
        // of a line and its side lines only the tops count
        let top = |&at: &usize| {
            let near = &values[at.saturating_sub(20)..(at + 21).min(values.len())];
            near.iter().all(|&other| other <= values[at])
        };
        let mut tops: Vec<usize> = (0..values.len()).filter(top).collect();
        tops.sort_by(|&a, &b| values[b].total_cmp(&values[a]).then(a.cmp(&b)));
        tops.truncate(MOST);
        let hz = |at: usize| centre_hz + (at as i64 - reach) as f64 * step_hz;
        tops.into_iter().map(|at| 1.0 / hz(at)).collect()
    }
}

fn joined(curve: &Onsets) -> Vec<f32> {
    let mut sum = vec![0.0; curve.rises[0].len()];
    for (rises, weight) in curve.rises.iter().zip(WEIGHTS) {
        for (sum, rise) in sum.iter_mut().zip(rises) {
            *sum += weight * (rise - 0.15).max(0.0);
        }
    }
    sum
}
