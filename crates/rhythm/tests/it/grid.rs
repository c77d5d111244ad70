//! Tempo, offset, octave, swing and bars of steady patterns.

use cupel_rhythm::{Grid, GridKind, TempoSettings};

use crate::drums::{BROKEN, Beat, HOUSE, grid_of};

/// Distance modulo a length.
fn apart_s(a: f64, b: f64, length_s: f64) -> f64 {
    let places = (a - b) / length_s;
    (places - places.round()).abs() * length_s
}

/// Tempo within 0.01 BPM and phase within 10 ms of what the pattern was made
/// with.
fn check(beat: &Beat) -> Grid {
    let grid = grid_of(&beat.samples(), &TempoSettings::default());
    assert_eq!(grid.kind, GridKind::Steady);
    let tempo_bpm = grid.tempo_bpm.expect("a tempo");
    assert!((tempo_bpm - beat.tempo_bpm).abs() < 0.01, "{tempo_bpm}");
    let offset_s = grid.beat_offset_s.expect("an offset");
    assert!(
        apart_s(offset_s, beat.start_s, beat.beat_s()) < 0.01,
        "{offset_s}"
    );
    grid
}

#[test]
fn kick_on_every_beat() {
    for tempo_bpm in [96.0, 118.37, 124.0, 139.91] {
        check(&Beat { tempo_bpm, ..HOUSE });
    }
}

#[test]
fn broken_beat_keeps_its_octave() {
    for tempo_bpm in [132.5, 172.0] {
        check(&Beat {
            tempo_bpm,
            ..BROKEN
        });
    }
}

#[test]
fn a_quarter_minute_suffices_for_a_twentieth() {
    let beat = Beat { bars: 8, ..HOUSE };
    let grid = grid_of(&beat.samples(), &TempoSettings::default());
    assert!((grid.tempo_bpm.unwrap() - 124.0).abs() < 0.05);
}

#[test]
fn swing_is_measured() {
    for swing in [0.5, 0.56, 0.62] {
        let grid = check(&Beat { swing, ..HOUSE });
        let found = grid.swing.unwrap();
        assert!((found - swing).abs() < 0.01, "{found} for {swing}");
    }
}

#[test]
fn no_sixteenths_no_swing() {
    let hat = "x.x.x.x.x.x.x.x.";
    assert_eq!(check(&Beat { hat, ..HOUSE }).swing, None);
}

#[test]
fn bar_lines_follow_the_bass() {
    for beat in [HOUSE, BROKEN] {
        let grid = check(&beat);
        assert_eq!(grid.beats_per_bar, Some(4));
        let first_s = grid.first_downbeat_s.unwrap();
        assert!(
            apart_s(first_s, beat.start_s, beat.bar_s()) < 0.01,
            "{first_s}"
        );
    }
}

#[test]
fn three_beats_a_bar() {
    let beat = Beat {
        kick: "x...x...x...",
        snare: "....x.......",
        hat: "xxxxxxxxxxxx",
        bars: 40,
        ..HOUSE
    };
    let grid = check(&beat);
    assert_eq!(grid.beats_per_bar, Some(3));
    let first_s = grid.first_downbeat_s.unwrap();
    assert!(
        apart_s(first_s, beat.start_s, beat.bar_s()) < 0.01,
        "{first_s}"
    );
}

#[test]
fn a_delay_moves_the_grid() {
    let samples = HOUSE.samples();
    let plain = grid_of(&samples, &TempoSettings::default());
    for delay in [1usize, 100, 1234, 9_999] {
        let mut later = vec![0.0; delay];
        later.extend_from_slice(&samples);
        let grid = grid_of(&later, &TempoSettings::default());
        let moved_s = grid.beat_offset_s.unwrap() - plain.beat_offset_s.unwrap();
        let delay_s = delay as f64 / 48_000.0;
        assert!(
            apart_s(moved_s, delay_s, HOUSE.beat_s()) < 0.001,
            "{moved_s} for {delay_s}"
        );
    }
}

#[test]
fn a_range_settles_the_octave() {
    let samples = HOUSE.samples();
    for (range, expected) in [((55.0, 80.0), 62.0), ((100.0, 140.0), 124.0)] {
        let settings = TempoSettings {
            range_bpm: Some(range),
            ..TempoSettings::default()
        };
        let tempo_bpm = grid_of(&samples, &settings).tempo_bpm.unwrap();
        assert!((tempo_bpm - expected).abs() < 0.01, "{tempo_bpm}");
    }
}

#[test]
fn a_given_tempo_is_trusted() {
    let settings = TempoSettings {
        given_bpm: Some(124.0),
        ..TempoSettings::default()
    };
    let grid = grid_of(&HOUSE.samples(), &settings);
    assert!((grid.tempo_bpm.unwrap() - 124.0).abs() < 1e-9);
    assert!(apart_s(grid.beat_offset_s.unwrap(), 0.25, HOUSE.beat_s()) < 0.005);
}

#[test]
fn beats_and_bars_are_listed() {
    let grid = check(&HOUSE);
    let beats = grid.beats(20.0);
    assert_eq!(beats.len(), ((20.0 - 0.25) / HOUSE.beat_s()) as usize + 1);
    for (k, bar_s) in grid.bars_s(20.0).iter().enumerate() {
        let expected_s = HOUSE.start_s + k as f64 * HOUSE.bar_s();
        assert!((bar_s - expected_s).abs() < 0.01, "{bar_s}");
        assert!(beats.iter().any(|beat| (beat - bar_s).abs() < 1e-9));
    }
    assert_eq!(grid.bars_s(20.0).len(), 11);
}
