//! A band is far wider or narrower than in the reference.

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::say::{band, list};

pub(crate) const KIND: Kind = Kind {
    name: "width-band",
    family: Family::Stereo,
    title: "a band is too wide or too narrow",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.35,
    brings: &["mono-loss-band"],
    unsure: true,
    measures: "What differs between left and right against what both share, in four bands from \
               120 Hz up, in the mix and in the reference.",
    matters: "Sides that are too strong blur the middle and vanish on one loudspeaker; with \
              hardly any sides the mix sounds small beside the reference.",
    threshold: "Look at 3 dB, mend at 6 dB beyond both the reference and what is usual, sides 6 \
                to 14 dB under the middle, or as far beyond 4 dB off the reference. Whole \
                student mixes had them 8.2 to 12.8 dB under it (De Man and others, ISMIR 2014); \
                the limits are common practice, no source.",
    mend: "Too wide: take off wideners, choruses and short delays first, then move the loudest \
           of its tracks inward. Too narrow: move small percussion, doubles and rooms outward.",
    wrong: "When the arrangement differs: a reference with wide pads says nothing about a \
            passage of drums alone.",
    hear: "Hear only the difference of left and right, through the band, of mix and reference in \
           turn.",
    train: "Take a stereo track, change the level of its sides by 3 and 6 dB without looking, \
            and say wider or narrower.",
};

const BANDS_HZ: [(f64, f64); 4] = [
    (120.0, 500.0),
    (500.0, 2000.0),
    (2000.0, 5000.0),
    (5000.0, 20000.0),
];
/// Within what is usual the reference may be off by this much, dB.
const SPARE_DB: f64 = 4.0;
/// References narrower or wider than this say nothing of what is usual, dB.
const MEASURE_DB: (f64, f64) = (-20.0, 0.0);
/// Sides against the middle, dB: what is usual.
const USUAL_DB: (f64, f64) = (-14.0, -6.0);

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let found = BANDS_HZ.iter();
    found
        .filter_map(|&band_hz| of_band(evidence, passage, band_hz))
        .collect()
}

fn of_band(evidence: &Evidence, passage: &PassageFacts, band_hz: (f64, f64)) -> Option<Finding> {
    let reference = passage.reference.as_ref()?;
    let bands = passage.bands_within(band_hz.0, band_hz.1);
    let width_db = |powers: &crate::evidence::Powers| {
        let side = passage.in_bands(&powers.side, &bands);
        let middle = passage.in_bands(&powers.whole, &bands) - side;
        (side + middle > 0.0).then(|| ratio_db(side, middle.max(0.0)).clamp(-40.0, 40.0))
    };
    let own_db = width_db(&passage.mix)?;
    let other_db = width_db(reference)?;
    let (low_db, high_db) = (USUAL_DB.0.min(other_db), USUAL_DB.1.max(other_db));
    let wide = own_db > other_db;
    let beyond_usual_db = if wide {
        own_db - high_db
    } else {
        low_db - own_db
    };
    // A reference nearly in mono, or nearly all sides, is no measure.
    let beyond_db = if (MEASURE_DB.0..MEASURE_DB.1).contains(&other_db) {
        beyond_usual_db.max((own_db - other_db).abs() - SPARE_DB)
    } else {
        beyond_usual_db
    };
    let grade = KIND.sizes.grade(beyond_db)?;
    let owners = owners(passage, &bands, wide);
    let names = list(&evidence.names(&owners));
    let place = band(band_hz);
    let words = if wide {
        format!(
            "{place} is too wide: the sides stand {own_db:+.0} dB against the middle, \
             {other_db:+.0} dB in the reference, most of it from {names}."
        )
    } else {
        format!(
            "{place} is too narrow: the sides stand {own_db:+.0} dB against the middle, \
             {other_db:+.0} dB in the reference; {names} could be wider."
        )
    };
    let mend = if wide {
        format!("Take off a widener, a chorus or a short delay on {names}, else move it inward.")
    } else {
        format!("See whether {names} was folded to mono; else move doubles and rooms outward.")
    };
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    Some(
        Finding::new(&KIND, grade, beyond_db, words)
            .on(evidence.ids(&owners))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(band_hz)
            .against(other_db, "the reference, sides against middle")
            .mend(mend)
            .hear("The difference of left and right through the band, then the same of the reference.")
            .sides(Sides::Difference)
            .sure(0.7)
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: vec![
                    row("mix", own_db, true),
                    row("reference", other_db, false),
                ],
                limit: Some(if wide { high_db } else { low_db }),
            }),
    )
}

/// The tracks that make the most of the sides, or where those lack, of the band.
pub(super) fn owners(passage: &PassageFacts, bands: &[usize], sides: bool) -> Vec<usize> {
    if !sides {
        return passage.owners(bands);
    }
    let power = |track: &crate::evidence::Powers| passage.in_bands(&track.side, bands);
    let powers: Vec<f64> = passage.tracks.iter().map(power).collect();
    let all: f64 = powers.iter().sum();
    let mut order: Vec<usize> = (0..powers.len()).collect();
    order.sort_by(|&a, &b| powers[b].total_cmp(&powers[a]).then(a.cmp(&b)));
    let mut sum = 0.0;
    let mut owners = Vec::new();
    for track in order {
        if sum >= 0.7 * all || owners.len() == 3 || powers[track] <= 0.1 * all {
            break;
        }
        sum += powers[track];
        owners.push(track);
    }
    owners
}
