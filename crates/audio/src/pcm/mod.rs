//! Own reader for uncompressed sound: WAV, RF64, BW64, AIFF and AIFF-C.
//!
//! It is tolerant: what is there is read, and what the header says otherwise
//! becomes a note.

mod aiff;
mod format;
mod layout;
mod reader;
mod riff;
mod samples;

pub(crate) use layout::truncated;
pub(crate) use reader::PcmReader;
