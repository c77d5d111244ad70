//! Which parts play in which bars of drawn sections.
//!
//! A border is where the arrangement changes most: several layers come or go
//! there, and inside a section at most one comes in, after four or eight bars.
//! Common practice, no source.

use super::Layers;
use crate::form::{Section, SectionKind};
use crate::rng::Rng;
use crate::role::Role;

/// Draws the entries and exits of every role.
pub(crate) fn draw(sections: &[Section], roles: &[Role], seed: u64) -> Layers {
    let mut rng = Rng::labelled(seed, "drawn layers");
    let mut bars: Vec<(Role, Vec<bool>)> = roles.iter().map(|&role| (role, Vec::new())).collect();
    for (index, section) in sections.iter().enumerate() {
        let before = index.checked_sub(1).map(|index| sections[index].kind);
        let after = sections.get(index + 1).map(|section| section.kind);
        let of_pads = rng.chance(0.3) && after != Some(SectionKind::Break);
        let lucky = rng.chance(0.5);
        let plays =
            |role: Role| role == Role::Effects || plays(role, section, before, of_pads, lucky);
        let late = late(section, roles, &plays, &mut rng);
        for (role, own) in &mut bars {
            let first = late.map_or(
                0,
                |(late, first)| {
                    if late == partner(*role) { first } else { 0 }
                },
            );
            own.extend((0..section.bars).map(|bar| bar >= first && plays(*role)));
        }
    }
    Layers::of(bars)
}

/// The shakers of the pair come and go together.
fn partner(role: Role) -> Role {
    match role {
        Role::ShakerRight => Role::ShakerLeft,
        other => other,
    }
}

/// The layer that comes in late, and the bar of the section it does so.
fn late(
    section: &Section,
    roles: &[Role],
    plays: &dyn Fn(Role) -> bool,
    rng: &mut Rng,
) -> Option<(Role, usize)> {
    const MINOR: [Role; 7] = [
        Role::ShakerLeft,
        Role::OpenHat,
        Role::Toms,
        Role::PadAir,
        Role::Piano,
        Role::Lead,
        Role::Voice,
    ];
    // drawn always, so that later sections do not hang on this one's length
    let (wanted, at_eight, place) = (rng.chance(0.6), rng.chance(0.5), rng.unit());
    let playing = |role: &Role| roles.contains(role) && plays(*role);
    let minor: Vec<Role> = MINOR.into_iter().filter(playing).collect();
    let first = if at_eight && section.bars > 8 { 8 } else { 4 };
    let busy = roles.iter().filter(|role| playing(role)).count() > 3;
    (wanted && busy && first < section.bars)
        .then(|| minor.get((place * minor.len() as f64) as usize).copied())
        .flatten()
        .map(|role| (role, first))
}

/// Whether a role plays in a section, after a section of the kind `before`.
fn plays(
    role: Role,
    section: &Section,
    before: Option<SectionKind>,
    of_pads: bool,
    lucky: bool,
) -> bool {
    use Role::{
        Bass, Chords, Clap, ClosedHat, Kick, Lead, OpenHat, PadAir, PadWarm, Piano, ShakerLeft,
        ShakerRight, Snare, Sub, Toms, Voice,
    };
    let drums = matches!(
        role,
        Kick | Clap | Snare | ClosedHat | ShakerLeft | ShakerRight | Toms
    );
    match section.kind {
        SectionKind::Intro if of_pads => match role {
            PadWarm | PadAir => true,
            Piano => lucky,
            _ => false,
        },
        SectionKind::Intro => drums && (lucky || !matches!(role, ShakerLeft | ShakerRight)),
        SectionKind::Build => match role {
            // out of a break the kick may wait for the drop
            Kick => lucky || before != Some(SectionKind::Break),
            Chords | PadWarm | PadAir | OpenHat => true,
            _ => drums,
        },
        SectionKind::Drop => role != Piano || section.pass > 0,
        SectionKind::Break => match role {
            PadWarm | PadAir | Piano | Voice => true,
            Lead => lucky,
            _ => false,
        },
        SectionKind::Outro if section.loud => {
            drums || matches!(role, OpenHat | Bass | Sub | PadWarm)
        }
        SectionKind::Outro if of_pads => matches!(role, PadWarm | PadAir | Piano),
        SectionKind::Outro => drums || (role == PadAir && lucky),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arrangement;

    #[test]
    fn most_changes_at_borders_and_little_inside() {
        let mut entries = 0;
        for seed in 0..200 {
            let sections = arrangement::draw(40 + seed as usize % 40, &mut Rng::new(seed));
            let layers = draw(&sections, &Role::ORDER, seed);
            let own: Vec<Role> = Role::ORDER
                .into_iter()
                .filter(|role| *role != Role::ShakerRight)
                .collect();
            let changed = |bar: usize| {
                let changes =
                    |role: &&Role| layers.plays(**role, bar - 1) != layers.plays(**role, bar);
                own.iter().filter(changes).count()
            };
            for section in &sections {
                if section.start_bar > 0 {
                    let count = changed(section.start_bar);
                    assert!(count >= 3, "{seed}: {count} at {section:?}");
                }
                let inside: Vec<usize> = (1..section.bars)
                    .filter(|bar| changed(section.start_bar + bar) > 0)
                    .collect();
                assert!(
                    inside.is_empty() || inside == [4] || inside == [8],
                    "{inside:?}"
                );
                for bar in &inside {
                    assert_eq!(changed(section.start_bar + bar), 1);
                }
                entries += inside.len();
            }
        }
        assert!(entries > 200, "{entries}");
    }
}
