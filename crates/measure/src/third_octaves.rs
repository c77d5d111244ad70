//! Long-term one-third-octave levels.
//!
//! Band limits: IEC 61260-1:2014, base ten, equations 1, 2, 4 and 5; nominal
//! frequencies from its Annex E. Measured from long-term spectra; the bands meet
//! the class 1 limits of Table 1.

use crate::long_term::LongTerm;
use crate::pair_power::{PairPower, SINGLE_ROUNDING};
use serde::{Deserialize, Serialize};

/// Bands this far under the whole, or under -120 dBFS, hold nothing but
/// rounding; their stereo figures are left out.
const MEANINGFUL_DB: f64 = 100.0;
const FAINTEST_DBFS: f64 = -120.0;

const LOWEST_INDEX: i32 = -17;
const NOMINAL_HZ: [f64; 31] = [
    20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0,
    500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0,
    8000.0, 10000.0, 12500.0, 16000.0, 20000.0,
];

/// Long-term level and place of one band.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandLevel {
    /// Name of the band: its nominal middle, or the middle of a broad band.
    pub nominal_hz: f64,
    /// Lower edge.
    pub low_hz: f64,
    /// Upper edge.
    pub high_hz: f64,
    /// 10 log10 of the mean square in the band, mean of both sides; `None` for
    /// silence.
    pub level_dbfs: Option<f64>,
    /// 10 log10(right/left power), within +-100; `None` where the band holds
    /// nothing.
    pub lean_db: Option<f64>,
    /// Side over mid power; `None` where there is no side (under -70 dB).
    pub width_db: Option<f64>,
    /// Correlation of both sides; `None` where one is silent.
    pub correlation: Option<f64>,
}

impl BandLevel {
    fn new(nominal_hz: f64, low_hz: f64, high_hz: f64, power: PairPower, total: f64) -> Self {
        let level_dbfs = power.level_db();
        let floor = 10f64.powf(FAINTEST_DBFS / 10.0);
        let faint = power.mean() <= floor.max(total * 10f64.powf(-MEANINGFUL_DB / 10.0));
        let stereo = |figure: Option<f64>| if faint { None } else { figure };
        Self {
            nominal_hz,
            low_hz,
            high_hz,
            level_dbfs,
            lean_db: stereo(power.lean_db()),
            width_db: stereo(power.width_db(SINGLE_ROUNDING)),
            correlation: stereo(power.correlation()),
        }
    }
}

/// One-third octaves from 20 Hz as far as the whole band fits under half the
/// sample rate.
pub(crate) fn third_octaves(spectrum: &LongTerm, total: f64) -> Vec<BandLevel> {
    let edge_hz = |half_steps: i32| 1000.0 * 10f64.powf(f64::from(half_steps) / 20.0);
    NOMINAL_HZ
        .iter()
        .enumerate()
        .map(|(i, &nominal_hz)| {
            let x = LOWEST_INDEX + i as i32;
            (nominal_hz, edge_hz(2 * x - 1), edge_hz(2 * x + 1))
        })
        .take_while(|&(_, _, high_hz)| high_hz <= spectrum.nyquist_hz)
        .map(|(nominal_hz, low_hz, high_hz)| {
            let power = spectrum.between(low_hz, high_hz);
            BandLevel::new(nominal_hz, low_hz, high_hz, power, total)
        })
        .collect()
}

const BROAD_EDGES_HZ: [f64; 6] = [0.0, 120.0, 500.0, 2000.0, 8000.0, f64::INFINITY];

/// Five broad bands: under 120 Hz, to 500, 2000, 8000 Hz, and all above.
pub(crate) fn broad_bands(spectrum: &LongTerm, total: f64) -> Vec<BandLevel> {
    BROAD_EDGES_HZ
        .windows(2)
        .map(|edge| (edge[0], edge[1].min(spectrum.nyquist_hz)))
        .filter(|(low_hz, high_hz)| high_hz > low_hz)
        .map(|(low_hz, high_hz)| {
            let nominal_hz = (low_hz.max(20.0) * high_hz).sqrt().round();
            let power = spectrum.between(low_hz, high_hz);
            BandLevel::new(nominal_hz, low_hz, high_hz, power, total)
        })
        .collect()
}
