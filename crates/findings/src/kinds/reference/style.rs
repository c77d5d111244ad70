//! The reference's lows move to another beat: another style.

use crate::evidence::{Evidence, PassageFacts};
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::listed;

pub(crate) const KIND: Kind = Kind {
    name: "reference-style",
    family: Family::Reference,
    title: "the reference has another beat",
    cause: Cause::Reference,
    sizes: Sizes::look("percent", 55.0),
    weight: 0.4,
    brings: &["kick-unlike"],
    unsure: true,
    measures: "Where in the bar the reference's lows rise, against where the session's kick \
               starts: 0 percent for one beat, 100 percent for beats that never meet.",
    matters: "The kick's pattern makes a style: four on the floor leaves other gaps for the \
              bass than a broken beat. A balance made for one does not fit the other.",
    threshold: "55 percent unlike, only to look at (common practice, no source). A bass that \
                plays between the kicks makes up to 40 percent without another beat.",
    mend: "Choose a reference with the same kind of beat, or take from this one its tone and \
           width and leave its balance.",
    wrong: "When the passage compared is a fill, or when the reference's bass rises harder \
            than its kick.",
    hear: "Tap the kick of the session while the reference plays, and notice how many taps \
           meet its kicks.",
    train: "Take ten songs, and write down on which sixteenths the kick falls.",
};

/// Lows of kick and bass.
const LOW_HZ: (f64, f64) = (38.0, 151.0);
/// Rises are listed from this part of the highest on.
const LISTED_PART: f64 = 0.4;
/// A late kick rises a sixteenth later on the grid: beats are moved by so many.
const SHIFTS: [isize; 3] = [-1, 0, 1];

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some((session, reference)) = both(evidence) else {
        return Vec::new();
    };
    let unlike = 100.0 * (1.0 - likeness(&session, &reference));
    let Some(grade) = KIND.sizes.grade(unlike) else {
        return Vec::new();
    };
    let genre = evidence.reference.as_ref().and_then(|r| r.genre.as_deref());
    let tag = genre.map_or(String::new(), |genre| format!(" (tagged {genre})"));
    let words = format!(
        "The reference{tag} has another beat: its lows rise on {} of the bar, the session's \
         kick starts on {}.",
        places(&reference),
        places(&session)
    );
    vec![
        Finding::new(&KIND, grade, unlike, words)
            .against(0.0, "the session's kick pattern")
            .sure(0.75)
            .mend(
                "Choose a reference with the same kind of beat, or take only its tone and \
                 width as an example.",
            ),
    ]
}

/// Rises of the session's kick and of the reference's lows, sixteenth by sixteenth.
fn both(evidence: &Evidence) -> Option<(Vec<f64>, Vec<f64>)> {
    evidence.reference.as_ref().filter(|r| !r.is_print)?;
    let passage = evidence.passage.as_ref()?;
    let kick: Vec<f64> = evidence.low_end.sixteenths.iter().map(|s| s[0]).collect();
    let reference = low_powers(passage)?;
    let (session, reference) = (rises(&kick), rises(&reference));
    let heard = |rises: &[f64]| rises.iter().any(|rise| *rise > 0.0);
    let usable = session.len() == reference.len() && heard(&session) && heard(&reference);
    usable.then_some((session, reference))
}

fn low_powers(passage: &PassageFacts) -> Option<Vec<f64>> {
    let powers = passage.reference.as_ref()?;
    let bands = passage.bands_within(LOW_HZ.0, LOW_HZ.1);
    let slots = 0..passage.slots;
    Some(
        slots
            .map(|slot| passage.in_slot(&powers.whole, &bands, slot))
            .collect(),
    )
}

/// By how much the level rises from each sixteenth to the next, around the bar.
fn rises(powers: &[f64]) -> Vec<f64> {
    let slots = powers.len();
    (0..slots)
        .map(|slot| (powers[slot].sqrt() - powers[(slot + slots - 1) % slots].sqrt()).max(0.0))
        .collect()
}

/// Cosine of two beats, one moved by a sixteenth at most; 1 for the same.
fn likeness(session: &[f64], reference: &[f64]) -> f64 {
    let slots = session.len() as isize;
    let length = |rises: &[f64]| rises.iter().map(|rise| rise * rise).sum::<f64>().sqrt();
    let lengths = length(session) * length(reference);
    let moved = |shift: isize| -> f64 {
        let pairs = session.iter().enumerate();
        pairs
            .map(|(slot, rise)| {
                let at = (slot as isize + shift).rem_euclid(slots) as usize;
                rise * reference[at]
            })
            .sum()
    };
    SHIFTS.into_iter().map(moved).fold(0.0, f64::max) / lengths.max(1e-30)
}

/// `sixteenths 1, 5, 9 and 13`, as people count.
fn places(rises: &[f64]) -> String {
    let highest = rises.iter().copied().fold(0.0, f64::max);
    let listed_ones = rises.iter().enumerate();
    let counted: Vec<String> = listed_ones
        .filter(|(_, rise)| **rise >= LISTED_PART * highest)
        .map(|(slot, _)| (slot + 1).to_string())
        .collect();
    let plural = if counted.len() == 1 { "" } else { "s" };
    format!("sixteenth{plural} {}", listed(&counted))
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{add, reference, session};

    /// A session of four on the floor beside a reference with kicks on some
    /// sixteenths, and a bass of a power on others.
    fn found(kicks: &[usize], bass: &[usize], bass_power: f64) -> Vec<Finding> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        evidence.reference = Some(reference());
        evidence.low_end.sixteenths = vec![[0.0, 1.0, 1.0]; 16];
        for slot in [0, 4, 8, 12] {
            evidence.low_end.sixteenths[slot][0] = 1.0;
        }
        add(&mut evidence, 0, (40.0, 150.0), kicks, ([1.0, 1.0], 0.0));
        let power = ([bass_power, bass_power], 0.0);
        add(&mut evidence, 1, (40.0, 150.0), bass, power);
        if let Some(passage) = &mut evidence.passage {
            passage.reference = Some(passage.mix.clone());
        }
        find(&evidence)
    }

    #[test]
    fn a_broken_beat_beside_four_on_the_floor() {
        let found = found(&[0, 6, 10, 14], &[], 0.0);
        assert_eq!(found.len(), 1);
        let words = &found[0].sentence;
        assert!(words.contains("sixteenths 1, 7, 11 and 15"), "{words}");
        assert!(words.contains("sixteenths 1, 5, 9 and 13"), "{words}");
    }

    #[test]
    fn limits_of_the_part_that_meets() {
        // Two of four meet: half unlike. One of four: three quarters.
        assert!(found(&[0, 4, 10, 14], &[], 0.0).is_empty());
        assert_eq!(found(&[0, 6, 10, 14], &[], 0.0).len(), 1);
    }

    #[test]
    fn a_bass_between_the_kicks_and_a_late_kick_are_no_other_beat() {
        assert!(found(&[0, 4, 8, 12], &[2, 6, 10, 14], 0.8).is_empty());
        assert!(found(&[1, 5, 9, 13], &[], 0.0).is_empty());
    }

    #[test]
    fn without_lows_nothing_is_told() {
        assert!(found(&[], &[], 0.0).is_empty());
    }
}
