//! Folders: what is written, and what is left alone.

use std::fs;

use cupel_demo::{BOUNCE, DemoError, DemoSettings, MARKER, REFERENCE, Truth, generate};

use crate::support::{read_file, short};

fn quiet() -> impl Fn(f64, &str) + Sync {
    |_, _| {}
}

#[test]
fn files_hold_what_the_truth_says() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("demo");
    let made = generate(&folder, &short(5), &quiet()).unwrap();
    let text = fs::read_to_string(folder.join("truth.json")).unwrap();
    let truth: Truth = serde_json::from_str(&text).unwrap();
    assert_eq!(truth, made.truth);
    let mut sum = [Vec::new(), Vec::new()];
    for (track, path) in truth.tracks.iter().zip(&made.tracks) {
        let (channels, rate) = read_file(path);
        assert_eq!(rate, truth.sample_rate_hz);
        assert_eq!(channels.len(), track.channels, "{}", track.file);
        let mono = ["kick", "sub", "bass"].contains(&track.role.as_str());
        assert_eq!(channels.len() == 1, mono, "{}", track.file);
        for (side, sum) in sum.iter_mut().enumerate() {
            let wave = &channels[side.min(channels.len() - 1)];
            sum.resize(wave.len().max(sum.len()), 0.0);
            sum.iter_mut().zip(wave).for_each(|(sum, x)| *sum += x);
        }
    }
    let (bounce, _) = read_file(&folder.join(BOUNCE));
    for (sum, bounce) in sum.iter().zip(&bounce) {
        assert_eq!(sum.len(), bounce.len());
        // the 64-bit sum, rounded once
        assert!(
            sum.iter()
                .zip(bounce)
                .all(|(a, b)| f64::from(*a as f32) == *b)
        );
    }
    let (reference, rate) = read_file(&folder.join(REFERENCE));
    assert_eq!((reference.len(), rate), (2, truth.reference.sample_rate_hz));
    let seconds = reference[0].len() as f64 / f64::from(rate);
    assert!((seconds - truth.reference.mix.seconds).abs() < 1e-4);
}

#[test]
fn a_foreign_folder_is_refused_untouched() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("mine.txt"), "keep").unwrap();
    let error = generate(place.path(), &short(1), &quiet()).unwrap_err();
    assert!(matches!(error, DemoError::ForeignFolder { .. }), "{error}");
    let names: Vec<_> = fs::read_dir(place.path()).unwrap().collect();
    assert_eq!(names.len(), 1);
    let file = place.path().join("mine.txt");
    assert!(generate(&file, &short(1), &quiet()).is_err());
    assert_eq!(fs::read_to_string(file).unwrap(), "keep");
}

#[test]
fn an_earlier_demo_is_replaced_and_other_files_stay() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    let first = generate(folder, &short(1), &quiet()).unwrap();
    assert!(first.left_alone.is_empty());
    fs::write(folder.join("session.toml"), "mine").unwrap();
    // as if stopped half way
    fs::create_dir_all(folder.join(".making/tracks")).unwrap();
    fs::write(folder.join(".making/half.wav"), "half").unwrap();
    let fewer = DemoSettings {
        voice: false,
        density: 0.1,
        ..short(2)
    };
    let second = generate(folder, &fewer, &quiet()).unwrap();
    assert_eq!(second.left_alone, [folder.join("session.toml")]);
    assert_eq!(
        fs::read_to_string(folder.join("session.toml")).unwrap(),
        "mine"
    );
    assert!(second.tracks.len() < first.tracks.len());
    let tracks = fs::read_dir(folder.join("tracks")).unwrap().count();
    assert_eq!(tracks, second.tracks.len());
    assert!(folder.join(MARKER).exists());
    assert!(!folder.join(".making").exists());
}

#[test]
fn a_marker_cannot_point_outside() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("demo");
    fs::create_dir(&folder).unwrap();
    let outside = place.path().join("outside.txt");
    fs::write(&outside, "keep").unwrap();
    let marker = r#"{"version": 1, "files": ["../outside.txt"]}"#;
    fs::write(folder.join(MARKER), marker).unwrap();
    generate(&folder, &short(1), &quiet()).unwrap();
    assert_eq!(fs::read_to_string(outside).unwrap(), "keep");
}
