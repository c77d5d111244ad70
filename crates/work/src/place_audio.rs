//! A stretch of a file, held whole: loops are short.

use std::path::Path;

use cupel_audio::TrackReader;
use cupel_units::seconds_to_frames;

use crate::WorkError;

const BLOCK_FRAMES: usize = 1 << 14;

/// Left and right.
pub(crate) type Sound = [Vec<f64>; 2];

/// Reads a file between two times at a rate; less where it ends before.
pub(crate) fn read_stretch(
    path: &Path,
    rate_hz: u32,
    start_s: f64,
    end_s: f64,
) -> Result<Sound, WorkError> {
    let mut reader = TrackReader::open(path, rate_hz, 0)?;
    let start = seconds_to_frames(start_s, rate_hz);
    let mut left_over = seconds_to_frames(end_s, rate_hz).saturating_sub(start) as usize;
    reader.seek(start)?;
    let mut sound = [Vec::new(), Vec::new()];
    let (mut left, mut right) = (vec![0.0; BLOCK_FRAMES], vec![0.0; BLOCK_FRAMES]);
    while left_over > 0 {
        let wanted = BLOCK_FRAMES.min(left_over);
        let read = reader.read(&mut left[..wanted], &mut right[..wanted])?;
        if read == 0 {
            break;
        }
        sound[0].extend_from_slice(&left[..read]);
        sound[1].extend_from_slice(&right[..read]);
        left_over -= read;
    }
    Ok(sound)
}
