//! Clap: bursts of noise and their tail. Snare: two modes, wires, drive.

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::oscillator::{Sine, advance, saturate};
use super::{Booth, velocity_gain};
use crate::rng::Rng;
use crate::score::Event;

pub(crate) fn render_claps(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let clap = Clap {
        centre_hz: rng.between(1000.0, 1600.0),
        spacing_s: rng.between(0.008, 0.012),
        tail_s: rng.between(0.045, 0.08),
        air: rng.between(0.2, 0.45),
    };
    let shots: Vec<Shot> = (0..6)
        .map(|_| clap.shot(booth.sample_rate_hz, rng))
        .collect();
    place_all(booth, booth.events, &shots, canvas);
}

pub(crate) fn render_snares(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let snare = Snare {
        mode_hz: rng.between(165.0, 215.0),
        ratio: rng.between(1.6, 1.9),
        body_s: rng.between(0.04, 0.07),
        wires_s: rng.between(0.05, 0.09),
        wires_hz: rng.between(1800.0, 3200.0),
        wires: rng.between(0.55, 0.9),
    };
    let shots: Vec<Shot> = (0..6)
        .map(|_| snare.shot(booth.sample_rate_hz, rng))
        .collect();
    place_all(booth, booth.events, &shots, canvas);
}

fn place_all(booth: &Booth<'_>, events: &[Event], shots: &[Shot], canvas: &mut Canvas) {
    for event in events {
        let shot = &shots[event.variant % shots.len()];
        let gain = velocity_gain(event.velocity);
        let at = booth.frame(event.start_s);
        canvas.place(at, shot, gain, usize::MAX, booth.sample_rate_hz);
    }
}

struct Clap {
    centre_hz: f64,
    spacing_s: f64,
    tail_s: f64,
    air: f64,
}

impl Clap {
    fn shot(&self, rate: f64, rng: &mut Rng) -> Shot {
        let mut tops = [Svf::new(11_000.0, 0.6, rate); 2];
        let frames = ((8.0 * self.tail_s + 0.05) * rate) as usize;
        let hands: Vec<usize> = (0..4)
            .map(|hand| {
                let spread = 1.0 + 0.12 * rng.normal();
                (f64::from(hand) * self.spacing_s * spread * rate).max(0.0) as usize
            })
            .collect();
        let (burst, tail) = (pole(0.0035, rate), pole(self.tail_s, rate));
        let centre_hz = self.centre_hz * rng.between(0.96, 1.04);
        let mut bands = [Svf::new(centre_hz, 1.1, rate); 2];
        let mut airs = [Svf::new(3500.0, 0.7, rate); 2];
        let mut level = 0.0;
        let mut shot = Shot::default();
        for n in 0..frames {
            if let Some(hand) = hands.iter().position(|&at| at == n) {
                level = if hand == 3 { 0.85 } else { 1.0 };
            }
            level *= if n >= hands[3] { tail } else { burst };
            let (middle, side) = (rng.bipolar(), 0.3 * rng.bipolar());
            let out: [f64; 2] = std::array::from_fn(|c| {
                let noise = level * if c == 0 { middle + side } else { middle - side };
                let bright = self.air * airs[c].process(noise).high;
                tops[c].process(bands[c].process(noise).band + bright).low
            });
            shot.left.push(out[0]);
            shot.right.push(out[1]);
        }
        shot
    }
}

struct Snare {
    mode_hz: f64,
    ratio: f64,
    body_s: f64,
    wires_s: f64,
    wires_hz: f64,
    wires: f64,
}

impl Snare {
    fn shot(&self, rate: f64, rng: &mut Rng) -> Shot {
        let sine = Sine::new();
        let mut tops = [Svf::new(12_000.0, 0.6, rate); 2];
        let frames = (7.0 * self.wires_s.max(self.body_s) * rate) as usize;
        let (body, wires, bend) = (
            pole(self.body_s, rate),
            pole(self.wires_s, rate),
            pole(0.006, rate),
        );
        let mode_hz = self.mode_hz * rng.between(0.985, 1.015);
        let mut filters = [Svf::new(self.wires_hz, 0.6, rate); 2];
        let (mut body_level, mut wires_level, mut bending) = (1.0, self.wires, 0.8);
        let mut phases = [0.0, 0.0];
        let mut shot = Shot::default();
        for _ in 0..frames {
            let hz = mode_hz * (1.0 + bending);
            advance(&mut phases[0], hz / rate);
            advance(&mut phases[1], self.ratio * hz / rate);
            let modes = sine.at(phases[0]) + 0.5 * sine.at(phases[1]);
            let (middle, side) = (rng.bipolar(), 0.25 * rng.bipolar());
            let out: [f64; 2] = std::array::from_fn(|c| {
                let noise = if c == 0 { middle + side } else { middle - side };
                let bands = filters[c].process(noise);
                let wires = wires_level * tops[c].process(bands.band + bands.high).low;
                saturate(1.3 * (body_level * modes + wires))
            });
            shot.left.push(out[0]);
            shot.right.push(out[1]);
            body_level *= body;
            wires_level *= wires;
            bending *= bend;
        }
        shot
    }
}
