//! Long-term spectra for the judge of loops.

use realfft::RealFftPlanner;

/// Frames of one window; three quarters of a second at 44.1 kHz.
const SIZE: usize = 32_768;

/// Mean power by bin.
#[derive(Clone, Debug)]
pub(crate) struct Power {
    bins: Vec<f64>,
    bin_hz: f64,
}

/// Hann windows, half over each other; what is shorter than a window has none.
pub(crate) fn power(samples: &[f64], sample_rate_hz: f64) -> Power {
    let mut planner = RealFftPlanner::<f64>::new();
    let transform = planner.plan_fft_forward(SIZE);
    let mut spectrum = transform.make_output_vec();
    let mut bins = vec![0.0; spectrum.len()];
    let starts = (0..).step_by(SIZE / 2);
    let mut windows = 0;
    for start in starts.take_while(|start| start + SIZE <= samples.len()) {
        let mut window: Vec<f64> = samples[start..start + SIZE]
            .iter()
            .enumerate()
            .map(|(n, x)| {
                let turn = std::f64::consts::TAU * n as f64 / SIZE as f64;
                x * (0.5 - 0.5 * turn.cos())
            })
            .collect();
        if transform.process(&mut window, &mut spectrum).is_ok() {
            windows += 1;
            for (bin, value) in bins.iter_mut().zip(&spectrum) {
                *bin += value.norm_sqr();
            }
        }
    }
    bins.iter_mut()
        .for_each(|bin| *bin /= f64::from(windows.max(1)));
    Power {
        bins,
        bin_hz: sample_rate_hz / SIZE as f64,
    }
}

/// Levels of third octaves from 31.5 Hz to 16 kHz, in dB (exact centres of base two).
pub(crate) fn third_octaves(power: &Power) -> Vec<f64> {
    (-15..=12)
        .map(|band| {
            let edge = |half: f64| 1000.0 * 2f64.powf((f64::from(band) + half) / 3.0);
            let (from, to) = (edge(-0.5) / power.bin_hz, edge(0.5) / power.bin_hz);
            let last = power.bins.len().saturating_sub(1);
            let inside = (from.round() as usize).min(last)..(to.round() as usize).min(last);
            10.0 * (power.bins[inside].iter().sum::<f64>() + 1e-15).log10()
        })
        .collect()
}

/// By how many cents the second spectrum is above what was expected of it: place of
/// the best match of both on a logarithmic axis, within 20 cents; `None` of silence.
pub(crate) fn cents_apart(a: &Power, b: &Power, expected_cents: f64) -> Option<f64> {
    const STEP: f64 = 0.25;
    const REACH: i32 = 80;
    let (first, last) = (150.0f64, 2500.0f64);
    let count = (1200.0 * (last / first).log2() / STEP) as usize;
    let line = |power: &Power, from_hz: f64| -> Vec<f64> {
        (0..count)
            .map(|n| power.at(from_hz * 2f64.powf(n as f64 * STEP / 1200.0)))
            .collect()
    };
    let own = line(a, first);
    if own.iter().sum::<f64>() <= 0.0 {
        return None;
    }
    let match_at = |lag: i32| -> f64 {
        let cents = expected_cents + f64::from(lag) * STEP;
        let other = line(b, first * 2f64.powf(cents / 1200.0));
        let product: f64 = own.iter().zip(&other).map(|(a, b)| a * b).sum();
        let energy: f64 = other.iter().map(|b| b * b).sum();
        product / energy.sqrt().max(1e-30)
    };
    let matches: Vec<f64> = (-REACH..=REACH).map(match_at).collect();
    let best = (1..matches.len() - 1).max_by(|&x, &y| matches[x].total_cmp(&matches[y]))?;
    let (left, middle, right) = (matches[best - 1], matches[best], matches[best + 1]);
    let bend = left - 2.0 * middle + right;
    let part = if bend < 0.0 {
        0.5 * (left - right) / bend
    } else {
        0.0
    };
    Some((best as f64 - f64::from(REACH) + part.clamp(-1.0, 1.0)) * STEP)
}

impl Power {
    /// Magnitude at a frequency, between bins.
    fn at(&self, hz: f64) -> f64 {
        let place = hz / self.bin_hz;
        let bin = place as usize;
        let (Some(low), Some(high)) = (self.bins.get(bin), self.bins.get(bin + 1)) else {
            return 0.0;
        };
        let part = place - bin as f64;
        low.sqrt() * (1.0 - part) + high.sqrt() * part
    }
}
