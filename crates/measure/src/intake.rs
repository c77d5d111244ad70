//! Samples as they come in: copied, mended, and their peak.

use crate::wide::wide;

const LANES: usize = 8;

/// Samples beyond this (+120 dBFS) are held to it.
const LARGEST_SAMPLE: f64 = 1e6;

/// Copies samples in double and single precision and gives the largest absolute
/// value. Samples that are not finite become 0, larger ones than
/// [`LARGEST_SAMPLE`] are held to it; `unusable` counts both.
pub(crate) fn take_in(
    samples: &[f64],
    double: &mut [f64],
    single: &mut [f32],
    unusable: &mut u64,
) -> f64 {
    let (peak, usable) = copy(samples, double, single);
    if usable {
        return peak;
    }
    *unusable += mend(double);
    let mended = double.to_vec();
    copy(&mended, double, single).0
}

wide! {
    /// Copies, and gives the peak and whether all samples are usable.
    fn copy(samples: &[f64], double: &mut [f64], single: &mut [f32]) -> (f64, bool) {
        let mut peaks = [0.0f64; LANES];
        let mut usable = [true; LANES];
        let whole = samples.len() / LANES * LANES;
        for start in (0..whole).step_by(LANES) {
            let x = &samples[start..start + LANES];
            let double = &mut double[start..start + LANES];
            let single = &mut single[start..start + LANES];
            for lane in 0..LANES {
                let size = x[lane].abs();
                double[lane] = x[lane];
                single[lane] = x[lane] as f32;
                peaks[lane] = if size > peaks[lane] { size } else { peaks[lane] };
                usable[lane] &= size <= LARGEST_SAMPLE;
            }
        }
        for n in whole..samples.len() {
            double[n] = samples[n];
            single[n] = samples[n] as f32;
            peaks[0] = peaks[0].max(samples[n].abs());
            usable[0] &= samples[n].abs() <= LARGEST_SAMPLE;
        }
        (peaks.into_iter().fold(0.0, f64::max), usable == [true; LANES])
    }
}

/// Mends samples in place; gives how many were changed.
fn mend(samples: &mut [f64]) -> u64 {
    let mut count = 0;
    for x in samples {
        if x.is_finite() && x.abs() <= LARGEST_SAMPLE {
            continue;
        }
        *x = if x.is_finite() {
            LARGEST_SAMPLE.copysign(*x)
        } else {
            0.0
        };
        count += 1;
    }
    count
}
