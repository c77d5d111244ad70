//! The band a sound lies in, for the truth: a plain transform of its own, so that
//! what the project measures is never checked against itself.

const SIZE: usize = 4096;

/// Frequencies below which 10 and 90 percent of the energy lie; `None` for
/// silence. Mean over Hann windows of 4096 frames of both sides.
pub(crate) fn band_hz(left: &[f64], right: &[f64], sample_rate_hz: f64) -> Option<(f64, f64)> {
    let window: Vec<f64> = (0..SIZE)
        .map(|n| 0.5 - 0.5 * libm::cos(std::f64::consts::TAU * n as f64 / SIZE as f64))
        .collect();
    let turns = turns();
    let mut energies = vec![0.0; SIZE / 2];
    for (left, right) in left.chunks_exact(SIZE).zip(right.chunks_exact(SIZE)) {
        // one side as the real part, the other as the imaginary one: the energies
        // of both add up over a bin and its mirror image
        let mut values: Vec<[f64; 2]> = left
            .iter()
            .zip(right)
            .zip(&window)
            .map(|((l, r), w)| [l * w, r * w])
            .collect();
        transform(&mut values, &turns);
        for (bin, energy) in energies.iter_mut().enumerate().skip(1) {
            let ([a, b], [c, d]) = (values[bin], values[SIZE - bin]);
            *energy += a * a + b * b + c * c + d * d;
        }
    }
    let total: f64 = energies.iter().sum();
    if total <= 0.0 {
        return None;
    }
    let at = |share: f64| {
        let mut sum = 0.0;
        let bin = energies.iter().position(|energy| {
            sum += energy;
            sum >= share * total
        });
        bin.unwrap_or(0) as f64 * sample_rate_hz / SIZE as f64
    };
    Some((at(0.1), at(0.9)))
}

fn turns() -> Vec<[f64; 2]> {
    (0..SIZE / 2)
        .map(|k| {
            let angle = -std::f64::consts::TAU * k as f64 / SIZE as f64;
            [libm::cos(angle), libm::sin(angle)]
        })
        .collect()
}

/// In place, decimation in time (J. W. Cooley and J. W. Tukey, "An Algorithm for
/// the Machine Calculation of Complex Fourier Series", 1965).
fn transform(values: &mut [[f64; 2]], turns: &[[f64; 2]]) {
    let bits = SIZE.trailing_zeros();
    for index in 0..SIZE {
        let mirror = index.reverse_bits() >> (usize::BITS - bits);
        if mirror > index {
            values.swap(index, mirror);
        }
    }
    let mut half = 1;
    while half < SIZE {
        let stride = SIZE / (2 * half);
        for start in (0..SIZE).step_by(2 * half) {
            for k in 0..half {
                let [cos, sin] = turns[k * stride];
                let [a, b] = values[start + k];
                let [c, d] = values[start + k + half];
                let turned = [c * cos - d * sin, c * sin + d * cos];
                values[start + k] = [a + turned[0], b + turned[1]];
                values[start + k + half] = [a - turned[0], b - turned[1]];
            }
        }
        half *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_lies_at_its_frequency() {
        let wave: Vec<f64> = (0..20_000)
            .map(|n| libm::sin(std::f64::consts::TAU * 1000.0 * f64::from(n) / 44_100.0))
            .collect();
        let (low, high) = band_hz(&wave, &vec![0.0; 20_000], 44_100.0).unwrap();
        assert!((low - 1000.0).abs() < 25.0 && (high - 1000.0).abs() < 25.0);
    }

    /// White noise is flat: its energy below f is f over half the rate.
    #[test]
    fn noise_is_flat() {
        let mut rng = crate::rng::Rng::new(1);
        let [left, right] = [0, 1].map(|_| (0..80_000).map(|_| rng.bipolar()).collect::<Vec<_>>());
        let (low, high) = band_hz(&left, &right, 48e3).unwrap();
        assert!((low - 2400.0).abs() < 150.0, "{low}");
        assert!((high - 21_600.0).abs() < 150.0, "{high}");
    }

    #[test]
    fn silence_has_no_band() {
        assert_eq!(band_hz(&[0.0; 8192], &[0.0; 8192], 48e3), None);
    }
}
