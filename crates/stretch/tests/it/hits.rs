//! Hits fall on the new grid, and nothing of them sounds before.

use cupel_stretch::{StretchPlan, stretch};

use crate::material::{RATE_HZ, add_hat, add_kick, bed, frame, hits, plan, tones};
use crate::meters::{blocks, differences, lag_s};

const TEMPO_BPM: f64 = 124.0;
const START_S: f64 = 1.0;
const BARS: usize = 16;

/// Sixteen bars of hits over tones and noise, with their times.
fn passage() -> (Vec<f64>, Vec<f64>) {
    let frames = frame(BARS as f64 * 240.0 / TEMPO_BPM + 2.0);
    let mut channel = bed(frames, 0.002, 5);
    let pad = tones(frames, &[220.0, 277.18, 329.63, 440.0], 0.02);
    channel.iter_mut().zip(&pad).for_each(|(x, pad)| *x += pad);
    let times = hits(&mut channel, START_S, TEMPO_BPM, BARS);
    (channel, times)
}

/// The goal of the project: onsets within 3 ms of the new grid over 16 bars.
fn check_grid(change: f64, semitones: f64) {
    let (input, times) = passage();
    let new_bpm = TEMPO_BPM * (1.0 + change);
    let plan = plan(START_S, TEMPO_BPM, 4 * BARS, new_bpm, semitones);
    let output = stretch(&[input.clone()], RATE_HZ, &plan).unwrap();
    let (from, to) = (differences(&input), differences(&output[0]));
    let mut seen = 0;
    for at_s in times {
        let new_s = (at_s - START_S) * TEMPO_BPM / new_bpm;
        // The first hit is at the very start: no room to look before it.
        if let (true, Some(lag_s)) = (new_s > 0.03, lag_s(&from, at_s, &to, new_s)) {
            assert!(
                lag_s.abs() <= 0.003,
                "{change} {semitones}: {lag_s} s late at {new_s} s"
            );
            seen += 1;
        }
    }
    assert!(seen >= 16 * BARS - 2, "only {seen} hits were seen");
}

#[test]
fn fall_on_a_faster_grid() {
    check_grid(0.08, 0.0);
}

#[test]
fn fall_on_a_slower_grid() {
    check_grid(-0.08, 0.0);
}

#[test]
fn fall_on_the_grid_when_transposed_too() {
    check_grid(0.04, 3.0);
    check_grid(-0.04, -3.0);
}

/// The goal of the project: nothing more than 5 ms before an onset within 30 dB of it.
fn check_silence_before(change: f64, semitones: f64) {
    let frames = frame(8.0);
    let mut input = vec![0.0; frames];
    for beat in 0..14 {
        let at_s = 0.5 + f64::from(beat) * 0.5;
        if beat % 2 == 0 {
            add_kick(&mut input, at_s, 0.7);
        } else {
            add_hat(&mut input, at_s, 0.5, 3 + beat as u64);
        }
    }
    let new_bpm = 120.0 * (1.0 + change);
    let plan = plan(0.5, 120.0, 13, new_bpm, semitones);
    let output = stretch(&[input], RATE_HZ, &plan).unwrap();
    let power = blocks(&output[0]);
    for beat in 1..13 {
        let hit = (f64::from(beat) * 60.0 / new_bpm / 0.0005).round() as usize;
        let loudest = power[hit..hit + 40].iter().copied().fold(0.0, f64::max);
        // The tail of the hit before is long gone 80 ms before this one.
        let before = power[hit - 160..hit - 10]
            .iter()
            .copied()
            .fold(0.0, f64::max);
        let echo_db = 10.0 * ((before + 1e-20) / loudest).log10();
        assert!(
            echo_db < -30.0,
            "{change} {semitones}: {echo_db} dB before hit {beat}"
        );
    }
}

#[test]
fn are_not_heard_before_they_come() {
    for (change, semitones) in [(0.08, 0.0), (-0.08, 0.0), (0.08, 3.0), (-0.08, -3.0)] {
        check_silence_before(change, semitones);
    }
}

/// A grid that drifts: every beat goes where its own anchor says.
#[test]
fn follow_every_anchor() {
    let mut input = bed(frame(6.0), 0.001, 9);
    let mut at_s = 0.5;
    let mut anchors = Vec::new();
    for beat in 0..9 {
        if beat < 8 {
            add_hat(&mut input, at_s, 0.5, 40 + beat as u64);
        }
        anchors.push((at_s, f64::from(beat) * 0.5));
        at_s += if beat % 2 == 0 { 0.52 } else { 0.47 };
    }
    let plan = StretchPlan {
        anchors: anchors.clone(),
        ..StretchPlan::default()
    };
    let output = stretch(&[input.clone()], RATE_HZ, &plan).unwrap();
    for &(from_s, to_s) in &anchors[1..8] {
        let lag_s = lag_s(&input, from_s, &output[0], to_s).unwrap();
        assert!(lag_s.abs() <= 0.003, "{lag_s} s late at {to_s} s");
    }
}
