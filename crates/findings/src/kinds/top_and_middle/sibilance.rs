//! A voice with sharp s sounds.

use cupel_units::Role;

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::say::clock;

pub(crate) const KIND: Kind = Kind {
    name: "sibilance",
    family: Family::TopAndMiddle,
    title: "sharp s sounds in a voice",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "What a voice has between 5 and 9 kHz, where s and t sound, against its body from \
               300 Hz to 3.5 kHz.",
    matters: "Sharp s sounds stick out of the mix, hurt at loud places and get worse with every \
              limiter that follows.",
    threshold: "Look from 13 dB under the body on, mend from 10 dB under it; voices without a \
                fault lay 16 to 25 dB under it in our trials (zone: common practice, no source).",
    mend: "Take off a boost or an exciter at the top of the voice first. Then lower the single s \
           sounds by hand or with an effect that only acts on them.",
    wrong: "With whispers and speech very close to the microphone, which are made of such \
            sounds.",
    hear: "Solo the voice through a band of 5 to 9 kHz: s and t hiss out of it.",
    train: "Listen to voices of known records through 5 to 9 kHz until you know how much hiss is \
            usual.",
};

const BAND_HZ: (f64, f64) = (5000.0, 9500.0);
const BODY_HZ: (f64, f64) = (300.0, 3500.0);
/// The most of voices without a fault, dB against the body.
const USUAL_DB: f64 = -16.0;
/// A voice that makes less than this part of the band of the mix is not heard in it.
const HEARD_SHARE: f64 = 0.05;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let voices = evidence.tracks.iter().enumerate();
    voices
        .filter(|(_, facts)| facts.role == Some(Role::Voice))
        .filter_map(|(track, facts)| of_voice(evidence, track, facts))
        .collect()
}

fn of_voice(evidence: &Evidence, track: usize, facts: &TrackFacts) -> Option<Finding> {
    let hiss_db = level_db(facts, BAND_HZ)? - level_db(facts, BODY_HZ)?;
    let over_db = hiss_db - USUAL_DB;
    let grade = KIND.sizes.grade(over_db)?;
    if let Some(passage) = &evidence.passage {
        let shares = passage.shares(&passage.bands_within(BAND_HZ.0, BAND_HZ.1));
        let sounds = shares.get(track).is_some_and(|share| *share > 0.0);
        if sounds && shares[track] < HEARD_SHARE {
            return None;
        }
    }
    let name = &facts.file.name;
    let spans_s: Vec<(f64, f64)> = facts.sounds_s.iter().copied().take(8).collect();
    let first = spans_s.first().map_or_else(String::new, |(start_s, _)| {
        format!(", first at {}", clock(*start_s))
    });
    let words = format!(
        "{name} has sharp s sounds: 5 to 9 kHz stand {:.0} dB under its body, {over_db:.0} dB over \
         what is usual{first}.",
        -hiss_db
    );
    let points = facts.file.summary.third_octaves.iter();
    let points = points.filter_map(|band| Some((band.nominal_hz, band.level_dbfs?)));
    Some(
        Finding::new(&KIND, grade, over_db, words)
            .on([facts.id.clone()])
            .at(spans_s)
            .in_band(BAND_HZ)
            .against(USUAL_DB, "voices without a fault, against their body, dB")
            .mend(format!(
                "Take off a boost or an exciter at the top of {name}; then lower its single s \
                 sounds by hand."
            ))
            .hear(format!(
                "Solo {name} through 5 to 9 kHz: s and t hiss out of it."
            ))
            .sure(0.7)
            .picture(Picture::Curve {
                along: "Hz".into(),
                unit: "dB".into(),
                points: points.collect(),
                against: Vec::new(),
                mark: Some(BAND_HZ),
            }),
    )
}

/// Level of a file in a band, dB.
fn level_db(facts: &TrackFacts, (low_hz, high_hz): (f64, f64)) -> Option<f64> {
    let bands = facts.file.summary.third_octaves.iter();
    let inside = bands.filter(|band| (low_hz..high_hz).contains(&band.nominal_hz));
    let power: f64 = inside
        .filter_map(|band| band.level_dbfs)
        .map(|level| 10f64.powf(level / 10.0))
        .sum();
    (power > 0.0).then(|| 10.0 * power.log10())
}
