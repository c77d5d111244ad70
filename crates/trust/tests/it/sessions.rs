//! Real sessions: the folder comes from `CUPEL_SESSIONS`; each session holds
//! tracks that sum, as they are, to the true mix.

use std::path::{Path, PathBuf};

use cupel_audio::TrackReader;
use cupel_trust::{Cause, Trust, Verdict};

use crate::music::{limiter, reverb, shelf};
use crate::support::{Sound, Track, judged, mix, sum};

const RATE_HZ: u32 = 48_000;

fn load_sound(path: &Path) -> Sound {
    let mut reader = TrackReader::open(path, RATE_HZ, 0).expect("opens");
    let mut sides = (Vec::new(), Vec::new());
    let mut left = vec![0.0; 8192];
    let mut right = vec![0.0; 8192];
    loop {
        let count = reader.read(&mut left, &mut right).expect("reads");
        if count == 0 {
            return Sound::new(sides.0, sides.1);
        }
        sides.0.extend(left[..count].iter().map(|s| *s as f32));
        sides.1.extend(right[..count].iter().map(|s| *s as f32));
    }
}

/// Sessions found, by name; says so where there are none.
fn sessions() -> Vec<(String, Vec<Track>)> {
    let Some(root) = std::env::var_os("CUPEL_SESSIONS").map(PathBuf::from) else {
        println!("skipped: CUPEL_SESSIONS is not set");
        return Vec::new();
    };
    let mut found = Vec::new();
    for name in ["one", "two", "three"] {
        let folder = root.join(name).join("tracks");
        let Ok(entries) = std::fs::read_dir(&folder) else {
            println!("skipped: no session `{name}` in CUPEL_SESSIONS");
            continue;
        };
        let mut paths: Vec<PathBuf> = entries.filter_map(|e| e.ok().map(|e| e.path())).collect();
        paths.sort();
        let tracks = paths
            .iter()
            .map(|path| {
                let file = path.file_stem().expect("has a name").to_string_lossy();
                Track::new(&file, load_sound(path))
            })
            .collect();
        found.push((name.to_owned(), tracks));
    }
    found
}

/// One line of the table that is printed, and the judgement.
fn row(session: &str, what: &str, tracks: &[Track], rough: Option<&Sound>) -> Trust {
    let trust = judged(tracks, rough, RATE_HZ);
    let db = |value: Option<f64>| value.map_or("-".to_owned(), |db| format!("{db:.1}"));
    let causes: Vec<String> = trust
        .differences
        .iter()
        .map(|d| format!("{:?}", d.cause))
        .collect();
    println!(
        "{session:6} {what:24} {:13} left {:>7} raw {:>7} faders {:?} left out {} starts {} {}",
        format!("{:?}", trust.verdict),
        db(trust.residual_db),
        db(trust.raw_residual_db),
        trust.faders_in_files,
        trust.tracks_left_out.len(),
        trust.starts.len(),
        causes.join(", ")
    );
    trust
}

fn first_cause(trust: &Trust) -> Option<Cause> {
    trust.differences.first().map(|d| d.cause)
}

fn loudest(tracks: &[Track]) -> usize {
    let energy = |t: &Track| t.sound.left.iter().map(|s| f64::from(s * s)).sum::<f64>();
    (0..tracks.len())
        .max_by(|&a, &b| energy(&tracks[a]).total_cmp(&energy(&tracks[b])))
        .expect("has tracks")
}

#[test]
fn the_mix_itself_and_its_faders() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        let trust = row(&name, "no bounce", &tracks, None);
        assert!(trust.tracks_left_out.is_empty() && trust.near_identical.is_empty());
        let trust = row(&name, "the true mix", &tracks, Some(&truth));
        assert_eq!(trust.verdict, Verdict::AddsUp);
        assert_eq!(trust.faders_in_files, Some(true));
        let moved: Vec<f64> = (0..tracks.len())
            .map(|i| ((i * 5) % 9) as f64 - 5.0)
            .collect();
        let trust = row(&name, "faders moved", &tracks, Some(&mix(&tracks, &moved)));
        assert_eq!(trust.faders_in_files, Some(false));
        let overall_db = trust.rough_gain_db.unwrap_or(0.0);
        for (gain, truth_db) in trust.gains.iter().zip(&moved) {
            let found_db = gain.gain_db.expect("heard") + overall_db;
            assert!((found_db - truth_db).abs() < 0.1, "{gain:?} {truth_db}");
        }
    }
}

#[test]
fn something_is_missing() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        let mut fewer = tracks.clone();
        fewer.remove(loudest(&tracks));
        let trust = row(&name, "loudest track missing", &fewer, Some(&truth));
        assert_eq!(trust.verdict, Verdict::DoesNotAddUp);
        assert_eq!(first_cause(&trust), Some(Cause::MissingTrack));
        let mut sent = tracks[1].sound.scaled(0.7);
        sent.add(&tracks[7].sound, 0.7, 0);
        let mut rough = truth.clone();
        rough.add(&reverb(&sent, RATE_HZ, 1.5), 0.4, 0);
        let trust = row(&name, "reverb return missing", &tracks, Some(&rough));
        assert_eq!(first_cause(&trust), Some(Cause::Return));
    }
}

#[test]
fn something_works_on_the_mix() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        let rough = limiter(&truth, RATE_HZ, 0.5 * truth.peak());
        let trust = row(&name, "limiter, 6 dB", &tracks, Some(&rough));
        assert_eq!(trust.verdict, Verdict::AddsUpBut);
        assert_eq!(first_cause(&trust), Some(Cause::MixDynamics));
        let rough = shelf(&truth, RATE_HZ, 500.0, -4.0);
        let trust = row(&name, "shelf, -4 dB", &tracks, Some(&rough));
        assert_eq!(first_cause(&trust), Some(Cause::MixTone));
        assert!(trust.can_judge_balance);
    }
}

#[test]
fn lossy_bounces_add_up() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        for kbps in [128, 192, 320] {
            let Some(rough) = coded(&truth, kbps) else {
                println!("skipped: ffmpeg cannot write MP3 here");
                return;
            };
            let trust = row(&name, &format!("MP3, {kbps} kbit/s"), &tracks, Some(&rough));
            assert_eq!(trust.verdict, Verdict::AddsUp, "{}", trust.sentence);
        }
    }
}

#[test]
fn sums_among_the_tracks_are_left_out() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        let mut more = tracks.clone();
        more.insert(2, Track::new("group", sum(&tracks[4..9])));
        more.push(Track::new("mix", truth.clone()));
        let trust = row(&name, "group and mix inside", &more, Some(&truth));
        let left_out: Vec<&str> = trust
            .tracks_left_out
            .iter()
            .map(|l| l.id.as_str())
            .collect();
        assert_eq!(left_out, ["group", "mix"]);
        assert_eq!(trust.tracks_left_out[0].of.len(), 5);
        assert_eq!(trust.verdict, Verdict::AddsUp);
    }
}

#[test]
fn trimmed_files_come_back_to_the_sample() {
    for (name, tracks) in sessions() {
        let truth = sum(&tracks);
        let trimmed = |track: &Track| {
            let (start, end) = track.sound.sounding();
            let mut cut = track.clone();
            cut.sound = track.sound.cut(start, end - start);
            (cut, start as u64)
        };
        for index in [1, 4, 8] {
            let mut changed = tracks.clone();
            let (cut, start) = trimmed(&tracks[index]);
            changed[index] = cut;
            let what = format!("{} trimmed", tracks[index].name);
            let trust = row(&name, &what, &changed, Some(&truth));
            let found = trust.starts.first().map_or(0, |s| s.start_frames);
            assert_eq!(found, start, "{what}");
        }
        let (all, starts): (Vec<Track>, Vec<u64>) = tracks.iter().map(trimmed).unzip();
        let trust = row(&name, "all trimmed", &all, Some(&truth));
        let lag = trust.rough_lag_samples.expect("placed");
        for (track, start) in all.iter().zip(&starts) {
            let found = trust.starts.iter().find(|s| s.id == track.name);
            let found = found.map_or(0, |s| s.start_frames as i64) + lag;
            assert_eq!(found, *start as i64, "{}", track.name);
        }
    }
}

/// `sound` through MP3 and back; `None` without an encoder.
fn coded(sound: &Sound, kbps: u32) -> Option<Sound> {
    let folder = tempfile::tempdir().expect("temporary folder");
    let (wav, mp3) = (folder.path().join("mix.raw"), folder.path().join("mix.mp3"));
    let bytes: Vec<u8> = sound
        .left
        .iter()
        .zip(sound.right.iter())
        .flat_map(|(left, right)| [left.to_le_bytes(), right.to_le_bytes()])
        .flatten()
        .collect();
    std::fs::write(&wav, bytes).expect("writes");
    let status = std::process::Command::new("ffmpeg")
        .args([
            "-loglevel",
            "error",
            "-f",
            "f32le",
            "-ar",
            "48000",
            "-ac",
            "2",
            "-i",
        ])
        .arg(&wav)
        .args(["-b:a", &format!("{kbps}k")])
        .arg(&mp3)
        .status();
    matches!(status, Ok(status) if status.success()).then(|| load_sound(&mp3))
}
