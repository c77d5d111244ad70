//! Toms: a falling sine, an overtone and a breath of noise.

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::oscillator::{Sine, advance, saturate};
use super::{Booth, velocity_gain};
use crate::harmony::note_hz;
use crate::rng::Rng;

/// High to low, a little across the stage.
const PANS: [f64; 3] = [-0.25, 0.05, 0.3];

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let rate = booth.sample_rate_hz;
    let decay_s = rng.between(0.07, 0.13);
    let bend = rng.between(0.35, 0.7);
    let mut shots: [Option<Shot>; 3] = [None, None, None];
    for event in booth.events {
        let which = event.variant.min(2);
        let shot = shots[which].get_or_insert_with(|| {
            let decay_s = decay_s * (1.0 + 0.25 * which as f64);
            shot(note_hz(event.note), bend, decay_s, PANS[which], rate, rng)
        });
        let gain = velocity_gain(event.velocity);
        let at = booth.frame(event.start_s);
        canvas.place(at, shot, gain, usize::MAX, rate);
    }
}

fn shot(hz: f64, bend: f64, decay_s: f64, pan: f64, rate: f64, rng: &mut Rng) -> Shot {
    let sine = Sine::new();
    let frames = (7.0 * decay_s * rate) as usize;
    let (decay, fall, hit) = (pole(decay_s, rate), pole(0.03, rate), pole(0.012, rate));
    let mut skin = Svf::new(900.0, 0.7, rate);
    let (mut level, mut falling, mut noise) = (1.0, bend, 0.35);
    let mut phases = [0.0, 0.0];
    let mut shot = Shot::default();
    for _ in 0..frames {
        advance(&mut phases[0], hz * (1.0 + falling) / rate);
        advance(&mut phases[1], 1.59 * hz * (1.0 + falling) / rate);
        let tone = sine.at(phases[0]) + 0.25 * level * sine.at(phases[1]);
        let x = saturate(1.4 * level * tone) + noise * skin.process(rng.bipolar()).band;
        shot.left.push(x * (1.0 - pan));
        shot.right.push(x * (1.0 + pan));
        level *= decay;
        falling *= fall;
        noise *= hit;
    }
    shot
}
