//! Riser, impact and falling sweep.

use super::canvas::Canvas;
use super::envelope::pole;
use super::filter::Svf;
use super::oscillator::{Saws, Sine, advance};
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;
use crate::score::{Event, IMPACT, RISER};

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    for event in booth.events {
        match event.variant {
            RISER => sweep(booth, event, Way::Up, canvas, rng),
            IMPACT => impact(booth, event, canvas, rng),
            _ => sweep(booth, event, Way::Down, canvas, rng),
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Way {
    Up,
    Down,
}

/// Noise through a moving band; the riser has a gliding tone below.
fn sweep(booth: &Booth<'_>, event: &Event, way: Way, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let length = booth.frames(event.length_s);
    let at = booth.frame(event.start_s);
    let gain = velocity_gain(event.velocity);
    let (low_hz, high_hz) = (rng.between(250.0, 500.0), rng.between(5000.0, 9000.0));
    let octaves = libm::log2(high_hz / low_hz);
    let mut bands = [Svf::default(); 2];
    let mut saws = Saws::new([0.0, 0.5], [0.01; 2]);
    let mut level = 0.0;
    for n in 0..length {
        if n.is_multiple_of(64) {
            let through = n as f64 / length as f64;
            let open = if way == Way::Up {
                through
            } else {
                1.0 - through
            };
            for (side, band) in bands.iter_mut().enumerate() {
                let hz = low_hz * libm::exp2(octaves * open) * (1.0 + 0.04 * side as f64);
                band.tune(hz, 1.4, rate);
            }
            let increment = note_hz(event.note + 24.0 * open) / rate;
            saws.tune(0, increment);
            saws.tune(1, 1.004 * increment);
            level = match way {
                Way::Up => 0.05 + 0.95 * through * through,
                Way::Down => open * open,
            };
        }
        // 5 ms at both ends, so that nothing clicks
        let edge = (n.min(length - n) as f64 / (0.005 * rate)).min(1.0);
        let gain = gain * level * edge;
        let tone = if way == Way::Up { 0.12 } else { 0.0 };
        let middle = 0.6 * rng.bipolar();
        let tones = saws.next();
        let out: [f64; 2] = std::array::from_fn(|c| {
            let saw = tone * tones[c];
            bands[c].process(middle + rng.bipolar() + saw).band + 0.3 * saw
        });
        canvas.add(at + n, gain * out[0], gain * out[1]);
    }
}

/// A falling boom under a burst of noise that darkens.
fn impact(booth: &Booth<'_>, event: &Event, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let sine = Sine::new();
    let length = booth.frames(event.length_s.min(4.0));
    let at = booth.frame(event.start_s);
    let gain = velocity_gain(event.velocity);
    let (boom, burst, fall) = (pole(0.35, rate), pole(0.45, rate), pole(0.12, rate));
    let (mut boom_level, mut burst_level) = (0.8, 0.7);
    let (mut phase, mut bend) = (0.0, 60.0);
    let end_hz = rng.between(36.0, 44.0);
    let mut low = [Svf::default(); 2];
    let mut dark = rng.between(4000.0, 8000.0);
    for n in 0..length {
        if n.is_multiple_of(64) {
            low.iter_mut().for_each(|f| f.tune(dark, 0.6, rate));
            dark = 250.0 + 0.998 * (dark - 250.0);
        }
        advance(&mut phase, (end_hz + bend) / rate);
        let body = boom_level * sine.at(phase);
        let middle = 0.7 * rng.bipolar();
        let out: [f64; 2] = std::array::from_fn(|c| {
            body + burst_level * low[c].process(middle + 0.7 * rng.bipolar()).low
        });
        let edge = ((length - n) as f64 / (0.1 * rate)).min(1.0);
        canvas.add(at + n, gain * edge * out[0], gain * edge * out[1]);
        boom_level *= boom;
        burst_level *= burst;
        bend *= fall;
    }
}
