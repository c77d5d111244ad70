//! Where there is no grid: silence, pads, drift; and odd input.

use cupel_rhythm::{GridKind, OnsetMeter, TempoSettings, find_grid};

use crate::drums::{HOUSE, RATE_HZ, burst, grid_of, kick};

#[test]
fn silence_and_nothing_have_no_grid() {
    for frames in [0, 100, 48_000 * 20] {
        let grid = grid_of(&vec![0.0; frames], &TempoSettings::default());
        assert_eq!(grid.kind, GridKind::CannotTell);
        assert_eq!((grid.tempo_bpm, grid.first_downbeat_s), (None, None));
        assert_eq!((grid.sure_tempo, grid.sure_downbeat), (0.0, 0.0));
    }
}

#[test]
fn a_pad_has_no_grid() {
    // chords that swell in over 2 s, a new one every 7.3 s
    let rate = f64::from(RATE_HZ);
    let samples: Vec<f64> = (0..60 * RATE_HZ as usize)
        .map(|n| {
            let t = n as f64 / rate;
            let inside = t % 7.3;
            let swell = (inside / 2.0).min((7.3 - inside) / 2.0).min(1.0);
            let root = [110.0, 130.81, 98.0][(t / 7.3) as usize % 3];
            let chord: f64 = [1.0, 1.5, 2.0, 2.378]
                .iter()
                .map(|ratio| (std::f64::consts::TAU * root * ratio * t).sin())
                .sum();
            0.1 * swell * chord
        })
        .collect();
    let grid = grid_of(&samples, &TempoSettings::default());
    assert_eq!(grid.kind, GridKind::CannotTell);
}

#[test]
fn drift_gives_a_list_of_beats() {
    let mut samples = vec![0.0; 60 * RATE_HZ as usize];
    let mut truth_s = Vec::new();
    let (kick, hat) = (kick(), burst(0.015, 0.12, true));
    let mut time_s = 0.3f64;
    while time_s < 59.0 {
        truth_s.push(time_s);
        let gap_s = 0.5 * (1.0 + 0.04 * (time_s / 6.0).sin());
        for (sound, at_s) in [(&kick, time_s), (&hat, time_s + 0.5 * gap_s)] {
            let start = (at_s * f64::from(RATE_HZ)) as usize;
            for (out, x) in samples[start..].iter_mut().zip(sound) {
                *out += x;
            }
        }
        time_s += gap_s;
    }
    let grid = grid_of(&samples, &TempoSettings::default());
    assert_eq!(grid.kind, GridKind::Drifting);
    let near = |time_s: f64, list: &[f64]| list.iter().any(|other| (other - time_s).abs() < 0.02);
    let found = truth_s.iter().filter(|&&t| near(t, &grid.beats_s)).count();
    let real = grid.beats_s.iter().filter(|&&t| near(t, &truth_s)).count();
    assert!(found as f64 > 0.95 * truth_s.len() as f64, "{found}");
    assert!(real as f64 > 0.95 * grid.beats_s.len() as f64, "{real}");
    let bars_s = grid.bars_s(60.0);
    assert!(bars_s.len() > 20, "{}", bars_s.len());
    assert!(bars_s.iter().all(|bar| grid.beats_s.contains(bar)));
}

#[test]
fn crackle_has_no_grid() {
    let mut noise = crate::drums::noise(3);
    let mut samples = vec![0.0; 40 * RATE_HZ as usize];
    let click = burst(0.004, 0.5, true);
    for _ in 0..240 {
        let start = ((0.5 + 0.5 * noise()) * 39.0 * f64::from(RATE_HZ)) as usize;
        for (out, x) in samples[start..].iter_mut().zip(&click) {
            *out += x;
        }
    }
    let grid = grid_of(&samples, &TempoSettings::default());
    assert_eq!(grid.kind, GridKind::CannotTell);
}

#[test]
fn blocks_do_not_matter() {
    let samples = HOUSE.samples();
    let grid = |block: usize| {
        let mut meter = OnsetMeter::new(RATE_HZ, 2);
        for part in samples.chunks(block) {
            meter.push(&[part, part]);
        }
        find_grid(&meter.finish(), &TempoSettings::default())
    };
    assert_eq!(grid(777), grid(16_384));
}

#[test]
fn opposite_sides_do_not_cancel() {
    let left = HOUSE.samples();
    let right: Vec<f64> = left.iter().map(|x| -x).collect();
    let mut meter = OnsetMeter::new(RATE_HZ, 2);
    meter.push(&[&left, &right]);
    let grid = find_grid(&meter.finish(), &TempoSettings::default());
    assert!((grid.tempo_bpm.unwrap() - HOUSE.tempo_bpm).abs() < 0.01);
}

#[test]
fn samples_that_are_no_numbers_play_as_silence() {
    let mut samples = HOUSE.samples();
    samples[100_000] = f64::NAN;
    samples[200_000] = f64::INFINITY;
    let grid = grid_of(&samples, &TempoSettings::default());
    assert!((grid.tempo_bpm.unwrap() - HOUSE.tempo_bpm).abs() < 0.01);
}

#[test]
fn other_rates_give_the_same_tempo() {
    // every second sample of 96 kHz is 48 kHz: the same sound at half the rate
    let samples = HOUSE.samples();
    let doubled: Vec<f64> = samples.iter().flat_map(|&x| [x, x]).collect();
    let mut meter = OnsetMeter::new(2 * RATE_HZ, 1);
    meter.push(&[&doubled]);
    let grid = find_grid(&meter.finish(), &TempoSettings::default());
    assert!((grid.tempo_bpm.unwrap() - HOUSE.tempo_bpm).abs() < 0.01);
}
