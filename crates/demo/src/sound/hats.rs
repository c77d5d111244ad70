//! Hats: six inharmonic squares and noise, band-passed.

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::oscillator::advance;
use super::{Booth, velocity_gain};
use crate::rng::Rng;

struct Metal {
    squares_hz: [f64; 6],
    band_hz: f64,
    low_cut_hz: f64,
    noise: f64,
    decay_s: f64,
}

impl Metal {
    fn draw(decay_s: f64, rng: &mut Rng) -> Self {
        let base_hz = rng.between(230.0, 420.0);
        let mut ratio = 1.0;
        let squares_hz = std::array::from_fn(|_| {
            let hz = base_hz * ratio;
            ratio *= rng.between(1.13, 1.34);
            hz
        });
        Self {
            squares_hz,
            band_hz: rng.between(6000.0, 9500.0),
            low_cut_hz: rng.between(3200.0, 5200.0),
            noise: rng.between(0.6, 1.4),
            decay_s,
        }
    }

    fn shot(&self, rate: f64, rng: &mut Rng) -> Shot {
        let decay_s = self.decay_s * rng.between(0.9, 1.1);
        let frames = (7.0 * decay_s * rate) as usize;
        let decay = pole(decay_s, rate);
        let spark = pole(0.004, rate);
        let mut phases: [f64; 6] = std::array::from_fn(|_| rng.unit());
        let mut bands = [Svf::new(self.band_hz, 0.9, rate); 2];
        let mut tops = [Svf::new(14_000.0, 0.7, rate); 2];
        let mut cuts = [Svf::new(self.low_cut_hz, 0.7, rate); 2];
        let (mut level, mut sparkle) = (1.0, 0.3);
        let mut shot = Shot::default();
        for n in 0..frames {
            let mut ring = 0.0;
            for (phase, hz) in phases.iter_mut().zip(self.squares_hz) {
                advance(phase, hz / rate);
                ring += if *phase < 0.5 { 0.3 } else { -0.3 };
            }
            let middle = ring + self.noise * rng.bipolar();
            let side = 0.22 * self.noise * rng.bipolar();
            let attack = ((n + 1) as f64 / (0.0004 * rate)).min(1.0);
            let gain = attack * level * (1.0 + sparkle);
            let out: [f64; 2] = std::array::from_fn(|c| {
                let x = if c == 0 { middle + side } else { middle - side };
                let bands = bands[c].process(x);
                gain * tops[c]
                    .process(cuts[c].process(bands.band + 0.4 * bands.high).high)
                    .low
            });
            shot.left.push(out[0]);
            shot.right.push(out[1]);
            level *= decay;
            sparkle *= spark;
        }
        shot
    }
}

pub(crate) fn render_closed(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let decay_s = rng.between(0.016, 0.032);
    render(booth, canvas, decay_s, rng);
}

pub(crate) fn render_open(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let decay_s = rng.between(0.1, 0.18);
    render(booth, canvas, decay_s, rng);
}

fn render(booth: &Booth<'_>, canvas: &mut Canvas, decay_s: f64, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let metal = Metal::draw(decay_s, rng);
    let shots: Vec<Shot> = (0..6).map(|_| metal.shot(rate, rng)).collect();
    for event in booth.events {
        let longest = if event.length_s > 0.0 {
            booth.frames(event.length_s)
        } else {
            usize::MAX
        };
        let shot = &shots[event.variant % shots.len()];
        let gain = velocity_gain(event.velocity);
        canvas.place(booth.frame(event.start_s), shot, gain, longest, rate);
    }
}
