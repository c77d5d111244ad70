//! Which notes each part plays.

mod drawn_layers;
mod drums;
mod layers;
mod music;
mod voice;

use crate::form::{Grid, Section};
use crate::harmony::Harmony;
use crate::patterns::{Drawn, Pair};
use crate::rng::Rng;
use crate::role::Role;
use crate::style::Traits;

pub(crate) use drawn_layers::draw as drawn_layers;
pub(crate) use drums::{IMPACT, RISER};
pub(crate) use layers::Layers;

/// One hit or note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Event {
    pub(crate) start_s: f64,
    pub(crate) length_s: f64,
    /// Note number, A4 = 69; 0 where pitch is fixed by the sound.
    pub(crate) note: f64,
    /// 0 to 1.
    pub(crate) velocity: f64,
    /// Which variant of the sound, or which vowel, tom or effect.
    pub(crate) variant: usize,
}

/// What the writers of parts look at.
pub(crate) struct Sheet<'a> {
    pub(crate) grid: Grid,
    pub(crate) sections: &'a [Section],
    pub(crate) harmony: &'a Harmony,
    pub(crate) style: &'a Traits,
    pub(crate) layers: &'a Layers,
    pub(crate) density: f64,
    /// Patterns that take the place of the style's.
    pub(crate) drawn: Option<&'a Drawn>,
}

impl<'a> Sheet<'a> {
    /// The two bars of a part that play in turn.
    fn bars(
        &self,
        of_style: &'static [&'static str],
        drawn: impl Fn(&'a Drawn) -> &'a Pair,
        rng: &mut Rng,
    ) -> [&'a str; 2] {
        let own = *rng.pick(of_style);
        self.drawn.map_or([own; 2], |all| {
            let [first, second] = drawn(all);
            [first.as_str(), second.as_str()]
        })
    }

    /// Calls `write` with section and bar for every bar in which a role plays.
    fn each_bar(&self, role: Role, mut write: impl FnMut(&Section, usize)) {
        for section in self.sections {
            for bar in section.start_bar..section.end_bar() {
                if self.layers.plays(role, bar) {
                    write(section, bar);
                }
            }
        }
    }

    /// Whether the bar is the last of its section or of eight bars.
    fn ends_phrase(&self, section: &Section, bar: usize) -> bool {
        bar + 1 == section.end_bar() || (bar + 1 - section.start_bar).is_multiple_of(8)
    }

    /// Steps of a pattern that fall in the bar: index and velocity.
    fn hits<'p>(&self, pattern: &'p str) -> impl Iterator<Item = (usize, f64)> + 'p {
        let steps = self.grid.steps();
        pattern
            .bytes()
            .take(steps)
            .enumerate()
            .filter(|(_, byte)| byte.is_ascii_digit())
            .map(|(step, byte)| (step, f64::from(byte - b'0') / 9.0))
    }
}

/// Writes the part of a role.
pub(crate) fn write(role: Role, sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let mut events = match role {
        Role::Kick => drums::kick(sheet, rng),
        Role::Clap | Role::Snare => drums::backbeat(role, sheet, rng),
        Role::ClosedHat => drums::closed_hat(sheet, rng),
        Role::OpenHat => drums::open_hat(sheet, rng),
        Role::ShakerLeft | Role::ShakerRight => drums::shaker(role, sheet, rng),
        Role::Toms => drums::toms(sheet, rng),
        Role::Sub => music::sub(sheet, rng),
        Role::Bass => music::bass(sheet, rng),
        Role::Chords => music::chords(sheet, rng),
        Role::PadWarm | Role::PadAir => music::pad(role, sheet, rng),
        Role::Piano => music::piano(sheet, rng),
        Role::Lead => music::lead(sheet, rng),
        Role::Voice => voice::phrases(sheet, rng),
        Role::Effects => drums::effects(sheet, rng),
    };
    events.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
    events
}
