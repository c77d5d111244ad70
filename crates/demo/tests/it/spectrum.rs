//! It looks like the records of its kind.

use cupel_demo::{DemoSettings, Style, make};

use crate::support::{peak_dbfs, short, true_mix};

/// Energy about `centre_hz` per hertz, in dB: Goertzel sums over Hann frames at
/// some frequencies of the third octave.
fn density_db(mono: &[f64], hann: &[f64], centre_hz: f64, rate: f64) -> f64 {
    let mut energy = 0.0;
    for place in [0.92, 0.97, 1.03, 1.08] {
        let twice_cos = 2.0 * (std::f64::consts::TAU * centre_hz * place / rate).cos();
        for frame in mono.chunks_exact(hann.len()) {
            let (mut before, mut last) = (0.0, 0.0);
            for (x, window) in frame.iter().zip(hann) {
                let next = window * x + twice_cos * last - before;
                before = last;
                last = next;
            }
            energy += before * before + last * last - twice_cos * before * last;
        }
    }
    10.0 * energy.log10()
}

fn hann() -> Vec<f64> {
    const FRAME: usize = 8192;
    (0..FRAME)
        .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / FRAME as f64).cos())
        .collect()
}

/// Slope over octaves by least squares, 100 Hz to 10 kHz in third octaves.
fn slope_db_per_octave(mono: &[f64], rate: f64) -> f64 {
    let hann = hann();
    let points: Vec<(f64, f64)> = (-10..=10)
        .map(|band| {
            let centre_hz = 1000.0 * 10f64.powf(f64::from(band) / 10.0);
            (centre_hz.log2(), density_db(mono, &hann, centre_hz, rate))
        })
        .collect();
    let count = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / count;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / count;
    let top: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    let bottom: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.0 - mean_x)).sum();
    top / bottom
}

/// P. D. Pestana et al., "Spectral Characteristics of Popular Commercial
/// Recordings 1950-2010", AES 135, 2013: between 100 Hz and 10 kHz electronic
/// records fall by 4.5 dB an octave (log-log slope -0.746), pop by 5.7, rock by
/// 5.9. Single songs spread widely, so from 3 to 6.5.
#[test]
fn long_term_spectrum_falls_like_that_of_records() {
    for (seed, style) in [
        (1, Style::House),
        (2, Style::Techno),
        (3, Style::DrumAndBass),
        (4, Style::Downtempo),
    ] {
        let settings = DemoSettings {
            style,
            ..short(seed)
        };
        let session = make(&settings).unwrap();
        let mix = true_mix(&session);
        let rates = [
            session.truth.sample_rate_hz,
            session.reference.sample_rate_hz,
        ];
        for (channels, rate) in [&mix, &session.reference.samples].into_iter().zip(rates) {
            let mono: Vec<f64> = channels[0]
                .iter()
                .zip(&channels[1])
                .map(|(l, r)| l + r)
                .collect();
            let slope = slope_db_per_octave(&mono, f64::from(rate));
            assert!((-6.5..=-3.0).contains(&slope), "{style:?}: {slope}");
        }
    }
}

/// Records of the kind lie near -8 LUFS (50 songs, s.d. 1.06); wanted here is -9.
/// Mixes before mastering lie at -15.9 LUFS (s.d. 1.27) in research sets and near
/// -18 in practice.
#[test]
fn reference_is_mastered_and_the_mix_is_not() {
    for seed in 1..4 {
        let session = make(&short(seed)).unwrap();
        let reference = &session.truth.reference.mix;
        let lufs = reference.lufs_i.unwrap();
        assert!((lufs + 9.0).abs() <= 0.5, "{lufs}");
        let mut meter = ebur128::EbuR128::new(2, 44_100, ebur128::Mode::I).unwrap();
        let [left, right] = &session.reference.samples;
        meter.add_frames_planar_f64(&[left, right]).unwrap();
        let outside = meter.loudness_global().unwrap();
        assert!((lufs - outside).abs() < 0.05, "{lufs} {outside}");
        assert!(peak_dbfs(&session.reference.samples) <= -0.5);
        let mix = session.truth.mix.lufs_i.unwrap();
        assert!((-22.0..=-14.0).contains(&mix), "{mix}");
    }
}
