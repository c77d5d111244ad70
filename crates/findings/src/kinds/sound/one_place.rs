//! Two elements want one place: the same band at the same time.

use cupel_units::{Group, Role};

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "one-place",
    family: Family::Sound,
    title: "two elements want one place",
    cause: Cause::Arrangement,
    sizes: Sizes::look("percent", 75.0),
    weight: 0.5,
    brings: &["unmended"],
    unsure: true,
    measures: "How much of two tracks, by loudness, lies in the same bands and the same \
               sixteenths of the bar: 100 percent for two alike, 0 for two that never meet.",
    matters: "Two sounds in one band at one time are heard as one that is unclear. Turning \
              either of them up only hides the other.",
    threshold: "75 percent, only to look at, of two tracks that are within 12 dB of each \
                other (common practice, no source).",
    mend: "Let one of them go, play it at other times or in another octave, or choose another \
           sound for it. Only when both have to stay as they are, part them by filters.",
    wrong: "When both are meant to be one sound, such as two layers of a chord.",
    hear: "Solo both, then mute one: if hardly anything goes missing, both wanted one place.",
    train: "Add a second pad an octave apart from the first, then on the same notes: listen to \
            which of the two adds anything.",
};

/// Tracks further apart in level do not fight, dB.
const RANGE_DB: f64 = 12.0;
/// Tracks further below the mix do not matter, dB.
const SOFTEST_DB: f64 = -20.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    if passage.tracks.len() != evidence.tracks.len() {
        return Vec::new();
    }
    let all: f64 = weighed(passage, &passage.mix.whole).iter().sum();
    let sounds: Vec<Sound> = (0..evidence.tracks.len())
        .filter_map(|track| Sound::of(evidence, passage, track, all))
        .collect();
    let mut worst: Option<(&Sound, &Sound, f64)> = None;
    for (index, one) in sounds.iter().enumerate() {
        for other in &sounds[index + 1..] {
            let one_element = evidence
                .element_of(one.track)
                .is_some_and(|element| element.tracks.contains(&other.track));
            let far = (one.share_db - other.share_db).abs() > RANGE_DB;
            if one_element || far || meant_as_one(one.role, other.role) {
                continue;
            }
            let percent = 100.0 * shared(&one.cells, &other.cells);
            if worst.is_none_or(|(.., most)| percent > most) {
                worst = Some((one, other, percent));
            }
        }
    }
    let found = worst.and_then(|(one, other, percent)| {
        let grade = KIND.sizes.grade(percent)?;
        Some(finding(evidence, passage, [one, other], (percent, grade)))
    });
    found.into_iter().collect()
}

/// A track that may want the place of another.
struct Sound {
    track: usize,
    role: Role,
    /// Its power by loudness against the mix, dB.
    share_db: f64,
    /// Share of every band and sixteenth in its loudness.
    cells: Vec<f64>,
}

impl Sound {
    fn of(evidence: &Evidence, passage: &PassageFacts, track: usize, all: f64) -> Option<Self> {
        let role = evidence.tracks[track].role?;
        let mut cells = weighed(passage, &passage.tracks[track].whole);
        let sum: f64 = cells.iter().sum();
        let share_db = ratio_db(sum, all);
        let many = matches!(
            role,
            Role::Mix | Role::DrumLoop | Role::Effects | Role::Texture
        );
        if many || sum <= 0.0 || share_db < SOFTEST_DB {
            return None;
        }
        cells.iter_mut().for_each(|power| *power /= sum);
        Some(Self {
            track,
            role,
            share_db,
            cells,
        })
    }
}

/// Kick and bass have findings of their own; drums of a kind are layers, and hats and
/// shakers share the top.
fn meant_as_one(one: Role, other: Role) -> bool {
    let hit = |role: Role| matches!(role, Role::Snare | Role::Clap | Role::Rim);
    let high = |role: Role| {
        use Role::*;
        matches!(role, ClosedHat | OpenHat | Shaker | Cymbal | Percussion)
    };
    let low = |role: Role| role == Role::Kick || role.group() == Group::LowEnd;
    hit(one) && hit(other) || high(one) && high(other) || low(one) && low(other)
}

/// Powers as they weigh in the loudness.
fn weighed(passage: &PassageFacts, powers: &[f64]) -> Vec<f64> {
    let cells = powers.iter().enumerate().map(|(cell, power)| {
        let weight = passage.loudness_weights.get(cell / passage.slots.max(1));
        power * weight.copied().unwrap_or(0.0)
    });
    cells.collect()
}

/// What two distributions share, 0 to 1.
fn shared(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a.min(*b)).sum()
}

fn finding(
    evidence: &Evidence,
    passage: &PassageFacts,
    pair: [&Sound; 2],
    (percent, grade): (f64, Grade),
) -> Finding {
    let band_hz = shared_band_hz(passage, pair);
    let tracks = pair.map(|sound| sound.track);
    let [one, other] = tracks.map(|track| evidence.names(&[track]).concat());
    let words = format!(
        "{one} and {other} want one place: {percent:.0} percent of what they are lies in the \
         same bands at the same time, most of it from {:.0} to {:.0} Hz.",
        band_hz.0, band_hz.1
    );
    let rows = pair.map(|sound| PictureRow {
        name: evidence.names(&[sound.track]).concat(),
        value: sound.share_db,
        meant: true,
    });
    let softer = match pair[0].share_db > pair[1].share_db {
        true => &other,
        false => &one,
    };
    Finding::new(&KIND, grade, percent, words)
        .on(evidence.ids(&tracks))
        .at(passage_span(evidence))
        .in_band(band_hz)
        .against(75.0, "places of their own")
        .sure(0.7)
        .mend(format!(
            "Play {softer} at other times or in another octave, choose another sound for it, \
             or leave it out."
        ))
        .hear("Both alone; then mute one and listen whether anything goes missing.")
        .picture(Picture::Bars {
            unit: "dB of the mix".into(),
            rows: rows.into(),
            limit: None,
        })
}

/// The bands with four fifths of what both share.
fn shared_band_hz(passage: &PassageFacts, pair: [&Sound; 2]) -> (f64, f64) {
    let [one, other] = pair.map(|sound| &sound.cells);
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
    fn looked_at_from_75_percent_on() {
        let roles = [Role::Pad, Role::Piano];
        assert!(find(&with(roles, 0.72)).is_empty());
        let found = find(&with(roles, 0.78));
        assert_eq!(found[0].tracks, ["t0", "t1"]);
        assert_eq!(found[0].band_hz, Some((300.0, 600.0)));
    }

    #[test]
    fn layers_of_one_hit_and_soft_elements_are_no_fight() {
        assert!(find(&with([Role::Clap, Role::Snare], 1.0)).is_empty());
        assert!(find(&with([Role::Kick, Role::Bass], 1.0)).is_empty());
        assert!(find(&with([Role::ClosedHat, Role::Shaker], 1.0)).is_empty());
        let roles = [Role::Pad, Role::Piano, Role::Lead];
        let louder = |by: f64| {
            let mut evidence = session(&roles);
            let power = |p: f64| ([p, p], 0.0);
            for track in [0, 1] {
                add(&mut evidence, track, (300.0, 600.0), &ON, power(1.0));
            }
            add(&mut evidence, 2, (1200.0, 3000.0), &ON, power(by));
            evidence
        };
        assert_eq!(find(&louder(1.0)).len(), 1);
        assert!(find(&louder(200.0)).is_empty());
        let mut evidence = with([Role::Pad, Role::Piano], 1.0);
        add(&mut evidence, 0, (300.0, 600.0), &ON, ([20.0, 20.0], 0.0));
        assert!(find(&evidence).is_empty());
    }
}
