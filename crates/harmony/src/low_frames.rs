//! Power of the lows and of clicks in steps of about 5 ms.

use serde::{Deserialize, Serialize};

/// Codes step by 0.4 dB, from 102 dB below full scale.
const STEP_DB: f32 = 0.4;
const FLOOR_DB: f32 = -102.0;

/// Three envelopes, a byte a value.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct LowFrames {
    /// Time from one value to the next.
    pub(crate) hop_s: f64,
    /// Middle of the first hop.
    pub(crate) first_s: f64,
    /// Energy of the waves below 200 Hz or so, free of ripple.
    pub(crate) low: Vec<u8>,
    /// Power below about 600 Hz.
    pub(crate) body: Vec<u8>,
    /// Power from about 1.5 to 3 kHz.
    pub(crate) click: Vec<u8>,
}

/// Code of a mean square.
pub(crate) fn power_code(power: f32) -> u8 {
    let db = 10.0 * (power + 1e-13).log10();
    ((db - FLOOR_DB) / STEP_DB).round().clamp(0.0, 255.0) as u8
}

/// Mean square of every code.
pub(crate) fn powers(codes: &[u8]) -> Vec<f32> {
    let table: [f32; 256] = std::array::from_fn(|code| {
        if code == 0 {
            return 0.0;
        }
        10f32.powf(0.1 * (FLOOR_DB + STEP_DB * code as f32))
    });
    codes.iter().map(|&code| table[usize::from(code)]).collect()
}

/// Level in dB of every code.
pub(crate) fn levels_db(codes: &[u8]) -> Vec<f32> {
    let level = |&code: &u8| FLOOR_DB + STEP_DB * f32::from(code);
    codes.iter().map(level).collect()
}
