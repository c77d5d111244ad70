//! Own reader for WAV, RF64 and BW64.
//!
//! It is tolerant: what is there is read, and what the header says otherwise
//! becomes a note. Chunks: EBU Tech 3285 v2 (WAVE, bext), EBU Tech 3306 (RF64),
//! ITU-R BS.2088 (BW64).

mod chunks;
mod format;
mod pcm;
mod reader;

pub(crate) use chunks::truncated;
pub(crate) use reader::RiffReader;
