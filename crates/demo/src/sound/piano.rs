//! Piano-like: stretched partials of two strings each, and the hammer's knock.
//!
//! Stretch of partials: f_n = n f_0 sqrt(1 + B n^2) (N. H. Fletcher and T. D.
//! Rossing, The Physics of Musical Instruments, 2nd ed. 1998, ch. 12). Strike at
//! one eighth of the string. Decays are rounded common values.

use std::collections::BTreeMap;

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let bright = rng.between(0.8, 1.25) * libm::exp2(0.4 * booth.style.brightness_octaves);
    let mut cache: BTreeMap<(i64, bool), Shot> = BTreeMap::new();
    for event in booth.events {
        let hard = event.velocity > 0.6;
        let shot = cache
            .entry((event.note as i64, hard))
            .or_insert_with(|| string(event.note, hard, bright, rate, rng));
        let gain = velocity_gain(event.velocity);
        let held = booth.frames(event.length_s);
        damped(canvas, booth.frame(event.start_s), shot, gain, held, rate);
    }
}

/// Places a note and lets the damper fall after `held` frames.
fn damped(canvas: &mut Canvas, at: usize, shot: &Shot, gain: f64, held: usize, rate: f64) {
    let damper = pole(0.07, rate);
    let mut level = gain;
    for (index, (left, right)) in shot.left.iter().zip(&shot.right).enumerate() {
        if index > held {
            level *= damper;
            if level < 1e-5 * gain {
                break;
            }
        }
        canvas.add(at + index, level * left, level * right);
    }
}

fn string(note: f64, hard: bool, bright: f64, rate: f64, rng: &mut Rng) -> Shot {
    let f0 = note_hz(note);
    let stretch = 0.0003 * libm::exp2((note - 60.0) / 9.0);
    // low strings ring longer
    let ring_s = 0.9 * libm::exp2((60.0 - note) / 18.0);
    let frames = ((3.0 * ring_s).min(3.0) * rate) as usize;
    let corner_hz = bright * if hard { 2300.0 } else { 1300.0 };
    let mut shot = Shot {
        left: vec![0.0; frames],
        right: vec![0.0; frames],
    };
    let place = ((note - 62.0) / 40.0).clamp(-0.45, 0.45);
    for partial in 1..=22 {
        let n = f64::from(partial);
        let hz = n * f0 * libm::sqrt(1.0 + stretch * n * n);
        if hz > 0.42 * rate.min(32e3) {
            break;
        }
        let struck = libm::sin(std::f64::consts::PI * n / 8.0).abs() + 0.08;
        let roll = 1.0 / (1.0 + libm::pow(hz / corner_hz, 2.0));
        let amplitude = 0.3 * struck * roll / libm::pow(n, 0.6) * rng.between(0.8, 1.2);
        let decay_s = ring_s / (1.0 + 0.22 * n + (hz / 4000.0));
        for side in [-1.0, 1.0] {
            let cents = side * rng.between(0.2, 0.9);
            let hz = hz * libm::exp2(cents / 1200.0);
            let width = 0.35 * side + place;
            ring(&mut shot, hz, amplitude, decay_s, width, rate, rng);
        }
    }
    knock(&mut shot, hard, rate, rng);
    shot
}

/// One decaying partial: a phasor turned and shrunk once a sample.
fn ring(
    shot: &mut Shot,
    hz: f64,
    amplitude: f64,
    decay_s: f64,
    width: f64,
    rate: f64,
    rng: &mut Rng,
) {
    let turn = std::f64::consts::TAU * hz / rate;
    let shrink = pole(decay_s, rate);
    let (cos, sin) = (shrink * libm::cos(turn), shrink * libm::sin(turn));
    let start = rng.between(-0.4, 0.4);
    let (mut x, mut y) = (amplitude * libm::cos(start), amplitude * libm::sin(start));
    let (to_left, to_right) = (1.0 - width, 1.0 + width);
    let frames = shot.left.len().min((7.5 * decay_s * rate) as usize);
    let rise = (0.0015 * rate) as usize;
    for n in 0..frames {
        let attack = if n < rise {
            n as f64 / rise as f64
        } else {
            1.0
        };
        shot.left[n] += attack * to_left * y;
        shot.right[n] += attack * to_right * y;
        (x, y) = (cos * x - sin * y, sin * x + cos * y);
    }
}

fn knock(shot: &mut Shot, hard: bool, rate: f64, rng: &mut Rng) {
    let mut filter = Svf::new(if hard { 1600.0 } else { 900.0 }, 0.7, rate);
    let decay = pole(0.006, rate);
    let mut level = if hard { 0.35 } else { 0.2 };
    for n in 0..shot.left.len().min((0.05 * rate) as usize) {
        let x = level * filter.process(rng.bipolar()).band;
        shot.left[n] += x;
        shot.right[n] += x;
        level *= decay;
    }
}
