//! Writes the audio that is measured and mixed: 48 kHz, 24 bit, stereo.

use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::{SampleFormat, WavWriter};
use rayon::prelude::*;

use crate::bench::voice::{SAMPLE_RATE_HZ, SOUNDS, Voice};
use crate::error::XtaskError;

/// Tracks of a session.
pub(crate) const TRACKS: usize = 24;

const BLOCK_FRAMES: usize = 8192;

/// Writes a whole mix: beat, bass, chords, hats and noise.
pub(crate) fn write_mix(path: &Path, seconds: u32) -> Result<(), XtaskError> {
    let voices = SOUNDS
        .iter()
        .zip(100..)
        .map(|(s, seed)| Voice::new(*s, seed));
    write(path, &mut voices.collect::<Vec<_>>(), seconds, 0.6)
}

/// Writes the tracks of a session, all different, into `folder`.
pub(crate) fn write_tracks(folder: &Path, seconds: u32) -> Result<Vec<PathBuf>, XtaskError> {
    fs::create_dir_all(folder).map_err(XtaskError::file(folder))?;
    (0..TRACKS)
        .into_par_iter()
        .map(|track| {
            let sound = SOUNDS[track % SOUNDS.len()];
            let path = folder.join(format!("{:02} {}.wav", track + 1, sound.name));
            let mut voice = [Voice::new(sound, track as u64)];
            write(&path, &mut voice, seconds, 0.8)?;
            Ok(path)
        })
        .collect()
}

fn write(path: &Path, voices: &mut [Voice], seconds: u32, gain: f64) -> Result<(), XtaskError> {
    if path.is_file() {
        return Ok(());
    }
    let mut writer = WavWriter::create(path, SAMPLE_RATE_HZ, 2, SampleFormat::I24)?;
    let (mut left, mut right) = (vec![0.0; BLOCK_FRAMES], vec![0.0; BLOCK_FRAMES]);
    let mut wanted = seconds as usize * SAMPLE_RATE_HZ as usize;
    while wanted > 0 {
        let frames = wanted.min(BLOCK_FRAMES);
        let (left, right) = (&mut left[..frames], &mut right[..frames]);
        left.fill(0.0);
        right.fill(0.0);
        for voice in &mut *voices {
            voice.add(left, right, gain);
        }
        writer.write(&[&left, &right])?;
        wanted -= frames;
    }
    writer.finish()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use cupel_audio::{Planar, Reader};

    #[test]
    fn tracks_sound_and_differ() {
        let folder = tempfile::tempdir().unwrap();
        let paths = write_tracks(folder.path(), 2).unwrap();
        assert_eq!(paths.len(), TRACKS);
        let mut seen: Vec<Vec<f64>> = Vec::new();
        for path in &paths {
            let mut block = Planar::new(2, 2 * SAMPLE_RATE_HZ as usize);
            let frames = 2 * SAMPLE_RATE_HZ as usize;
            assert_eq!(
                Reader::open(path)
                    .unwrap()
                    .read(&mut block, frames)
                    .unwrap(),
                frames
            );
            let peak = block.channels[0].iter().fold(0.0f64, |p, x| p.max(x.abs()));
            assert!((0.005..1.0).contains(&peak), "{path:?} peaks at {peak}");
            assert!(!seen.contains(&block.channels[0]), "{path:?} is a copy");
            seen.push(block.channels.swap_remove(0));
        }
    }
}
