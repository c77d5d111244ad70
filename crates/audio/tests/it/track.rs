//! Files as they play in a session.

use std::path::PathBuf;

use cupel_audio::{AudioError, Reader, SampleFormat, TrackReader, WavWriter};
use tempfile::TempDir;

use crate::support::noise;

/// A float file of this sound.
fn file(folder: &TempDir, rate_hz: u32, channels: &[Vec<f64>]) -> PathBuf {
    let path = folder.path().join("track.wav");
    let mut writer = WavWriter::create(&path, rate_hz, channels.len(), SampleFormat::F32).unwrap();
    writer.write(channels).unwrap();
    writer.finish().unwrap();
    path
}

fn rounded(samples: Vec<f64>) -> Vec<f64> {
    samples.into_iter().map(|x| f64::from(x as f32)).collect()
}

/// Everything from the current place on, read in slices of `block` frames.
fn rest(track: &mut TrackReader, block: usize) -> Result<[Vec<f64>; 2], AudioError> {
    let mut all = [Vec::new(), Vec::new()];
    let (mut left, mut right) = (vec![9.0; block], vec![9.0; block]);
    loop {
        let count = track.read(&mut left, &mut right)?;
        all[0].extend(&left[..count]);
        all[1].extend(&right[..count]);
        if count < block {
            assert_eq!(track.read(&mut left, &mut right)?, 0);
            return Ok(all);
        }
    }
}

#[test]
fn mono_plays_on_both_sides_at_unity() {
    let folder = TempDir::new().unwrap();
    let sound = rounded(noise(1, 20_000));
    let path = file(&folder, 48_000, std::slice::from_ref(&sound));
    let mut track = TrackReader::open(&path, 48_000, 0).unwrap();
    assert!(track.is_mono());
    assert_eq!(track.frames(), Some(20_000));
    assert_eq!(rest(&mut track, 777).unwrap(), [sound.clone(), sound]);
}

#[test]
fn starts_are_shifted_both_ways() {
    let folder = TempDir::new().unwrap();
    let sound = [rounded(noise(1, 3_000)), rounded(noise(2, 3_000))];
    let path = file(&folder, 48_000, &sound);
    for start in [0i64, 500, 2_048, -1, -700, -2_999, -3_000, -5_000] {
        let expected = sound.clone().map(|channel| {
            let mut late = vec![0.0; start.max(0) as usize];
            late.extend(channel.iter().skip((-start).max(0) as usize));
            late
        });
        let mut track = TrackReader::open(&path, 48_000, start).unwrap();
        assert_eq!(track.frames(), Some(expected[0].len() as u64), "{start}");
        assert_eq!(rest(&mut track, 512).unwrap(), expected, "{start}");
    }
}

#[test]
fn seeking_and_slices_change_no_bit() {
    let folder = TempDir::new().unwrap();
    let sound = [rounded(noise(1, 30_000)), rounded(noise(2, 30_000))];
    for file_rate_hz in [48_000, 44_100, 96_000] {
        let path = file(&folder, file_rate_hz, &sound);
        for start in [0i64, 1_000, -1_000] {
            let mut track = TrackReader::open(&path, 48_000, start).unwrap();
            let whole = rest(&mut track, 512).unwrap();
            assert_eq!(Some(whole[0].len() as u64), track.frames());
            for (frame, block) in [(0usize, 1_013), (500, 64), (1_500, 8_192), (14_000, 999)] {
                track.seek(frame as u64).unwrap();
                let part = rest(&mut track, block).unwrap();
                assert!(
                    part[0] == whole[0][frame..],
                    "{file_rate_hz} {start} {frame}"
                );
                assert!(
                    part[1] == whole[1][frame..],
                    "{file_rate_hz} {start} {frame}"
                );
            }
        }
    }
}

/// A click at one tenth of a second stays there whatever the file's rate.
#[test]
fn other_rates_are_on_time() {
    let folder = TempDir::new().unwrap();
    for file_rate_hz in [44_100u32, 88_200, 96_000] {
        let mut sound = vec![0.0; file_rate_hz as usize / 4];
        sound[file_rate_hz as usize / 10] = 1.0;
        let path = file(&folder, file_rate_hz, &[sound]);
        let mut track = TrackReader::open(&path, 48_000, 240).unwrap();
        assert_eq!(track.frames(), Some(12_240));
        let [left, _] = rest(&mut track, 4_800).unwrap();
        let highest = (0..left.len()).max_by(|a, b| left[*a].total_cmp(&left[*b]));
        assert_eq!(highest, Some(4_800 + 240), "{file_rate_hz}");
    }
}

#[test]
fn what_is_not_finite_plays_as_silence() {
    let folder = TempDir::new().unwrap();
    let sound = vec![0.5, f64::NAN, -0.5, f64::INFINITY, f64::NEG_INFINITY, 0.25];
    let path = file(&folder, 48_000, &[sound]);
    let mut reader = Reader::open(&path).unwrap();
    let mut block = Default::default();
    reader.read(&mut block, 10).unwrap();
    assert!(block.channels[0][1].is_nan() && block.channels[0][3].is_infinite());
    let mut track = TrackReader::open(&path, 48_000, 0).unwrap();
    let [left, _] = rest(&mut track, 512).unwrap();
    assert_eq!(left, [0.5, 0.0, -0.5, 0.0, 0.0, 0.25]);
}
