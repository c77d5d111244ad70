//! Shaker: noise in a high band with a soft stroke.

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::{Booth, velocity_gain};
use crate::rng::Rng;

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let centre_hz = rng.between(5500.0, 7500.0);
    let decay_s = rng.between(0.022, 0.034);
    let shots: Vec<Shot> = (0..6)
        .map(|_| shot(centre_hz, decay_s, rate, rng))
        .collect();
    for event in booth.events {
        let shot = &shots[event.variant % shots.len()];
        let gain = velocity_gain(event.velocity);
        let at = booth.frame(event.start_s);
        canvas.place(at, shot, gain, usize::MAX, rate);
    }
}

fn shot(centre_hz: f64, decay_s: f64, rate: f64, rng: &mut Rng) -> Shot {
    let stroke_s = rng.between(0.01, 0.018);
    let stroke = (stroke_s * rate) as usize;
    let decay = pole(decay_s, rate);
    let frames = stroke + (7.0 * decay_s * rate) as usize;
    let mut band = [Svf::new(centre_hz * rng.between(0.95, 1.05), 0.8, rate); 2];
    let mut cut = [Svf::new(3000.0, 0.7, rate); 2];
    let mut top = [Svf::new(14_500.0, 0.7, rate); 2];
    let mut level = 1.0;
    // grains: the noise is uneven in time
    let mut grain = 1.0;
    let mut shot = Shot::default();
    for n in 0..frames {
        if n < stroke {
            let rise = n as f64 / stroke as f64;
            level = rise * rise;
        } else {
            level *= decay;
        }
        if n % 40 == 0 {
            grain = 0.5 + rng.unit();
        }
        let (middle, side) = (rng.bipolar(), 0.2 * rng.bipolar());
        let out: [f64; 2] = std::array::from_fn(|c| {
            let noise = if c == 0 { middle + side } else { middle - side };
            let grains = band[c].process(level * grain * noise).band;
            top[c].process(cut[c].process(grains).high).low
        });
        shot.left.push(out[0]);
        shot.right.push(out[1]);
    }
    shot
}
