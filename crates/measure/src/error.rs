use thiserror::Error;

/// Why a meter cannot be made.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum MeasureError {
    /// The sample rate lies outside what the filters are designed for.
    #[error(
        "cannot measure at {given} Hz: rates from {lowest} to {highest} Hz are supported; convert the audio first"
    )]
    SampleRate {
        /// The rate asked for.
        given: u32,
        /// The lowest rate supported.
        lowest: u32,
        /// The highest rate supported.
        highest: u32,
    },
    /// Only mono and stereo are measured as tracks.
    #[error("cannot measure {given} channels: 1 or 2 are supported; export mono or stereo")]
    Channels {
        /// The channel count asked for.
        given: usize,
    },
}

/// The lowest sample rate measured.
pub const LOWEST_RATE_HZ: u32 = 4_000;
/// The highest sample rate measured.
pub const HIGHEST_RATE_HZ: u32 = 768_000;

pub(crate) fn check_rate(sample_rate_hz: u32) -> Result<(), MeasureError> {
    if (LOWEST_RATE_HZ..=HIGHEST_RATE_HZ).contains(&sample_rate_hz) {
        return Ok(());
    }
    Err(MeasureError::SampleRate {
        given: sample_rate_hz,
        lowest: LOWEST_RATE_HZ,
        highest: HIGHEST_RATE_HZ,
    })
}
