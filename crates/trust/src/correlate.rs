//! Cross-correlation by Fourier transform, with local energies.

use realfft::RealFftPlanner;

/// Products of `template` with `signal` at every place where it fits whole:
/// `signal.len() - template.len() + 1` values, empty if it does not fit.
pub(crate) fn correlate(template: &[f64], signal: &[f64]) -> Vec<f64> {
    if template.is_empty() || signal.len() < template.len() {
        return Vec::new();
    }
    let size = signal.len().next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(size);
    let inverse = planner.plan_fft_inverse(size);
    let spectrum = |samples: &[f64]| {
        let mut time = vec![0.0; size];
        time[..samples.len()].copy_from_slice(samples);
        let mut bins = forward.make_output_vec();
        // Lengths match by construction.
        let _ = forward.process(&mut time, &mut bins);
        bins
    };
    let mut product = spectrum(signal);
    for (value, other) in product.iter_mut().zip(spectrum(template)) {
        *value *= other.conj();
    }
    product[0].im = 0.0;
    if let Some(last) = product.last_mut() {
        last.im = 0.0;
    }
    let mut time = vec![0.0; size];
    let _ = inverse.process(&mut product, &mut time);
    // Places before `size - template.len()` do not wrap round.
    time.truncate(signal.len() - template.len() + 1);
    for value in &mut time {
        *value /= size as f64;
    }
    time
}

/// Energy of `signal` under a window of `length` at every place.
pub(crate) fn local_energy(signal: &[f64], length: usize) -> Vec<f64> {
    let mut sums = Vec::with_capacity(signal.len() + 1);
    let mut sum = 0.0;
    sums.push(0.0);
    for sample in signal {
        sum += sample * sample;
        sums.push(sum);
    }
    (0..=signal.len().saturating_sub(length))
        .map(|at| (sums[(at + length).min(signal.len())] - sums[at]).max(0.0))
        .collect()
}

pub(crate) fn energy(samples: &[f64]) -> f64 {
    samples.iter().map(|sample| sample * sample).sum()
}

/// First difference, which makes the peaks of bass-heavy music narrow.
pub(crate) fn difference(samples: &mut [f64]) {
    let mut before = 0.0;
    for sample in samples {
        let now = *sample;
        *sample = now - before;
        before = now;
    }
}

/// Index of the value of largest magnitude, the earliest of equals.
pub(crate) fn largest(values: &[f64]) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (index, value) in values.iter().enumerate() {
        if best.is_none_or(|(_, most)| value.abs() > most) {
            best = Some((index, value.abs()));
        }
    }
    best.map(|(index, _)| index)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equals_the_plain_sum_of_products() {
        let signal: Vec<f64> = (0..100)
            .map(|n| f64::from((n * n * 37 + 11) % 101) - 50.0)
            .collect();
        let template = &signal[40..71];
        let fast = correlate(template, &signal);
        assert_eq!(fast.len(), 70);
        for (at, value) in fast.iter().enumerate() {
            let plain: f64 = template.iter().zip(&signal[at..]).map(|(a, b)| a * b).sum();
            assert!((value - plain).abs() < 1e-8);
        }
        assert_eq!(largest(&fast), Some(40));
    }
}
