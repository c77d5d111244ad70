//! Two elements want one place: the same band at the same time.

use cupel_units::{Group, Role};

use crate::evidence::{ElementFacts, Evidence, PassageFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "one-place",
    family: Family::Sound,
    title: "two elements want one place",
    cause: Cause::Arrangement,
    sizes: Sizes::look("percent", 70.0),
    weight: 0.5,
    brings: &["unmended"],
    unsure: false,
    measures: "How much of two elements, by loudness, lies in the same bands and the same \
               sixteenths of the bar: 100 percent for two alike, 0 for two that never meet.",
    matters: "Two sounds in one band at one time are heard as one that is unclear. Turning \
              either of them up only hides the other.",
    threshold: "70 percent, only to look at, of two elements that are within 12 dB of each \
                other (common practice, no source).",
    mend: "Let one of them go, play it at other times or in another octave, or choose another \
           sound for it. Only when both have to stay as they are, part them by filters.",
    wrong: "When both are meant to be one sound, such as two layers of a chord.",
    hear: "Solo both, then mute one: if hardly anything goes missing, both wanted one place.",
    train: "Add a second pad an octave apart from the first, then on the same notes: listen to \
            which of the two adds anything.",
};

/// Elements further apart in level do not fight, dB.
const RANGE_DB: f64 = 12.0;
/// Elements further below the mix do not matter, dB.
const SOFTEST_DB: f64 = -20.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let known = passage.elements.len() == evidence.elements.len();
    let places: Vec<(usize, Vec<f64>)> = (0..evidence.elements.len())
        .filter(|&n| known && matters(&evidence.elements[n]))
        .map(|n| (n, loudness_cells(passage, n)))
        .collect();
    let mut worst: Option<(usize, usize, f64)> = None;
    for (index, (a, cells)) in places.iter().enumerate() {
        for (b, others) in &places[index + 1..] {
            let [one, other] = [*a, *b].map(|n| &evidence.elements[n]);
            if meant_as_one(one, other) || !near(one, other) {
                continue;
            }
            let percent = 100.0 * shared(cells, others);
            if worst.is_none_or(|(.., most)| percent > most) {
                worst = Some((*a, *b, percent));
            }
        }
    }
    let found = worst.and_then(|(a, b, percent)| {
        let grade = KIND.sizes.grade(percent)?;
        Some(finding(evidence, passage, [a, b], (percent, grade)))
    });
    found.into_iter().collect()
}

fn matters(element: &ElementFacts) -> bool {
    element.share_db.is_some_and(|db| db >= SOFTEST_DB)
        && !matches!(
            element.role,
            Role::Mix | Role::DrumLoop | Role::Effects | Role::Texture
        )
}

/// Kick and bass have findings of their own; drums of a kind are layers, and hats and
/// shakers share the top.
fn meant_as_one(one: &ElementFacts, other: &ElementFacts) -> bool {
    let hit = |role: Role| matches!(role, Role::Snare | Role::Clap | Role::Rim);
    let high = |role: Role| {
        use Role::*;
        matches!(role, ClosedHat | OpenHat | Shaker | Cymbal | Percussion)
    };
    let low = |role: Role| role == Role::Kick || role.group() == Group::LowEnd;
    one.role == other.role
        || hit(one.role) && hit(other.role)
        || high(one.role) && high(other.role)
        || low(one.role) && low(other.role)
}

fn near(one: &ElementFacts, other: &ElementFacts) -> bool {
    match (one.share_db, other.share_db) {
        (Some(a), Some(b)) => (a - b).abs() <= RANGE_DB,
        _ => false,
    }
}

/// Share of every band and sixteenth in an element's loudness.
fn loudness_cells(passage: &PassageFacts, element: usize) -> Vec<f64> {
    let powers = &passage.elements[element].whole;
    let cells = powers.iter().enumerate().map(|(cell, power)| {
        let weight = passage.loudness_weights.get(cell / passage.slots.max(1));
        power * weight.copied().unwrap_or(0.0)
    });
    let cells: Vec<f64> = cells.collect();
    let sum: f64 = cells.iter().sum();
    cells
        .iter()
        .map(|power| if sum > 0.0 { power / sum } else { 0.0 })
        .collect()
}

/// What two distributions share, 0 to 1.
fn shared(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a.min(*b)).sum()
}

fn finding(
    evidence: &Evidence,
    passage: &PassageFacts,
    pair: [usize; 2],
    (percent, grade): (f64, Grade),
) -> Finding {
    let [one, other] = pair.map(|n| &evidence.elements[n]);
    let band_hz = shared_band_hz(passage, pair);
    let words = format!(
        "The {} and the {} want one place: {percent:.0} percent of what they are lies in the \
         same bands at the same time, most of it from {:.0} to {:.0} Hz.",
        one.name, other.name, band_hz.0, band_hz.1
    );
    let tracks: Vec<usize> = [&one.tracks[..], &other.tracks[..]].concat();
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    let rows = pair.map(|n| {
        let element = &evidence.elements[n];
        row(&element.name, element.share_db.unwrap_or(-60.0), true)
    });
    let level = one.share_db.zip(other.share_db).map_or(0.0, |(a, b)| a - b);
    let softer = if level > 0.0 { &other.name } else { &one.name };
    Finding::new(&KIND, grade, percent, words)
        .on(evidence.ids(&tracks))
        .at(passage_span(evidence))
        .in_band(band_hz)
        .against(70.0, "places of their own")
        .sure(0.7)
        .mend(format!(
            "Play the {softer} at other times or in another octave, choose another sound for \
             it, or leave it out."
        ))
        .hear("Both alone; then mute one and listen whether anything goes missing.")
        .picture(Picture::Bars {
            unit: "dB of the mix".into(),
            rows: rows.into(),
            limit: None,
        })
}

/// The bands with four fifths of what both share.
fn shared_band_hz(passage: &PassageFacts, pair: [usize; 2]) -> (f64, f64) {
    let [one, other] = pair.map(|n| loudness_cells(passage, n));
    let by_band: Vec<f64> = (0..passage.bands_hz.len())
        .map(|band| {
            let cells = band * passage.slots..(band + 1) * passage.slots;
            shared(&one[cells.clone()], &other[cells])
        })
        .collect();
    let all: f64 = by_band.iter().sum();
    let mut passed = 0.0;
    let mut edges: Option<(f64, f64)> = None;
    for (band, power) in by_band.iter().enumerate() {
        let inside = passed + power > 0.1 * all && passed < 0.9 * all;
        passed += power;
        if inside {
            let (low_hz, high_hz) = passage.bands_hz[band];
            edges = Some((edges.map_or(low_hz.max(20.0), |edge| edge.0), high_hz));
        }
    }
    edges.unwrap_or((20.0, 20_000.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinds::low_end::trial::{add, session};

    const ON: [usize; 4] = [0, 4, 8, 12];
    const OFF: [usize; 4] = [2, 6, 10, 14];

    /// Two elements of which the second plays partly where the first does.
    fn with(roles: [Role; 2], same: f64) -> Evidence {
        let mut evidence = session(&roles);
        let power = |p: f64| ([p, p], 0.0);
        add(&mut evidence, 0, (300.0, 600.0), &ON, power(1.0));
        add(&mut evidence, 1, (300.0, 600.0), &ON, power(same));
        add(&mut evidence, 1, (300.0, 600.0), &OFF, power(1.0 - same));
        evidence
    }

    #[test]
    fn looked_at_from_70_percent_on() {
        let roles = [Role::Pad, Role::Piano];
        assert!(find(&with(roles, 0.68)).is_empty());
        let found = find(&with(roles, 0.72));
        assert_eq!(found[0].tracks, ["t0", "t1"]);
        assert_eq!(found[0].band_hz, Some((300.0, 600.0)));
    }

    #[test]
    fn layers_of_one_hit_and_soft_elements_are_no_fight() {
        assert!(find(&with([Role::Clap, Role::Snare], 1.0)).is_empty());
        assert!(find(&with([Role::Kick, Role::Bass], 1.0)).is_empty());
        assert!(find(&with([Role::ClosedHat, Role::Shaker], 1.0)).is_empty());
        let mut evidence = with([Role::Pad, Role::Piano], 1.0);
        evidence.elements[1].share_db = Some(-21.0);
        assert!(find(&evidence).is_empty());
        evidence.elements[0].share_db = Some(-4.0);
        evidence.elements[1].share_db = Some(-17.0);
        assert!(find(&evidence).is_empty());
    }
}
