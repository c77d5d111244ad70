//! What a large system would do with the lows.

use cupel_harmony::Note;

use crate::evidence::{Evidence, PassageFacts, Powers, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "club-lows",
    family: Family::Translation,
    title: "the lowest octave on a large system",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 4.0, 8.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "The level below 55 Hz in the busiest passage, against the reference at the same \
               loudness, as the mean over half octaves.",
    matters: "A club system gives the lowest octave with force. Too much of it there covers \
              everything and drives the limiters; too little leaves the floor cold. At home \
              neither is heard.",
    threshold: "Look at 4 dB, mend at 8 dB off the reference; only look where the bass lines or \
                the kicks lie 5 semitones or more apart (common practice, no source).",
    mend: "Too much: lower what makes it, sub or kick, or cut what lies under the lowest note. \
           Too little: see whether a high-pass filter was set on kick or bass; a lower note \
           helps more than a boost.",
    wrong: "When the keys differ: a bass around 40 Hz and one around 60 Hz fill different \
            thirds. Where the reference plays lower notes, less is right.",
    hear: "Hard at home: headphones that go low, through a band of 20 to 55 Hz, mix and \
           reference in turn.",
    train: "Learn how known club records look below 55 Hz, since small rooms lie there.",
};

const TO_HZ: f64 = 55.0;
/// With lines this far apart, the lowest octaves hold other notes: only to look at.
const APART_SEMITONES: f64 = 5.0;
/// Bands with less than this part of the strongest are empty.
const REAL: f64 = 0.003;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let Some(reference) = &passage.reference else {
        return Vec::new();
    };
    let bands = passage.bands_within(0.0, TO_HZ);
    let own = passage.in_bands(&passage.mix.whole, &bands);
    let other = passage.in_bands(&reference.whole, &bands);
    if own <= 0.0 || other <= 0.0 {
        return Vec::new();
    }
    let off_db = off_db(passage, reference, &bands);
    let Some(mut grade) = KIND.sizes.grade(off_db.abs()) else {
        return Vec::new();
    };
    if lines_apart(evidence) >= APART_SEMITONES {
        grade = Grade::Look;
    }
    let owners = passage.owners(&bands);
    let names = list(&evidence.names(&owners));
    let (words, mend) = if off_db > 0.0 {
        (
            format!(
                "Below 55 Hz there is {off_db:.1} dB more than in the reference, from {names}: a large \
                 system will boom."
            ),
            format!("Lower {names}, or take off what was added below 55 Hz."),
        )
    } else {
        (
            format!(
                "Below 55 Hz there is {:.1} dB less than in the reference; what there is comes from \
                 {names}. A large system will stay cold.",
                -off_db
            ),
            format!("See whether a high-pass filter was set on {names}, and take it off."),
        )
    };
    let row = |name: &str, power: f64, meant: bool| PictureRow {
        name: name.into(),
        value: 10.0 * power.max(1e-12).log10(),
        meant,
    };
    vec![
        Finding::new(&KIND, grade, off_db.abs(), words)
            .on(evidence.ids(&owners))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band((20.0, TO_HZ))
            .against(0.0, "the reference at the same loudness")
            .mend(mend)
            .hear("Mix and reference through 20 to 55 Hz in turn, on something that goes that low.")
            .sure(0.7)
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: vec![row("mix", own, true), row("reference", other, false)],
                limit: None,
            }),
    ]
}

/// Mix less reference, mean over the bands in which either has something, dB. A sum of
/// powers would only tell of the one band that holds the bass's notes.
fn off_db(passage: &PassageFacts, reference: &Powers, bands: &[usize]) -> f64 {
    let pair = |&band: &usize| {
        let own = passage.band(&passage.mix.whole, band);
        (own, passage.band(&reference.whole, band))
    };
    let pairs: Vec<(f64, f64)> = bands.iter().map(pair).collect();
    let most = pairs
        .iter()
        .fold(0.0, |most: f64, (a, b)| most.max(*a).max(*b));
    let real = pairs.iter().filter(|(a, b)| a.max(*b) > REAL * most);
    let differences: Vec<f64> = real
        .map(|(a, b)| ratio_db(*a, *b).clamp(-24.0, 24.0))
        .collect();
    differences.iter().sum::<f64>() / differences.len().max(1) as f64
}

/// How far the bass lines, or the kicks, of both lie apart, whichever is more: semitones
/// between the lines' middle notes by length; 0 where one is unknown.
fn lines_apart(evidence: &Evidence) -> f64 {
    let (Some(mix), Some(reference)) = (&evidence.mix, &evidence.reference) else {
        return 0.0;
    };
    let lines = match (middle_note(&mix.bass), middle_note(&reference.bass)) {
        (Some(own), Some(other)) => (own - other).abs(),
        _ => 0.0,
    };
    let kicks = match (&mix.kick, &reference.kick) {
        (Some(own), Some(other)) => 12.0 * (own.fundamental_hz / other.fundamental_hz).log2().abs(),
        _ => 0.0,
    };
    lines.max(if kicks.is_finite() { kicks } else { 0.0 })
}

fn middle_note(notes: &[Note]) -> Option<f64> {
    let mut notes: Vec<(i32, f64)> = notes
        .iter()
        .map(|note| (note.midi, note.end_s - note.start_s))
        .collect();
    notes.sort_by_key(|(midi, _)| *midi);
    let half_s = 0.5 * notes.iter().map(|(_, seconds)| seconds).sum::<f64>();
    let mut past_s = 0.0;
    let middle = notes.iter().find(|(_, seconds)| {
        past_s += seconds;
        past_s >= half_s
    });
    middle.map(|(midi, _)| f64::from(*midi))
}
