//! How far a band stands off the reference, with what allows for it.

use crate::evidence::{Evidence, PassageFacts, Powers, ratio_db};
use crate::finding::{Finding, Picture};
use crate::kind::{Grade, Kind};

/// The least that is looked at, dB.
const LEAST_DB: f64 = 3.0;
/// Sections of the reference this far under its loudest are other music, LU.
const LIKE_LU: f64 = 3.0;

/// A band of the mix against the reference.
#[derive(Clone, Debug)]
pub(super) struct Beside {
    /// Mix less reference at one loudness, dB.
    pub(super) off_db: f64,
    /// Looked at from here on; mended from twice this, dB.
    pub(super) limit_db: f64,
    /// The same difference in the middle of all bands above 100 Hz, dB.
    pub(super) middle_db: f64,
    /// Whether the two play different things there.
    pub(super) elsewhere: bool,
    /// Bands of the passage.
    pub(super) bands: Vec<usize>,
}

impl Beside {
    /// The grade of a value over the limits, dB. To mend, the band must stand out of
    /// the other bands too, and the two must play alike there.
    pub(super) fn grade(&self, value_db: f64, stands_out_db: f64) -> Option<Grade> {
        let clear = stands_out_db >= self.limit_db && !self.elsewhere;
        match value_db {
            value if value >= 2.0 * self.limit_db && clear => Some(Grade::Mend),
            value if value >= self.limit_db => Some(Grade::Look),
            _ => None,
        }
    }
}

/// A band against a reference that is another song; `None` where there is none, or
/// where the band is empty.
pub(super) fn beside(evidence: &Evidence, band_hz: (f64, f64)) -> Option<Beside> {
    let passage = evidence.passage.as_ref()?;
    let reference = passage.reference.as_ref()?;
    let bands = passage.bands_within(band_hz.0, band_hz.1);
    let own = passage.in_bands(&passage.mix.whole, &bands);
    let other = passage.in_bands(&reference.whole, &bands);
    if own <= 0.0 || other <= 0.0 {
        return None;
    }
    let spread_db = spread_db(evidence, band_hz);
    let all = passage.bands_within(100.0, 16000.0);
    let differences = all.iter().map(|&band| of_band(passage, reference, band));
    Some(Beside {
        off_db: ratio_db(own, other),
        limit_db: LEAST_DB.max(spread_db),
        middle_db: crate::say::median(differences.collect()),
        elsewhere: elsewhere(passage, band_hz),
        bands,
    })
}

fn of_band(passage: &PassageFacts, reference: &Powers, band: usize) -> f64 {
    ratio_db(
        passage.band(&passage.mix.whole, band),
        passage.band(&reference.whole, band),
    )
}

/// Whether other things play in most of a band in the reference.
fn elsewhere(passage: &PassageFacts, (low_hz, high_hz): (f64, f64)) -> bool {
    let octaves = |low: f64, high: f64| (high / low).log2().max(0.0);
    let shared = passage.elsewhere_hz.iter().map(|(low, high)| {
        let (low, high) = (low.max(low_hz), high.min(high_hz));
        if high > low { octaves(low, high) } else { 0.0 }
    });
    shared.sum::<f64>() > 0.5 * octaves(low_hz, high_hz)
}

/// How far the reference itself goes from section to section in a band, dB: the
/// standard deviation over its loud sections.
fn spread_db(evidence: &Evidence, (low_hz, high_hz): (f64, f64)) -> f64 {
    let Some(reference) = &evidence.reference else {
        return 0.0;
    };
    let loudness = reference.sections.iter().filter_map(|section| section.lufs);
    let loudest = loudness.fold(f64::NEG_INFINITY, f64::max);
    let loud = reference.sections.iter().filter(|section| {
        let loud = section.lufs.is_some_and(|lufs| lufs > loudest - LIKE_LU);
        loud && section.name == "drop"
    });
    let levels: Vec<f64> = loud
        .filter_map(|section| level_db(&section.third_octaves_db, (low_hz, high_hz)))
        .collect();
    if levels.len() < 2 {
        return 0.0;
    }
    let count = levels.len() as f64;
    let mean = levels.iter().sum::<f64>() / count;
    let squares = levels.iter().map(|level| (level - mean).powi(2));
    (squares.sum::<f64>() / (count - 1.0)).sqrt()
}

/// Level of some third octaves, 20 Hz being the first, dB.
fn level_db(third_octaves_db: &[Option<f64>], (low_hz, high_hz): (f64, f64)) -> Option<f64> {
    let inside = third_octaves_db.iter().enumerate().filter(|(place, _)| {
        let middle_hz = 1000.0 * 10f64.powf((*place as f64 - 17.0) / 10.0);
        (low_hz..high_hz).contains(&middle_hz)
    });
    let power: f64 = inside
        .filter_map(|(_, level)| *level)
        .map(|level| 10f64.powf(level / 10.0))
        .sum();
    (power > 0.0).then(|| 10.0 * power.log10())
}

/// Both curves, with the band marked.
pub(super) fn curves(passage: &PassageFacts, mark: (f64, f64)) -> Picture {
    let curve = |powers: &Powers| -> Vec<(f64, f64)> {
        let bands = 0..passage.bands_hz.len();
        bands
            .map(|band| {
                let level = 10.0 * passage.band(&powers.whole, band).max(1e-12).log10();
                (passage.centre_hz(band), level)
            })
            .collect()
    };
    Picture::Curve {
        along: "Hz".into(),
        unit: "dB".into(),
        points: curve(&passage.mix),
        against: passage.reference.as_ref().map_or_else(Vec::new, curve),
        mark: Some(mark),
    }
}

/// What the kinds of this family say about a band that has too much.
pub(super) struct TooMuch {
    pub(super) kind: &'static Kind,
    pub(super) band_hz: (f64, f64),
    /// `mud, 200 to 500 Hz`.
    pub(super) what: &'static str,
    pub(super) hear: &'static str,
}

/// A band that has more than the reference, with the tracks that fill it.
pub(super) fn too_much(evidence: &Evidence, asked: &TooMuch) -> Vec<Finding> {
    let (Some(passage), Some(beside)) = (&evidence.passage, beside(evidence, asked.band_hz)) else {
        return Vec::new();
    };
    let stands_out_db = beside.off_db - beside.middle_db;
    let Some(grade) = beside.grade(beside.off_db, stands_out_db) else {
        return Vec::new();
    };
    let owners = passage.owners(&beside.bands);
    let names = crate::say::list(&evidence.names(&owners));
    let shares = passage.shares(&beside.bands);
    let first = owners.first().map_or(0.0, |&track| shares[track]);
    let words = format!(
        "There is {:.1} dB more {} than in the reference, most of it from {names}.",
        beside.off_db, asked.what
    );
    let maybe = if beside.elsewhere {
        "The reference plays something else there, so trust your ears more than this. "
    } else {
        ""
    };
    vec![
        Finding::new(asked.kind, grade, beside.off_db, words)
            .on(evidence.ids(&owners))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(asked.band_hz)
            .against(
                0.0,
                format!("the reference, within {:.1} dB", beside.limit_db),
            )
            .mend(format!(
                "{maybe}Take off what was added there on {names}; then see whether its fader is \
                 too high, or another sound does it better; cut only what is left."
            ))
            .hear(asked.hear)
            .sure(if first > 0.6 { 0.85 } else { 0.7 })
            .picture(curves(passage, asked.band_hz)),
    ]
}
