//! Processors and the mixing graph on planar 64-bit samples.
//!
//! No files, no threads, no FFT. Settings, coefficients and running state are
//! separate; settings are checked when a processor is made, and `process` then
//! neither fails nor allocates. There is no fused multiply-add and no maths
//! function of the platform here, so that every machine, and a WebAssembly
//! build, renders the same bits.

mod biquad;
mod gain;
mod gain_curve;
mod low_cut;
mod mixer;
mod pan;
mod strip;

pub use biquad::{Biquad, BiquadCoefficients, StereoBiquad};
pub use gain::db_to_gain;
pub use gain_curve::{Breakpoint, GainCurve};
pub use low_cut::{LowCut, LowCutSettings, Slope};
pub use mixer::{Bus, GroupSettings, Mixer, MixerError, SendSettings};
pub use pan::{PanGains, balance_gains, mono_pan_gains};
pub use strip::{Strip, StripSettings};

/// Frames that processors work on at a time, counted from the start of the
/// session: a caller's own block size therefore changes nothing.
pub const INNER_BLOCK_FRAMES: u64 = 64;

/// A setting out of its range.
#[derive(Clone, Debug, PartialEq)]
pub enum DesignError {
    /// A frequency that is not between zero and half the sample rate.
    Frequency {
        /// The frequency asked for, in hertz.
        given_hz: f64,
        /// Half the sample rate, in hertz.
        below_hz: f64,
    },
    /// A pan position outside -1 (left) to 1 (right).
    Pan {
        /// The position asked for.
        given: f64,
    },
    /// A gain that is not a number, or over +60 dB.
    Gain {
        /// The gain asked for, in decibels.
        given_db: f64,
    },
}

impl std::fmt::Display for DesignError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Frequency { given_hz, below_hz } => {
                write!(f, "{given_hz} Hz is not between 0 and {below_hz} Hz")
            }
            Self::Pan { given } => write!(f, "pan {given} is not between -1 and 1"),
            Self::Gain { given_db } => write!(f, "a gain of {given_db} dB is not usable"),
        }
    }
}

impl std::error::Error for DesignError {}
