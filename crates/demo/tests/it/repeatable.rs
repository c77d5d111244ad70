//! Same settings, same bits; other seeds, other songs.

use cupel_demo::{DemoSettings, Role, Session, Style, compose, make};

use crate::support::{channel, short};

fn in_threads(settings: &DemoSettings, threads: usize) -> Session {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap();
    pool.install(|| make(settings)).unwrap()
}

fn bits(session: &Session) -> Vec<u64> {
    let tracks = session.tracks.iter().flat_map(|track| {
        (0..track.samples.channels()).flat_map(|side| channel(&track.samples, side))
    });
    let reference = session.reference.samples.iter().flatten().copied();
    tracks.chain(reference).map(f64::to_bits).collect()
}

#[test]
fn threads_change_no_bit() {
    let settings = short(3);
    let (one, four) = (in_threads(&settings, 1), in_threads(&settings, 4));
    assert_eq!(one.truth, four.truth);
    assert!(bits(&one) == bits(&four));
}

#[test]
fn seeds_give_other_songs() {
    let songs: Vec<_> = (0..6).map(|seed| compose(&short(seed)).unwrap()).collect();
    for (index, song) in songs.iter().enumerate() {
        let session = &song.session;
        assert_ne!(session.key, song.reference.key, "seed {index}");
        assert_ne!(session.tempo_bpm(), song.reference.tempo_bpm());
        assert!((session.tempo_bpm() - song.reference.tempo_bpm()).abs() <= 4.0);
    }
    let (one, two) = (make(&short(0)).unwrap(), make(&short(1)).unwrap());
    for (a, b) in one.tracks.iter().zip(&two.tracks) {
        assert!(
            channel(&a.samples, 0) != channel(&b.samples, 0),
            "{}",
            a.file
        );
    }
    let offsets = |session: &Session| -> Vec<f64> {
        let tracks = session.truth.tracks.iter();
        tracks.map(|track| track.level_offset_db).collect()
    };
    assert_ne!(offsets(&one), offsets(&two));
}

#[test]
fn every_style_density_and_metre_gives_tracks_that_sound() {
    for (index, style) in Style::ALL.into_iter().enumerate() {
        let settings = DemoSettings {
            style,
            density: index as f64 / 7.0,
            voice: index % 2 == 0,
            beats_per_bar: if index == 5 { 3 } else { 4 },
            ..short(20 + index as u64)
        };
        let session = make(&settings).unwrap();
        let count = session.tracks.len();
        assert!((12..=16).contains(&count), "{style:?}: {count}");
        let voice = session.tracks.iter().any(|track| track.role == Role::Voice);
        assert_eq!(voice, settings.voice);
        for truth in &session.truth.tracks {
            let lufs = truth.integrated_lufs.unwrap_or(f64::NEG_INFINITY);
            assert!(lufs > -60.0, "{style:?} {}: {lufs}", truth.file);
        }
    }
}

#[test]
fn wishes_are_met() {
    let settings = DemoSettings {
        tempo_bpm: Some(111.5),
        swing: Some(0.6),
        key: Some(cupel_demo::Key {
            tonic: 3,
            mode: cupel_demo::Mode::Major,
        }),
        sample_rate_hz: 48_000,
        ..short(1)
    };
    let truth = make(&settings).unwrap().truth;
    assert_eq!(truth.tempo_bpm, 111.5);
    assert_eq!(truth.swing, 0.6);
    assert_eq!(truth.key, "D# major");
    assert_eq!(truth.sample_rate_hz, 48_000);
    assert!(
        (truth.mix.seconds - 30.0).abs() < 4.0,
        "{}",
        truth.mix.seconds
    );
}
