//! Chords and lead: stacks of detuned saws across the stage, a filter with its
//! own envelope.

use super::canvas::Canvas;
use super::delay;
use super::envelope::{Shape, pole};
use super::filter::Svf;
use super::oscillator::Saws;
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;
use crate::score::Event;
use crate::style::LeadKind;

struct Stack {
    detune_cents: f64,
    /// How far the voices stand apart, 0 to 1.
    spread: f64,
    square: bool,
    shape: Shape,
    cutoff_hz: f64,
    open_octaves: f64,
    close_s: f64,
    q: f64,
}

pub(crate) fn render_chords(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let stack = Stack {
        detune_cents: rng.between(5.0, 14.0),
        spread: rng.between(0.5, 0.9),
        square: rng.chance(0.3),
        shape: Shape {
            attack_s: 0.003,
            decay_s: rng.between(0.08, 0.18),
            sustain: 0.25,
            release_s: rng.between(0.05, 0.12),
        },
        cutoff_hz: rng.between(350.0, 700.0) * libm::exp2(booth.style.brightness_octaves),
        open_octaves: rng.between(1.5, 2.6),
        close_s: rng.between(0.06, 0.14),
        q: rng.between(0.7, 1.6),
    };
    for event in booth.events {
        stack.note::<3>(booth, event, canvas, rng);
    }
    low_cut(canvas, 140.0, booth);
}

pub(crate) fn render_lead(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let line = booth.style.lead == LeadKind::Line;
    let stack = Stack {
        detune_cents: rng.between(8.0, 20.0),
        spread: rng.between(0.3, 0.7),
        square: false,
        shape: Shape {
            attack_s: if line { 0.015 } else { 0.002 },
            decay_s: rng.between(0.1, 0.25),
            sustain: if line { 0.7 } else { 0.2 },
            release_s: rng.between(0.04, 0.12),
        },
        cutoff_hz: rng.between(500.0, 1000.0) * libm::exp2(booth.style.brightness_octaves),
        open_octaves: rng.between(1.8, 3.0),
        close_s: rng.between(0.06, 0.2),
        q: rng.between(0.8, 2.2),
    };
    for event in booth.events {
        stack.note::<5>(booth, event, canvas, rng);
    }
    low_cut(canvas, 160.0, booth);
    delay::print(
        canvas,
        3.0 * booth.grid.step_s(),
        -9.0,
        booth.sample_rate_hz,
    );
}

fn low_cut(canvas: &mut Canvas, cutoff_hz: f64, booth: &Booth<'_>) {
    let mut cuts = [Svf::new(cutoff_hz, 0.7, booth.sample_rate_hz); 2];
    canvas.process(booth.frames(0.2), |left, right| {
        (cuts[0].process(left).high, cuts[1].process(right).high)
    });
}

impl Stack {
    fn note<const VOICES: usize>(
        &self,
        booth: &Booth<'_>,
        event: &Event,
        canvas: &mut Canvas,
        rng: &mut Rng,
    ) {
        let rate = booth.sample_rate_hz;
        let held = booth.frames(event.length_s);
        let at = booth.frame(event.start_s);
        let gain = 0.4 * velocity_gain(event.velocity);
        let places: [f64; VOICES] =
            std::array::from_fn(|voice| 2.0 * voice as f64 / (VOICES - 1) as f64 - 1.0);
        let increments = places.map(|place| {
            let cents = self.detune_cents * (place + 0.15 * rng.normal());
            note_hz(event.note + cents / 100.0) / rate
        });
        // neighbours in pitch stand on opposite sides
        let sides: [f64; VOICES] = std::array::from_fn(|voice| {
            let sign = if voice % 2 == 0 { 1.0 } else { -1.0 };
            self.spread * sign * places[voice]
        });
        let mut saws = Saws::new(std::array::from_fn(|_| rng.unit()), increments);
        let mut filters = [Svf::default(); 2];
        let mut envelope = self.shape.start(rate);
        let close = pole(self.close_s, rate / 32.0);
        let mut open = self.open_octaves * (0.5 + 0.5 * event.velocity) * rng.between(0.93, 1.07);
        for n in 0..self.shape.frames(held, rate) {
            if n % 32 == 0 {
                filters[0].tune(self.cutoff_hz * libm::exp2(open), self.q, rate);
                let state = filters[1];
                filters[1] = filters[0].with_state_of(state);
                open *= close;
            }
            let waves = if self.square {
                saws.next_squares()
            } else {
                saws.next()
            };
            let (mut left, mut right) = (0.0, 0.0);
            for (wave, side) in waves.iter().zip(&sides) {
                left += (1.0 - side) * wave;
                right += (1.0 + side) * wave;
            }
            let level = gain * envelope.next(n < held);
            let left = level * filters[0].process(left).low;
            let right = level * filters[1].process(right).low;
            canvas.add(at + n, left, right);
        }
    }
}
