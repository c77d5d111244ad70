//! Kick: a sine that falls in pitch, a click and slight drive.

use super::canvas::{Canvas, Shot};
use super::envelope::pole;
use super::filter::Svf;
use super::oscillator::{Sine, advance, saturate};
use super::{Booth, velocity_gain};
use crate::rng::Rng;

struct Body {
    end_hz: f64,
    fall_hz: f64,
    fall_s: f64,
    decay_s: f64,
    hold_s: f64,
    click: f64,
    drive: f64,
}

pub(crate) fn render(booth: &Booth<'_>, canvas: &mut Canvas, rng: &mut Rng) {
    let style = booth.style;
    let body = Body {
        end_hz: rng.between(style.kick_hz.0, style.kick_hz.1),
        fall_hz: rng.between(130.0, 260.0),
        fall_s: rng.between(0.014, 0.026),
        decay_s: 0.5 * rng.between(style.kick_decay_s.0, style.kick_decay_s.1),
        hold_s: rng.between(0.05, 0.09),
        click: rng.between(0.12, 0.3),
        drive: rng.between(1.2, 2.2),
    };
    let shots: Vec<Shot> = (0..4)
        .map(|_| body.shot(booth.sample_rate_hz, rng))
        .collect();
    for (index, event) in booth.events.iter().enumerate() {
        let at = booth.frame(event.start_s);
        // one kick at a time
        let next = booth
            .events
            .get(index + 1)
            .map_or(usize::MAX, |next| booth.frame(next.start_s));
        let shot = &shots[event.variant % shots.len()];
        let gain = velocity_gain(event.velocity);
        canvas.place(
            at,
            shot,
            gain,
            next.saturating_sub(at),
            booth.sample_rate_hz,
        );
    }
}

impl Body {
    fn shot(&self, rate: f64, rng: &mut Rng) -> Shot {
        let sine = Sine::new();
        let frames = (0.6 * rate) as usize;
        let fall = pole(self.fall_s, rate);
        let snap = pole(0.002, rate);
        let decay = pole(self.decay_s, rate);
        let click_decay = pole(0.0025, rate);
        let mut high = Svf::new(2500.0, 0.7, rate);
        let (mut falling, mut snapping) = (self.fall_hz, 1400.0 * rng.between(0.95, 1.05));
        let (mut level, mut click, mut phase) = (1.0, self.click, 0.0);
        let hold = (self.hold_s * rate) as usize;
        let left = (0..frames)
            .map(|n| {
                advance(&mut phase, (self.end_hz + falling + snapping) / rate);
                falling *= fall;
                snapping *= snap;
                click *= click_decay;
                if n > hold {
                    level *= decay;
                }
                let driven = saturate(self.drive * level * sine.at(phase)) / saturate(self.drive);
                driven + click * high.process(rng.bipolar()).high
            })
            .collect();
        let mut shot = Shot {
            left,
            right: Vec::new(),
        };
        fade_out(&mut shot.left, (0.02 * rate) as usize);
        shot
    }
}

/// Linear fade over the last frames.
pub(crate) fn fade_out(samples: &mut [f64], fade: usize) {
    for (left, sample) in samples.iter_mut().rev().take(fade).enumerate() {
        *sample *= left as f64 / fade as f64;
    }
}
