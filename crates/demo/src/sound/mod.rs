//! From events to samples: one file a kind of sound.

mod bass;
mod canvas;
mod clap;
mod delay;
mod duck;
mod effects;
mod envelope;
mod filter;
mod hats;
mod kick;
mod oscillator;
mod pads;
mod piano;
mod room;
mod saws;
mod shaker;
mod tom;
mod voice;

pub(crate) use canvas::Canvas;
pub(crate) use oscillator::saturate;

use crate::form::Grid;
use crate::rng::Rng;
use crate::role::Role;
use crate::score::Event;
use crate::style::Traits;

/// What the makers of sound look at.
pub(crate) struct Booth<'a> {
    pub(crate) sample_rate_hz: f64,
    pub(crate) grid: Grid,
    pub(crate) style: &'a Traits,
    pub(crate) events: &'a [Event],
    pub(crate) kick_times_s: &'a [f64],
    pub(crate) pan: f64,
    pub(crate) room_rt60_s: Option<f64>,
    pub(crate) duck_db: Option<f64>,
}

impl Booth<'_> {
    fn frame(&self, time_s: f64) -> usize {
        libm::round(time_s.max(0.0) * self.sample_rate_hz) as usize
    }

    fn frames(&self, length_s: f64) -> usize {
        self.frame(length_s)
    }
}

/// Loudness grows a little faster than the number.
fn velocity_gain(velocity: f64) -> f64 {
    libm::pow(velocity, 1.4)
}

/// Renders one part at an arbitrary level.
pub(crate) fn render(role: Role, booth: &Booth<'_>, frames: usize, rng: &mut Rng) -> Canvas {
    let mut canvas = Canvas::new(role.channels(), frames);
    match role {
        Role::Kick => kick::render(booth, &mut canvas, rng),
        Role::Clap => clap::render_claps(booth, &mut canvas, rng),
        Role::Snare => clap::render_snares(booth, &mut canvas, rng),
        Role::ClosedHat => hats::render_closed(booth, &mut canvas, rng),
        Role::OpenHat => hats::render_open(booth, &mut canvas, rng),
        Role::ShakerLeft | Role::ShakerRight => shaker::render(booth, &mut canvas, rng),
        Role::Toms => tom::render(booth, &mut canvas, rng),
        Role::Sub => bass::render_sub(booth, &mut canvas, rng),
        Role::Bass => bass::render_bass(booth, &mut canvas, rng),
        Role::Chords => saws::render_chords(booth, &mut canvas, rng),
        Role::PadWarm | Role::PadAir => pads::render(role, booth, &mut canvas, rng),
        Role::Piano => piano::render(booth, &mut canvas, rng),
        Role::Lead => saws::render_lead(booth, &mut canvas, rng),
        Role::Voice => voice::render(booth, &mut canvas, rng),
        Role::Effects => effects::render(booth, &mut canvas, rng),
    }
    if let Some(rt60_s) = booth.room_rt60_s {
        room::print(&mut canvas, role, rt60_s, booth.sample_rate_hz, rng);
    }
    canvas.pan(booth.pan);
    if let Some(depth_db) = booth.duck_db {
        duck::print(&mut canvas, booth, depth_db);
    }
    canvas
}
