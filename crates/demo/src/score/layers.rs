//! Which parts play in which bars.

use crate::form::{Section, SectionKind};
use crate::rng::Rng;
use crate::role::Role;

/// For each role, the bars it plays in.
#[derive(Clone, Debug)]
pub(crate) struct Layers {
    bars: Vec<(Role, Vec<bool>)>,
}

impl Layers {
    /// Draws the entries and exits of every role.
    pub(crate) fn draw(sections: &[Section], roles: &[Role], seed: u64) -> Self {
        let bars = roles
            .iter()
            .map(|&role| {
                let mut rng = Rng::labelled(seed, partner(role).label());
                (role, bars_of(role, sections, &mut rng))
            })
            .collect();
        Self { bars }
    }

    /// Of roles whose bars are known.
    pub(crate) fn of(bars: Vec<(Role, Vec<bool>)>) -> Self {
        Self { bars }
    }

    pub(crate) fn plays(&self, role: Role, bar: usize) -> bool {
        self.bars
            .iter()
            .find(|(own, _)| *own == role)
            .is_some_and(|(_, bars)| bars.get(bar).copied().unwrap_or(false))
    }
}

/// The shakers of the pair come and go together.
fn partner(role: Role) -> Role {
    match role {
        Role::ShakerRight => Role::ShakerLeft,
        other => other,
    }
}

fn bars_of(role: Role, sections: &[Section], rng: &mut Rng) -> Vec<bool> {
    let mut bars = Vec::new();
    for section in sections {
        let (from, to) = span(role, section, rng);
        let count = section.bars as f64;
        let first = libm::floor(from * count + 0.5) as usize;
        let last = libm::floor(to * count + 0.5) as usize;
        bars.extend((0..section.bars).map(|bar| bar >= first && bar < last));
    }
    bars
}

/// Share of a section in which a role plays, as from and to: common practice,
/// no source.
fn span(role: Role, section: &Section, rng: &mut Rng) -> (f64, f64) {
    const ALL: (f64, f64) = (0.0, 1.0);
    const NONE: (f64, f64) = (0.0, 0.0);
    let second = section.pass > 0;
    // drawn always, so that one role's draws do not hang on its sections
    let entry = *rng.pick(&[0.0, 0.0, 0.25, 0.5]);
    let lucky = rng.chance(0.5);
    match section.kind {
        SectionKind::Intro => match role {
            Role::Kick | Role::Effects => ALL,
            Role::ClosedHat => (0.25, 1.0),
            Role::ShakerLeft | Role::ShakerRight | Role::PadAir => (0.5, 1.0),
            Role::Clap | Role::Snare | Role::OpenHat if lucky => (0.75, 1.0),
            Role::Toms => (0.5, 1.0),
            _ => NONE,
        },
        SectionKind::Build if !second => match role {
            Role::Lead | Role::Voice | Role::Piano | Role::OpenHat => NONE,
            Role::Bass | Role::Sub => (entry, 1.0),
            Role::Chords => (0.5, 1.0),
            Role::PadAir if lucky => NONE,
            _ => ALL,
        },
        SectionKind::Build => match role {
            Role::Sub | Role::Bass | Role::OpenHat | Role::Toms => NONE,
            Role::Kick | Role::ClosedHat => (0.5, 1.0),
            Role::ShakerLeft | Role::ShakerRight => (0.5, 1.0),
            Role::Voice if lucky => NONE,
            _ => ALL,
        },
        SectionKind::Drop => match role {
            Role::Piano if !second => NONE,
            Role::Piano => (entry, 1.0),
            Role::Voice if !second => (0.5, 1.0),
            Role::Voice => (entry.min(0.25), 1.0),
            Role::Lead if !second => (entry, 1.0),
            Role::PadAir => (entry, 1.0),
            _ => ALL,
        },
        SectionKind::Break => match role {
            Role::PadWarm | Role::PadAir | Role::Effects => ALL,
            Role::Piano => (0.0, 1.0),
            Role::Voice => (entry.min(0.25), 1.0),
            Role::Sub => (0.5, 1.0),
            Role::Lead if lucky => (0.5, 1.0),
            Role::ShakerLeft | Role::ShakerRight if lucky => (0.5, 1.0),
            _ => NONE,
        },
        SectionKind::Outro => match role {
            Role::Lead | Role::Voice | Role::PadAir | Role::Piano => NONE,
            Role::Bass | Role::Sub => (0.0, 0.5),
            Role::Chords if lucky => (0.0, 0.5),
            Role::OpenHat => (0.0, 0.5),
            Role::Chords => NONE,
            _ => ALL,
        },
    }
}
