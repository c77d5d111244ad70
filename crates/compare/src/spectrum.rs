//! Third-octave levels of a passage, at equal loudness.

use cupel_measure::Summary;
use serde::{Deserialize, Serialize};

/// Third-octave levels less the loudness of the same material, so that two of
/// them compare at equal loudness whatever their levels are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spectrum {
    /// Nominal midband frequencies, in hertz.
    pub nominal_hz: Vec<f64>,
    /// Level of each band less the loudness, in dB; `None` where silent.
    pub level_db: Vec<Option<f64>>,
}

impl Spectrum {
    /// Of a measured passage; `None` where it is silent.
    pub fn of(passage: &Summary) -> Option<Self> {
        let loudness_lufs = passage.integrated_lufs?;
        Some(Self {
            nominal_hz: passage
                .third_octaves
                .iter()
                .map(|band| band.nominal_hz)
                .collect(),
            level_db: passage
                .third_octaves
                .iter()
                .map(|band| band.level_dbfs.map(|level| level - loudness_lufs))
                .collect(),
        })
    }
}

/// One band of a mix beside the reference's, at equal loudness.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandDifference {
    /// Nominal midband frequency, in hertz.
    pub nominal_hz: f64,
    /// Level of the mix less its loudness, in dB.
    pub mix_db: Option<f64>,
    /// Level of the reference less its loudness, in dB.
    pub reference_db: Option<f64>,
    /// Mix less reference, in dB; `None` where either is silent.
    pub difference_db: Option<f64>,
}

/// Band by band, over the bands both have.
pub fn differences(mix: &Spectrum, reference: &Spectrum) -> Vec<BandDifference> {
    mix.nominal_hz
        .iter()
        .zip(mix.level_db.iter().zip(&reference.level_db))
        .map(|(&nominal_hz, (&mix_db, &reference_db))| BandDifference {
            nominal_hz,
            mix_db,
            reference_db,
            difference_db: mix_db.zip(reference_db).map(|(m, r)| m - r),
        })
        .collect()
}
