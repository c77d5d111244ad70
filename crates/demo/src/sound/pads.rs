//! Pads: held chords of detuned saws, other ones on each side, through a filter
//! that moves slowly.

use super::canvas::Canvas;
use super::envelope::Shape;
use super::filter::Svf;
use super::oscillator::{Saws, Sine, advance};
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;
use crate::role::Role;

pub(crate) fn render(role: Role, booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let warm = role == Role::PadWarm;
    notes(warm, booth, canvas, rng);
    let bright = libm::exp2(booth.style.brightness_octaves);
    let (cutoff_hz, low_cut_hz) = if warm {
        (rng.between(500.0, 900.0) * bright, 150.0)
    } else {
        (rng.between(1800.0, 3200.0) * bright, 350.0)
    };
    breathe(cutoff_hz, low_cut_hz, booth, canvas, rng);
}

/// The chords: two saws a note in the middle and one on each side, all of slightly
/// different pitch.
fn notes(warm: bool, booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let detune_cents = rng.between(4.0, 10.0);
    let breath = if warm { 0.0 } else { rng.between(0.05, 0.2) };
    let shape = Shape {
        attack_s: rng.between(0.12, 0.4),
        decay_s: 2.0,
        sustain: 0.85,
        release_s: rng.between(0.15, 0.35),
    };
    for event in booth.events {
        let held = booth.frames(event.length_s);
        let at = booth.frame(event.start_s);
        let gain = 0.25 * velocity_gain(event.velocity);
        let increments: [f64; 4] = std::array::from_fn(|voice| {
            let sign = if voice % 2 == 0 { 1.0 } else { -1.0 };
            let cents = sign * detune_cents * rng.between(0.6, 1.4);
            note_hz(event.note + cents / 100.0) / rate
        });
        let mut saws = Saws::new(std::array::from_fn(|_| rng.unit()), increments);
        let mut envelope = shape.start(rate);
        for n in 0..shape.frames(held, rate) {
            let level = gain * envelope.next(n < held);
            let [a, b, c, d] = saws.next();
            let (left, right) = (0.8 * (a + b) + c, 0.8 * (a + b) + d);
            let (air_left, air_right) = if breath > 0.0 {
                (breath * rng.bipolar(), breath * rng.bipolar())
            } else {
                (0.0, 0.0)
            };
            canvas.add(
                at + n,
                level * (left + air_left),
                level * (right + air_right),
            );
        }
    }
}

/// Low-pass whose cutoff swings by half an octave over several bars and opens a
/// little through each bar, and a fixed low cut.
fn breathe(cutoff_hz: f64, low_cut_hz: f64, booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let sine = Sine::new();
    let mut cuts = [Svf::new(low_cut_hz, 0.7, rate); 2];
    let mut filters = [Svf::default(); 2];
    let bars = *rng.pick(&[4.0, 8.0, 16.0]);
    let increment = 32.0 / (bars * booth.grid.bar_s() * rate);
    let mut phases = [rng.unit(), rng.unit()];
    let depth = rng.between(0.3, 0.7);
    let mut n = 0usize;
    canvas.process(booth.frames(0.5), |left, right| {
        if n.is_multiple_of(32) {
            for (phase, filter) in phases.iter_mut().zip(&mut filters) {
                filter.tune(cutoff_hz * libm::exp2(depth * sine.at(*phase)), 0.8, rate);
                advance(phase, increment);
            }
        }
        n += 1;
        let left = filters[0].process(cuts[0].process(left).high).low;
        let right = filters[1].process(cuts[1].process(right).high).low;
        (left, right)
    });
}
