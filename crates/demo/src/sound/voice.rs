//! Vowel-like voice: a saw for the vocal folds, parallel formants, vibrato,
//! breath, and noises for consonants.
//!
//! Formants: G. E. Peterson and H. L. Barney, "Control Methods Used in a Study of
//! the Vowels", JASA 24, 1952, table II, women, rounded; the fourth is a common
//! value.

use super::canvas::Canvas;
use super::filter::Svf;
use super::oscillator::{Saws, Sine, advance};
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;
use crate::score::Event;

/// a, e, i, o, u.
const FORMANTS_HZ: [[f64; 4]; 5] = [
    [850.0, 1220.0, 2810.0, 4000.0],
    [610.0, 2330.0, 2990.0, 4200.0],
    [310.0, 2790.0, 3310.0, 4300.0],
    [590.0, 920.0, 2710.0, 3900.0],
    [370.0, 950.0, 2670.0, 3900.0],
];
const BANDWIDTHS_HZ: [f64; 4] = [90.0, 110.0, 170.0, 250.0];
const GAINS: [f64; 4] = [1.0, 0.55, 0.35, 0.25];
const VOWELS: usize = FORMANTS_HZ.len();

struct Singer {
    size: f64,
    vibrato_hz: f64,
    vibrato_notes: f64,
    breath: f64,
    presence: f64,
}

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let singer = Singer {
        size: rng.between(0.9, 1.06),
        vibrato_hz: rng.between(4.9, 6.0),
        vibrato_notes: rng.between(0.15, 0.35),
        breath: rng.between(0.03, 0.09),
        presence: rng.between(0.08, 0.2),
    };
    let mut before: Option<Event> = None;
    for event in booth.events {
        // legato where the last syllable ended just now
        let from = before.filter(|b| event.start_s - b.start_s - b.length_s < 0.12);
        singer.syllable(booth, event, from, canvas, rng);
        singer.consonant(booth, event, canvas, rng);
        before = Some(*event);
    }
}

impl Singer {
    fn syllable(
        &self,
        booth: &Booth<'_>,
        event: &Event,
        from: Option<Event>,
        canvas: &mut Canvas,
        rng: &mut Rng,
    ) {
        let rate = booth.sample_rate_hz;
        let sine = Sine::new();
        let target = FORMANTS_HZ[event.variant % VOWELS];
        let origin = from.map_or(target, |b| FORMANTS_HZ[b.variant % VOWELS]);
        let scoop = from.map_or(event.note - rng.between(0.2, 1.2), |b| b.note);
        let held = booth.frames(event.length_s);
        let (rise, fall) = (0.03 * rate, 0.09 * rate);
        let gain = velocity_gain(event.velocity);
        let at = booth.frame(event.start_s);
        let mut saw = Saws::new([rng.unit()], [0.01]);
        let mut filters = [Svf::default(); 4];
        let mut air = Svf::new(3000.0, 0.7, rate);
        let mut lips = Svf::new(8000.0, 0.6, rate);
        let (mut wobble, mut jitter) = (rng.unit(), 0.0);
        for n in 0..held + fall as usize {
            if n.is_multiple_of(32) {
                let time_s = n as f64 / rate;
                let glide = libm::exp(-time_s / 0.035);
                jitter += 0.02 * rng.normal() - 0.1 * jitter;
                let vibrato = self.vibrato_notes * ((time_s - 0.2) / 0.4).clamp(0.0, 1.0);
                let note =
                    event.note + glide * (scoop - event.note) + vibrato * sine.at(wobble) + jitter;
                saw.tune(0, note_hz(note) / rate);
                advance(&mut wobble, 32.0 * self.vibrato_hz / rate);
                self.shape(&mut filters, &origin, &target, glide, rate);
            }
            let folds = saw.next()[0] + self.breath * rng.bipolar();
            let mouth: f64 = (0..4)
                .map(|f| GAINS[f] * filters[f].process(folds).band)
                .sum();
            let bright = self.presence * air.process(folds).high;
            let level = ((n as f64 + 1.0) / rise).min(1.0)
                * ((held as f64 + fall - n as f64) / fall).clamp(0.0, 1.0);
            let x = gain * level * lips.process(mouth + bright).low;
            canvas.add(at + n, x, x);
        }
    }

    fn shape(
        &self,
        filters: &mut [Svf; 4],
        origin: &[f64; 4],
        target: &[f64; 4],
        glide: f64,
        rate: f64,
    ) {
        for (f, filter) in filters.iter_mut().enumerate() {
            let hz = self.size * (target[f] + glide * (origin[f] - target[f]));
            filter.tune(hz, hz / BANDWIDTHS_HZ[f], rate);
        }
    }

    /// A hiss or a burst just before the vowel; the other two kinds have none.
    fn consonant(&self, booth: &Booth<'_>, event: &Event, canvas: &mut Canvas, rng: &mut Rng) {
        let rate = booth.sample_rate_hz;
        let (centre_hz, length_s, level) = match event.variant / VOWELS {
            1 => (rng.between(5200.0, 7500.0), 0.085, 0.35),
            2 => (rng.between(1800.0, 3200.0), 0.018, 0.5),
            _ => return,
        };
        let length = booth.frames(length_s);
        let at = booth.frame(event.start_s - length_s);
        let mut band = Svf::new(centre_hz, 1.2, rate);
        for n in 0..length {
            let through = n as f64 / length as f64;
            let envelope = 4.0 * through * (1.0 - through);
            let x = level * event.velocity * envelope * band.process(rng.bipolar()).band;
            canvas.add(at + n, x, x);
        }
    }
}
