//! Sub: a sine with a little of its octave. Bass: saw and square through a
//! filter with its own envelope, then drive. Both are mono.

use super::canvas::Canvas;
use super::envelope::{Shape, pole};
use super::filter::Svf;
use super::oscillator::{Saws, Sine, advance, saturate};
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;
use crate::score::Event;

pub(crate) fn render_sub(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let sine = Sine::new();
    let drive = rng.between(0.6, 1.3);
    let shape = Shape {
        attack_s: 0.006,
        decay_s: 0.5,
        sustain: 0.85,
        release_s: 0.02,
    };
    for event in booth.events {
        let held = booth.frames(event.length_s);
        let mut envelope = shape.start(rate);
        let increment = note_hz(event.note) / rate;
        let gain = velocity_gain(event.velocity);
        let at = booth.frame(event.start_s);
        let mut phase = 0.0;
        for n in 0..shape.frames(held, rate) {
            let level = envelope.next(n < held);
            let x = gain * level * saturate(drive * sine.at(phase)) / drive;
            canvas.add(at + n, x, x);
            advance(&mut phase, increment);
        }
    }
}

struct Voice {
    square: f64,
    cutoff_hz: f64,
    open_octaves: f64,
    close_s: f64,
    q: f64,
    drive: f64,
}

pub(crate) fn render_bass(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let voice = Voice {
        square: rng.between(0.0, 0.8),
        cutoff_hz: rng.between(180.0, 340.0) * libm::exp2(0.5 * booth.style.brightness_octaves),
        open_octaves: rng.between(1.6, 3.0),
        close_s: rng.between(0.05, 0.12),
        q: rng.between(0.8, 2.0),
        drive: rng.between(1.0, 2.0),
    };
    for event in booth.events {
        voice.note(booth, event, canvas, rng);
    }
    // the sub has the octave below
    let mut cut = Svf::new(75.0, 0.7, booth.sample_rate_hz);
    canvas.process(booth.frames(0.2), |x, _| {
        let y = cut.process(x).high;
        (y, y)
    });
}

impl Voice {
    fn note(&self, booth: &Booth<'_>, event: &Event, canvas: &mut Canvas, rng: &mut Rng) {
        let rate = booth.sample_rate_hz;
        let shape = Shape {
            attack_s: 0.003,
            decay_s: 0.25,
            sustain: 0.7,
            release_s: 0.018,
        };
        let held = booth.frames(event.length_s);
        let at = booth.frame(event.start_s);
        let increment = note_hz(event.note) / rate;
        let gain = velocity_gain(event.velocity);
        let mut saw = Saws::new([rng.unit()], [increment]);
        let mut square = Saws::new([rng.unit()], [0.998 * increment]);
        let mut filter = Svf::default();
        let mut envelope = shape.start(rate);
        let close = pole(self.close_s, rate / 32.0);
        let mut open = self.open_octaves * (0.6 + 0.4 * event.velocity) * rng.between(0.92, 1.08);
        for n in 0..shape.frames(held, rate) {
            if n % 32 == 0 {
                filter.tune(self.cutoff_hz * libm::exp2(open), self.q, rate);
                open *= close;
            }
            let tone = saw.next()[0] + self.square * square.next_squares()[0];
            let level = envelope.next(n < held);
            let x = gain * saturate(self.drive * level * filter.process(0.6 * tone).low);
            canvas.add(at + n, x, x);
        }
    }
}
