//! The kick is another kind of kick than the reference's.

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "kick-unlike",
    family: Family::Sound,
    title: "the kick is unlike the reference's",
    cause: Cause::Sound,
    sizes: Sizes::look("times the limit", 1.0),
    weight: 0.5,
    brings: &["kick-lows", "unmended", "club-lows"],
    unsure: true,
    measures: "The pitch at which the kick rests and the time in which its lows fall by 20 dB, \
               against those of the reference's kick, read off its beats.",
    matters: "A short high kick never carries a mix like a long low one, at any level and with \
              any filter. If the low end should sound like the reference's, the kick is where \
              it begins.",
    threshold: "5 semitones in pitch, 4 times or half the length, only to look at (common \
                practice, no source). In a mix the end of a kick is covered, so that the \
                reference's reads shorter.",
    mend: "Choose a kick nearer to the reference's, or tune and shorten this one. Filters and \
           faders do not make one kick out of another.",
    wrong: "When the reference's kick was read under a loud bass, or when your kick is right \
            for your song and only the reference is not.",
    hear: "Your kick alone, and the reference's kick where it plays without much else.",
    train: "Order ten kicks by pitch, then by length, with the eyes closed.",
};

/// Kicks read with less certainty are none.
const LEAST_SURE: f64 = 0.7;
/// The limits. In a mix the end of a kick is covered, so that the reference's reads
/// shorter than it is: more is allowed upward.
const PITCH_SEMITONES: f64 = 5.0;
const LONGER: f64 = 4.0;
const SHORTER: f64 = 2.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let reference = evidence.reference.as_ref().filter(|r| !r.is_print);
    let own = evidence.mix.as_ref().and_then(|mix| mix.kick.as_ref());
    let other = reference.and_then(|reference| reference.kick.as_ref());
    let (Some(own), Some(other)) = (own, other) else {
        return Vec::new();
    };
    if own.sure.min(other.sure) < LEAST_SURE || own.length_ms <= 0.0 || other.length_ms <= 0.0 {
        return Vec::new();
    }
    let semitones = 12.0 * (own.fundamental_hz / other.fundamental_hz).log2();
    let lengths = own.length_ms / other.length_ms;
    let by_pitch = semitones.abs() / PITCH_SEMITONES;
    let by_length = match lengths > 1.0 {
        true => lengths.ln() / LONGER.ln(),
        false => -lengths.ln() / SHORTER.ln(),
    };
    let times = by_pitch.max(by_length);
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    let finding = match KIND.sizes.grade(times) {
        Some(grade) => {
            let mut unlike = Vec::new();
            if by_pitch >= 1.0 {
                let way = if semitones > 0.0 { "above" } else { "below" };
                unlike.push(format!(
                    "it rests at {:.0} Hz, {:.0} semitones {way} the reference's {:.0} Hz",
                    own.fundamental_hz,
                    semitones.abs(),
                    other.fundamental_hz
                ));
            }
            if by_length >= 1.0 {
                unlike.push(format!(
                    "it lasts {:.0} ms, the reference's {:.0} ms",
                    own.length_ms, other.length_ms
                ));
            }
            let words = format!(
                "The kick is another kind of kick than the reference's: {}.",
                unlike.join(", and ")
            );
            Finding::new(&KIND, grade, times, words).mend(
                "Choose a kick nearer to the reference's, or tune and shorten this one; no \
                 filter makes one out of the other.",
            )
        }
        None => return Vec::new(),
    };
    vec![
        finding
            .on(evidence.ids(&evidence.low_end.kick))
            .at(passage_span(evidence))
            .in_band((20.0, 200.0))
            .against(0.0, "the reference's kick, read off its beats")
            .sure(0.8 * own.sure.min(other.sure))
            .hear("The kick alone, and the reference where its kick stands alone.")
            .picture(Picture::Bars {
                unit: "Hz".into(),
                rows: vec![
                    row("kick", own.fundamental_hz, true),
                    row("reference's kick", other.fundamental_hz, false),
                ],
                limit: None,
            }),
    ]
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kind::Grade;
    use crate::kinds::low_end::trial::{kick, reference, session};

    fn found(own: (f64, f64), other: (f64, f64), sure: f64) -> Vec<Finding> {
        let mut evidence = session(&[Role::Kick]);
        let mut song = reference();
        let mut read = kick(other.0, other.1);
        read.sure = sure;
        song.kick = Some(read);
        evidence.reference = Some(song);
        if let Some(mix) = &mut evidence.mix {
            mix.kick = Some(kick(own.0, own.1));
        }
        find(&evidence)
    }

    fn grade(own: (f64, f64), other: (f64, f64)) -> Option<Grade> {
        found(own, other, 0.9).first().map(|finding| finding.grade)
    }

    #[test]
    fn pitch_and_length_on_both_sides_of_their_limits() {
        // 5 semitones are a factor of 1.3348.
        assert_eq!(grade((50.0, 200.0), (50.0 * 1.32, 200.0)), None);
        assert_eq!(
            grade((50.0, 200.0), (50.0 * 1.34, 200.0)),
            Some(Grade::Look)
        );
        assert_eq!(grade((50.0, 780.0), (50.0, 200.0)), None);
        assert_eq!(grade((50.0, 110.0), (50.0, 200.0)), None);
        assert_eq!(grade((50.0, 90.0), (50.0, 200.0)), Some(Grade::Look));
        let both = found((50.0, 810.0), (80.0, 200.0), 0.9);
        assert!(
            both[0].sentence.contains("8 semitones below"),
            "{}",
            both[0].sentence
        );
        assert!(both[0].sentence.contains("810 ms"), "{}", both[0].sentence);
    }

    #[test]
    fn a_kick_hardly_read_tells_nothing() {
        assert!(found((50.0, 810.0), (80.0, 200.0), 0.6).is_empty());
    }
}
