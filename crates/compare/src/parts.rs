//! The distance between a mix and its reference, in named parts; never as one
//! number.

use cupel_measure::Summary;
use serde::{Deserialize, Serialize};

use crate::{BandDifference, Spectrum, differences};

/// Bands that lie further than this under the reference's strongest count for
/// nothing in the spectrum part, in dB (common practice, no source).
const HEARD_RANGE_DB: f64 = 50.0;

/// The parts, each in dB; `None` where either side does not tell.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    /// Root mean square difference of the third octaves at equal loudness, dB.
    pub spectrum_db: Option<f64>,
    /// Energy below 120 Hz at equal loudness: mix less reference, dB.
    pub low_end_db: Option<f64>,
    /// Lean of the mix less that of the reference, dB.
    pub lean_db: Option<f64>,
    /// Width of the mix less that of the reference, dB.
    pub width_db: Option<f64>,
}

/// The parts between two measured passages.
pub fn parts_of(mix: &Summary, reference: &Summary) -> Parts {
    let spectra = Spectrum::of(mix).zip(Spectrum::of(reference));
    let bands = spectra.map(|(m, r)| differences(&m, &r));
    let less = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| a - b);
    let low = |s: &Summary| {
        s.low_share
            .below_120_dbfs
            .zip(s.integrated_lufs)
            .map(|(e, l)| e - l)
    };
    Parts {
        spectrum_db: bands.as_deref().and_then(rms_of_bands),
        low_end_db: less(low(mix), low(reference)),
        lean_db: less(mix.lean_db, reference.lean_db),
        width_db: less(mix.width_db, reference.width_db),
    }
}

fn rms_of_bands(bands: &[BandDifference]) -> Option<f64> {
    let strongest = bands
        .iter()
        .filter_map(|band| band.reference_db)
        .fold(f64::NAN, f64::max);
    let squares: Vec<f64> = bands
        .iter()
        .filter(|band| {
            band.reference_db
                .is_some_and(|db| db > strongest - HEARD_RANGE_DB)
        })
        .filter_map(|band| band.difference_db)
        .map(|difference| difference * difference)
        .collect();
    let count = squares.len();
    (count > 0).then(|| (squares.iter().sum::<f64>() / count as f64).sqrt())
}
