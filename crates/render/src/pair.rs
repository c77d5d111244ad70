//! The comparison pair: two passages at equal loudness.

use std::fs;
use std::path::Path;

use cupel_audio::{SampleFormat, TrackReader, WavWriter};
use cupel_measure::{Meter, MeterSettings, Summary};
use cupel_process::db_to_gain;
use cupel_units::seconds_to_frames;
use serde::Serialize;

use crate::RenderError;

const BLOCK_FRAMES: usize = 1 << 14;

/// Length of the fades at the cut ends, in seconds: short enough not to be
/// heard as such, long enough not to click.
const FADE_S: f64 = 0.01;

/// One side of the pair: where to read it.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// The file.
    pub path: &'a Path,
    /// Start of the passage, in seconds.
    pub start_s: f64,
    /// End of the passage, in seconds.
    pub end_s: f64,
}

/// What was written.
#[derive(Clone, Debug, Serialize)]
pub struct Pair {
    /// Gain applied to the mix, in dB; 0 or less.
    pub mix_gain_db: f64,
    /// Gain applied to the reference, in dB; 0 or less.
    pub reference_gain_db: f64,
    /// Integrated loudness of both passages as written, in LUFS.
    pub loudness_lufs: f64,
    /// Loudness of the mix's passage as written less that of the reference's, LU.
    pub difference_lu: f64,
}

/// Writes `mix.wav` and `reference.wav` into `folder`: the passages at the
/// session's rate, matched in integrated loudness, the louder turned down.
///
/// # Errors
/// [`RenderError::SilentPassage`] where there is nothing to match.
pub fn write_pair(
    mix: Side<'_>,
    reference: Side<'_>,
    sample_rate_hz: u32,
    format: SampleFormat,
    folder: &Path,
) -> Result<Pair, RenderError> {
    fs::create_dir_all(folder).map_err(|source| RenderError::Folder {
        path: folder.to_owned(),
        source,
    })?;
    let mix_before = measure(mix, sample_rate_hz, 0.0)?;
    let reference_before = measure(reference, sample_rate_hz, 0.0)?;
    let mix_lufs = loudness(&mix_before, "mix")?;
    let reference_lufs = loudness(&reference_before, "reference")?;
    let lower_lufs = mix_lufs.min(reference_lufs);
    let mix_gain_db = lower_lufs - mix_lufs;
    let reference_gain_db = lower_lufs - reference_lufs;
    write(
        mix,
        sample_rate_hz,
        mix_gain_db,
        format,
        &folder.join("mix.wav"),
    )?;
    write(
        reference,
        sample_rate_hz,
        reference_gain_db,
        format,
        &folder.join("reference.wav"),
    )?;
    let written = |name: &str, side: Side<'_>| {
        let path = folder.join(name);
        measure(
            Side {
                path: &path,
                start_s: 0.0,
                end_s: side.end_s - side.start_s,
            },
            sample_rate_hz,
            0.0,
        )
    };
    let mix_after = loudness(&written("mix.wav", mix)?, "mix")?;
    let reference_after = loudness(&written("reference.wav", reference)?, "reference")?;
    let pair = Pair {
        mix_gain_db,
        reference_gain_db,
        loudness_lufs: mix_after,
        difference_lu: mix_after - reference_after,
    };
    Ok(pair)
}

fn loudness(summary: &Summary, which: &'static str) -> Result<f64, RenderError> {
    summary
        .integrated_lufs
        .ok_or(RenderError::SilentPassage { which })
}

fn measure(side: Side<'_>, rate_hz: u32, gain_db: f64) -> Result<Summary, RenderError> {
    let mut meter = Meter::new(MeterSettings {
        sample_rate_hz: rate_hz,
        channels: 2,
    })?
    .without_bands();
    each_block(side, rate_hz, gain_db, |left, right| {
        meter.push(&[left, right]);
        Ok(())
    })?;
    Ok(meter.finish().summary)
}

fn write(
    side: Side<'_>,
    rate_hz: u32,
    gain_db: f64,
    format: SampleFormat,
    path: &Path,
) -> Result<(), RenderError> {
    let mut writer = WavWriter::create(path, rate_hz, 2, format)?;
    each_block(side, rate_hz, gain_db, |left, right| {
        Ok(writer.write(&[left, right])?)
    })?;
    writer.finish()?;
    Ok(())
}

/// Reads a passage, with gain and faded ends, block by block.
fn each_block(
    side: Side<'_>,
    rate_hz: u32,
    gain_db: f64,
    mut take: impl FnMut(&[f64], &[f64]) -> Result<(), RenderError>,
) -> Result<(), RenderError> {
    let mut reader = TrackReader::open(side.path, rate_hz, 0)?;
    let start = seconds_to_frames(side.start_s, rate_hz);
    let whole = seconds_to_frames(side.end_s, rate_hz).saturating_sub(start) as usize;
    let fade = seconds_to_frames(FADE_S, rate_hz) as usize;
    let gain = db_to_gain(gain_db).map_err(|source| RenderError::Design {
        track: side.path.display().to_string(),
        source,
    })?;
    reader.seek(start)?;
    let (mut left, mut right) = (vec![0.0; BLOCK_FRAMES], vec![0.0; BLOCK_FRAMES]);
    let mut done = 0;
    while done < whole {
        let wanted = BLOCK_FRAMES.min(whole - done);
        let read = reader.read(&mut left[..wanted], &mut right[..wanted])?;
        for channel in [&mut left, &mut right] {
            channel[read..wanted].fill(0.0);
            for (i, sample) in channel[..wanted].iter_mut().enumerate() {
                *sample *= gain * edge(done + i, whole, fade);
            }
        }
        take(&left[..wanted], &right[..wanted])?;
        done += wanted;
    }
    Ok(())
}

/// 1 inside, falling in a straight line to 0 at both ends.
fn edge(frame: usize, whole: usize, fade: usize) -> f64 {
    let from_end = frame.min(whole - 1 - frame);
    if from_end >= fade {
        1.0
    } else {
        from_end as f64 / fade as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_fade() {
        assert_eq!(edge(0, 1000, 10), 0.0);
        assert_eq!(edge(5, 1000, 10), 0.5);
        assert_eq!(edge(10, 1000, 10), 1.0);
        assert_eq!(edge(999, 1000, 10), 0.0);
    }
}
