//! The engine beside the processors themselves, run over the whole at once.

// A test that cannot go on should stop where it is.
#![allow(clippy::unwrap_used)]

use cupel_engine::{
    BLOCK_FRAMES, Engine, LEAD_FRAMES, MixSettings, PIECE_FRAMES, Reach, TrackSettings, piece,
};
use cupel_process::{
    Breakpoint, Bus, GainCurve, GroupSettings, LowCutSettings, Mixer, Slope, Strip, StripSettings,
};

const RATE_HZ: f64 = 48_000.0;
const PIECES: usize = 12;
const FRAMES: usize = PIECES * PIECE_FRAMES;

fn noise(track: usize) -> Vec<f64> {
    let mut state = track as u64 + 1;
    (0..FRAMES)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            f64::from(((state >> 40) as f32 / (1 << 24) as f32) - 0.5)
        })
        .collect()
}

fn track(delay_frames: i64, strip: StripSettings) -> TrackSettings {
    TrackSettings {
        plays: true,
        group: None,
        delay_frames,
        strip,
    }
}

fn settings() -> MixSettings {
    let low_cuts = vec![LowCutSettings {
        cutoff_hz: 60.0,
        slope: Slope::Db24PerOctave,
    }];
    let point = |frame, gain_db| Breakpoint { frame, gain_db };
    let curves = vec![GainCurve::new(vec![
        point(10_000, 0.0),
        point(60_000, -7.0),
    ])];
    let mut tracks = vec![
        track(
            -50,
            StripSettings {
                low_cuts,
                ..StripSettings::default()
            },
        ),
        track(
            3_000,
            StripSettings {
                curves,
                inverted: true,
                ..StripSettings::default()
            },
        ),
        track(
            0,
            StripSettings {
                gain_db: 2.0,
                pan: 0.4,
                ..StripSettings::default()
            },
        ),
    ];
    tracks[0].group = Some(0);
    let groups = vec![GroupSettings { gain_db: -2.0 }];
    MixSettings { tracks, groups }
}

/// The engine with all pieces but one.
fn engine(without: Option<usize>) -> Engine {
    let tracks = settings().tracks.len();
    let mut engine = Engine::new(tracks, RATE_HZ, PIECES + 1, 2);
    let first = LEAD_FRAMES / PIECE_FRAMES as u64;
    let sound: Vec<Vec<f64>> = (0..tracks).map(noise).collect();
    let silence = vec![0.0; PIECE_FRAMES];
    for number in 0..=PIECES {
        let side = |track: usize| match number.checked_sub(1) {
            Some(n) => &sound[track][n * PIECE_FRAMES..(n + 1) * PIECE_FRAMES],
            None => &silence[..],
        };
        let sides: Vec<(&[f64], &[f64])> = (0..tracks).map(|t| (side(t), side(t))).collect();
        let bytes = piece::encode(&sides);
        engine.slot(number).unwrap()[..bytes.len()].copy_from_slice(&bytes);
        let index = first + number as u64 - 1;
        if number.checked_sub(1) != without || number == 0 {
            assert!(engine.fill(number, index, bytes.len()));
        }
    }
    engine.set(0, &settings()).unwrap();
    engine
}

fn play(engine: &mut Engine, frames: usize, block: usize) -> Vec<f32> {
    let mut left = Vec::new();
    while left.len() < frames {
        let count = engine.render(0, block.min(frames - left.len()));
        assert!(count > 0, "nothing comes after {} frames", left.len());
        left.extend_from_slice(&engine.heard()[..count]);
    }
    left
}

/// The left side by strips and mixer alone, each given everything in one call.
fn whole(frames: usize) -> Vec<f32> {
    let settings = settings();
    let buses: Vec<Bus> = settings
        .tracks
        .iter()
        .enumerate()
        .map(|(number, track)| {
            let sound = noise(number);
            let at = |frame: i64| usize::try_from(frame).map_or(0.0, |frame| sound[frame]);
            let shifted: Vec<f64> = (0..frames as i64)
                .map(|f| at(f - track.delay_frames))
                .collect();
            let mut bus = Bus {
                left: shifted.clone(),
                right: shifted,
            };
            let mut strip = Strip::new(&track.strip, RATE_HZ).unwrap();
            strip.process(&mut bus.left, &mut bus.right);
            bus
        })
        .collect();
    let group_of = settings.tracks.iter().map(|track| track.group).collect();
    let mut mixer = Mixer::new(group_of, &settings.groups, &[]).unwrap();
    let mut mix = Bus::default();
    mixer.sum(&buses, &mut mix, None);
    mix.left.iter().map(|x| *x as f32).collect()
}

#[test]
fn block_by_block_is_the_whole() {
    let expected = whole(80_000);
    for block in [BLOCK_FRAMES, 64, 41] {
        let mut engine = engine(None);
        assert_eq!(engine.reach(0, 0, 0), Reach::Ready);
        assert!(
            play(&mut engine, 80_000, block) == expected,
            "blocks of {block}"
        );
    }
}

#[test]
fn elsewhere_it_has_settled() {
    let expected = whole(80_000);
    let mut engine = engine(None);
    let mut turns = 0;
    while engine.reach(0, 50_001, 1_000) == Reach::Working {
        turns += 1;
    }
    // Eight periods of 60 Hz at 1000 frames a turn.
    assert_eq!(turns, 6);
    let heard = play(&mut engine, 20_000, BLOCK_FRAMES);
    for (frame, (heard, expected)) in heard.iter().zip(&expected[50_001..]).enumerate() {
        assert!(
            (heard - expected).abs() < 1e-6,
            "{frame}: {heard} {expected}"
        );
    }
}

#[test]
fn a_moving_place_is_caught_up_with() {
    let mut engine = engine(None);
    let mut frame = 20_000;
    while engine.reach(0, frame, 512) == Reach::Working {
        frame += 128;
        assert!(frame < 40_000);
    }
    assert_eq!(engine.reach(0, frame, 0), Reach::Ready);
}

#[test]
fn what_has_not_come_is_waited_for() {
    let mut engine = engine(Some(4));
    let gap = 4 * PIECE_FRAMES as u64;
    // Its filters want to hear what has not come.
    assert_eq!(
        engine.reach(0, gap + PIECE_FRAMES as u64 + 60, 1 << 20),
        Reach::Missing
    );
    assert_eq!(engine.reach(0, gap - 4_000, 1 << 20), Reach::Ready);
    let mut frames = 0;
    while engine.render(0, BLOCK_FRAMES) > 0 {
        frames += BLOCK_FRAMES;
    }
    // One track plays 50 frames early.
    assert_eq!(frames, (4_000 - 50) / BLOCK_FRAMES * BLOCK_FRAMES);
    assert_eq!(
        engine.render(1, BLOCK_FRAMES),
        0,
        "a voice without settings is silent"
    );
}

#[test]
fn a_track_left_out_is_not_heard() {
    let mut solo = settings();
    solo.tracks[0].plays = false;
    solo.tracks[1].plays = false;
    let mut engine = engine(None);
    engine.set(0, &solo).unwrap();
    assert_eq!(engine.reach(0, 0, 0), Reach::Ready);
    let mut only = Strip::new(&solo.tracks[2].strip, RATE_HZ).unwrap();
    let (mut left, mut right) = (noise(2), noise(2));
    only.process(&mut left, &mut right);
    let expected: Vec<f32> = left[..5_000].iter().map(|x| *x as f32).collect();
    assert_eq!(play(&mut engine, 5_000, BLOCK_FRAMES), expected);
    assert!(
        engine.set(0, &MixSettings::default()).is_err(),
        "another number of tracks"
    );
}
