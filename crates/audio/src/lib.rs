//! Audio files in and out: decoding, resampling, writing, and a bill of health.
//!
//! [`Reader`] hands on what a file holds, [`TrackReader`] what it plays in a
//! session: stereo, at the session's rate, shifted to its place. [`WavWriter`]
//! writes whole files or none. [`HealthMeter`] listens along and says what is odd.
//! Everything streams: memory does not grow with the length of a file, and nothing
//! is allocated that a header merely claims.

mod compressed;
mod dither;
mod error;
pub mod health;
mod info;
mod mp4;
mod note;
mod origin;
mod pcm;
mod planar;
mod reader;
pub mod resampler;
mod tags;
mod track_reader;
mod unfinished;
mod wav_header;
mod wav_writer;

pub use dither::Dither;
pub use error::AudioError;
pub use health::HealthMeter;
pub use info::{FileInfo, HIGHEST_RATE_HZ, LOWEST_RATE_HZ, is_audio_name};
pub use note::{HealthCode, HealthGrade, HealthNote};
pub use planar::Planar;
pub use reader::Reader;
pub use resampler::Resampler;
pub use tags::Tags;
pub use track_reader::TrackReader;
pub use unfinished::{TEMPORARY_PREFIX, remove_unfinished};
pub use wav_writer::{SampleFormat, WavWriter, Written};
