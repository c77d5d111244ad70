//! The reference's bass plays in another register.

use cupel_harmony::Note;

use crate::evidence::{Evidence, PassageFacts, Powers};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::kick_free_slots;

pub(crate) const KIND: Kind = Kind {
    name: "reference-register",
    family: Family::Reference,
    title: "the reference's bass plays in another register",
    cause: Cause::Reference,
    sizes: Sizes::both("semitones", 5.0, 8.0),
    weight: 0.4,
    brings: &[],
    unsure: true,
    measures: "The middle of the notes that the bass plays in the passage, weighed by their \
               lengths, in the session and in the reference, in the octave in which the lows \
               between the kicks are strongest; the distance in semitones.",
    matters: "A bass an octave or half an octave higher fills other frequencies. Its low end \
              cannot be copied, however alike the keys are.",
    threshold: "5 semitones to look at, 8 to mend, counted straight and not by fifths: keys \
                that are relatives may lie far apart in hertz (common practice, no source). \
                Another key alone moves a bass by 6 at most.",
    mend: "Choose a reference whose bass plays near the same notes, or compare the low end by \
           note only and leave fixed frequencies alone.",
    wrong: "When an octave was misheard in one of the two, or when the bass jumps between \
            octaves all the time.",
    hear: "Hum the lowest note of both, one after the other.",
    train: "Play a bass line in two keys, a third and a sixth apart, and listen to how the \
            weight changes with the level untouched.",
};

/// Less of a bass line tells nothing, seconds.
const LEAST_S: f64 = 2.0;
/// Nor does a line that was read with less certainty.
const LEAST_SURE: f64 = 0.7;
/// The lows are looked for up to here.
const LOW_HZ: f64 = 160.0;
/// What the strongest lows must move of what the notes move, and how far from it they
/// may be.
const AGREE_PART: f64 = 0.3;
const AGREE_SEMITONES: f64 = 6.0;
/// Where the lows moved by less of what the notes moved, it is only looked at.
const SURE_PART: f64 = 0.6;
/// From here on the strongest lows of the whole bar tell by themselves, and how sure.
const LOWS_APART: f64 = 5.0;
const LOWS_SURE: f64 = 0.8;

/// Where a bass line lies.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Register {
    midi: f64,
    sure: f64,
}

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(([own, other], apart)) = both(evidence) else {
        return Vec::new();
    };
    let off = other.midi - own.midi;
    let by_half = apart.abs() < SURE_PART * off.abs();
    let [own_hz, other_hz] = [own, other].map(|register| hertz(register.midi));
    let finding = match KIND.sizes.grade(off.abs()) {
        Some(grade) => {
            let grade = if by_half { Grade::Look } else { grade };
            let way = if off > 0.0 { "higher" } else { "lower" };
            let words = format!(
                "The reference's bass plays {:.0} semitones {way} than the session's, around \
                 {other_hz:.0} Hz instead of {own_hz:.0} Hz.",
                off.abs()
            );
            Finding::new(&KIND, grade, off.abs(), words).mend(
                "Choose a reference whose bass plays near the same notes, or compare the two \
                 low ends by note only.",
            )
        }
        None => return Vec::new(),
    };
    let row = |name: &str, value: f64| PictureRow {
        name: name.into(),
        value,
        meant: name == "reference",
    };
    vec![
        finding
            .against(0.0, "the register of the session's bass")
            .sure(0.9 * own.sure * other.sure)
            .in_band((30.0, 200.0))
            .picture(Picture::Bars {
                unit: "Hz".into(),
                rows: vec![row("session", own_hz), row("reference", other_hz)],
                limit: None,
            }),
    ]
}

/// Registers of session and reference: by their notes where the strongest lows agree,
/// else by the lows alone where those lie far apart; and how far the lows lie apart.
fn both(evidence: &Evidence) -> Option<([Register; 2], f64)> {
    let reference = evidence.reference.as_ref().filter(|r| !r.is_print)?;
    let (mix, passage) = (evidence.mix.as_ref()?, evidence.passage.as_ref()?);
    let free = kick_free_slots(&evidence.low_end, passage.slots);
    let all: Vec<usize> = (0..passage.slots).collect();
    let sides = [&passage.mix, passage.reference.as_ref()?];
    let centres = |slots: &[usize]| -> Option<[f64; 2]> {
        let [own, other] = sides.map(|powers| low_centre_midi(passage, powers, slots));
        Some([own?, other?])
    };
    let [own_midi, other_midi] = centres(&free)?;
    let apart = other_midi - own_midi;
    // With the kick: it, too, stands lower in a lower piece, and nothing misreads it.
    let whole = centres(&all)?;
    let whole_apart = whole[1] - whole[0];
    let far = whole_apart.abs() >= LOWS_APART;
    let notes = [
        register(&mix.bass, passage.span_s, own_midi),
        reference
            .passage_s
            .and_then(|span_s| register(&reference.bass, span_s, other_midi)),
    ];
    if let [Some(own), Some(other)] = notes {
        let off = other.midi - own.midi;
        let one_way = apart * off.signum() >= AGREE_PART * off.abs();
        let enough = off * whole_apart.signum() >= SURE_PART * whole_apart.abs();
        if one_way && (off - apart).abs() <= AGREE_SEMITONES && (enough || !far) {
            return Some(([own, other], apart));
        }
    }
    let by_lows = |midi: f64| Register {
        midi,
        sure: LOWS_SURE,
    };
    far.then(|| (whole.map(by_lows), whole_apart))
}

/// Where the lows are strongest, as a note with fraction; `None` in silence.
fn low_centre_midi(passage: &PassageFacts, powers: &Powers, slots: &[usize]) -> Option<f64> {
    let (mut sum, mut all) = (0.0, 0.0);
    for band in passage.bands_within(0.0, LOW_HZ) {
        for &slot in slots {
            let power = passage.in_slot(&powers.whole, &[band], slot);
            sum += power * midi(passage.centre_hz(band));
            all += power;
        }
    }
    (all > 0.0).then_some(sum / all)
}

/// The middle note by length, each in the octave nearest to where the lows are
/// strongest: in a mix, octaves are easily misheard.
fn register(notes: &[Note], (from_s, to_s): (f64, f64), centre_midi: f64) -> Option<Register> {
    let octave = |note: i32| note - 12 * ((f64::from(note) - centre_midi) / 12.0).round() as i32;
    let mut inside: Vec<(i32, f64, f64)> = notes
        .iter()
        .filter_map(|note| {
            let seconds = note.end_s.min(to_s) - note.start_s.max(from_s);
            (seconds > 0.0).then_some((octave(note.midi), seconds, note.sure))
        })
        .collect();
    inside.sort_by_key(|note| note.0);
    let seconds: f64 = inside.iter().map(|note| note.1).sum();
    let sure = inside.iter().map(|note| note.1 * note.2).sum::<f64>() / seconds;
    if seconds < LEAST_S || sure < LEAST_SURE {
        return None;
    }
    let mut passed = 0.0;
    let middle = inside.iter().find(|note| {
        passed += note.1;
        passed >= 0.5 * seconds
    })?;
    Some(Register {
        midi: f64::from(middle.0),
        sure,
    })
}

fn midi(hertz: f64) -> f64 {
    69.0 + 12.0 * (hertz / 440.0).log2()
}

/// A4 = 440 Hz (ISO 16).
fn hertz(midi: f64) -> f64 {
    440.0 * ((midi - 69.0) / 12.0).exp2()
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{add, notes, reference, session};

    /// Bass lines, whose first note stands for where the lows are.
    fn with(session_midis: &[i32], reference_midis: &[i32]) -> Option<Grade> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let mut other = reference();
        other.bass = notes(16.0, 0.5, reference_midis);
        evidence.reference = Some(other);
        if let Some(mix) = &mut evidence.mix {
            mix.bass = notes(16.0, 0.5, session_midis);
        }
        let lows = |evidence: &mut Evidence, midi: i32| {
            let hz = hertz(f64::from(midi));
            add(
                evidence,
                1,
                (hz / 1.2, hz * 1.2),
                &[2, 6],
                ([1.0, 1.0], 0.0),
            );
        };
        lows(&mut evidence, reference_midis[0]);
        if let Some(passage) = &mut evidence.passage {
            passage.reference = Some(passage.mix.clone());
            passage.mix.whole.fill(0.0);
        }
        lows(&mut evidence, session_midis[0]);
        find(&evidence).first().map(|finding| finding.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        assert_eq!(with(&[36; 8], &[38; 8]), None);
        assert_eq!(with(&[36; 8], &[40; 8]), None);
        assert_eq!(with(&[36; 8], &[41; 8]), Some(Grade::Look));
        assert_eq!(with(&[36; 8], &[43; 8]), Some(Grade::Look));
        assert_eq!(with(&[36; 8], &[44; 8]), Some(Grade::Mend));
        assert_eq!(with(&[36; 8], &[24; 8]), Some(Grade::Mend));
    }

    #[test]
    fn an_octave_misheard_is_put_right_by_where_the_lows_are() {
        let line = [36, 48, 48, 48, 48, 48, 48, 48];
        assert_eq!(with(&[36; 8], &line), None);
    }

    #[test]
    fn a_note_an_octave_up_now_and_then_moves_nothing() {
        let line = [36, 36, 48, 36, 36, 48, 36, 36];
        assert_eq!(with(&[36; 8], &line), None);
    }

    #[test]
    fn without_notes_only_lows_far_apart_tell() {
        assert_eq!(with(&[36; 8], &[38; 3]), None);
        assert_eq!(with(&[36; 8], &[24; 3]), Some(Grade::Mend));
    }
}
