//! Two tracks that mirror each other are not equally loud.

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::stereo::leaning;
use crate::say::side;

pub(crate) const KIND: Kind = Kind {
    name: "lopsided-pair",
    family: Family::Stereo,
    title: "a pair is lopsided",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 2.0, 4.0),
    weight: 0.5,
    brings: &["element-lean", "mix-lean"],
    unsure: false,
    measures: "The level, by loudness, of two tracks of one role and of like sound that stand \
               mirrored, one to the left and one to the right.",
    matters: "A pair makes width only while its halves are equal. With one half louder the ear \
              hears one sound at one side, and the width is gone.",
    threshold: "Look at 2 dB, mend at 4 dB between the halves. The two must lean at least 5 dB \
                to opposite sides (common practice, no source).",
    mend: "Bring the softer half up or the louder half down until both are equal. Look first \
           whether one fader or one gain was touched by mistake.",
    wrong: "When the two are no pair: two parts of one role that answer each other and are meant \
            to be of different weight.",
    hear: "Solo both on headphones. A pair in balance seems to come from both sides at once, a \
           lopsided one from one side.",
    train: "Pan two takes of one shaker fully apart, change one by 1, 2 and 4 dB without \
            looking, and say which half is louder.",
};

/// A half leans at least this far, and the two within this of each other, dB.
const ASIDE_DB: f64 = 5.0;
const MIRRORED_DB: f64 = 4.0;
/// Bands of like sounds differ this much, on average, dB.
const ALIKE_DB: f64 = 4.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let tracks = evidence.tracks.len();
    let mut found = Vec::new();
    for a in 0..tracks {
        for b in a + 1..tracks {
            if let Some(off_db) = pair_db(evidence, passage, a, b) {
                found.extend(of_pair(evidence, passage, (a, b), off_db));
            }
        }
    }
    found
}

/// Level of the first over the second, where the two are a mirrored pair.
fn pair_db(evidence: &Evidence, passage: &PassageFacts, a: usize, b: usize) -> Option<f64> {
    let role = |track: usize| evidence.tracks.get(track).and_then(|facts| facts.role);
    role(a)?;
    if role(a) != role(b) {
        return None;
    }
    let channels = [a, b].map(|track| leaning::track_channels(evidence, track));
    let power = channels.map(|[left, right]| left + right);
    if power[0] <= 0.0 || power[1] <= 0.0 {
        return None;
    }
    let lean = channels.map(|[left, right]| ratio_db(right, left).clamp(-30.0, 30.0));
    let mirrored = lean[0] * lean[1] < 0.0
        && lean.iter().all(|lean| lean.abs() >= ASIDE_DB)
        && (lean[0] + lean[1]).abs() <= MIRRORED_DB;
    (mirrored && alike(passage, a, b)).then(|| ratio_db(power[0], power[1]))
}

/// Whether two tracks sound alike: band by band, level aside.
fn alike(passage: &PassageFacts, a: usize, b: usize) -> bool {
    let levels = |track: usize| -> Vec<f64> {
        let bands = 0..passage.bands_hz.len();
        let of_band = |band| passage.band(&passage.tracks[track].whole, band);
        bands.map(of_band).collect()
    };
    let (one, other) = (levels(a), levels(b));
    let loudest = |levels: &[f64]| levels.iter().copied().fold(0.0, f64::max);
    let (one_most, other_most) = (loudest(&one), loudest(&other));
    let both = one.iter().zip(&other);
    let differences: Vec<f64> = both
        .filter(|(x, y)| **x > 0.03 * one_most && **y > 0.0)
        .map(|(x, y)| ratio_db(x / one_most, y / other_most))
        .collect();
    if differences.is_empty() {
        return false;
    }
    let count = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / count;
    let apart = differences.iter().map(|d| (d - mean).abs()).sum::<f64>();
    apart / count <= ALIKE_DB
}

fn of_pair(
    evidence: &Evidence,
    passage: &PassageFacts,
    (a, b): (usize, usize),
    off_db: f64,
) -> Option<Finding> {
    let grade = KIND.sizes.grade(off_db.abs())?;
    let (louder, softer) = if off_db > 0.0 { (a, b) } else { (b, a) };
    let names = evidence.names(&[louder, softer]);
    let [left, right] = leaning::track_channels(evidence, louder);
    let words = format!(
        "{} is {:.1} dB louder than {}, its other half, so that the pair pulls to the {}.",
        names[0],
        off_db.abs(),
        names[1],
        side(right - left)
    );
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    Some(
        Finding::new(&KIND, grade, off_db.abs(), words)
            .on(evidence.ids(&[louder, softer]))
            .at(vec![passage.span_s])
            .against(0.0, "equal halves")
            .mend(format!(
                "Bring the two to one level: {} down by {:.1} dB, or {} up, whichever of the \
                 two was moved.",
                names[0],
                off_db.abs(),
                names[1]
            ))
            .hear("Solo both on headphones: they seem to come from one side.")
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: vec![row(names[0], off_db.abs(), true), row(names[1], 0.0, false)],
                limit: Some(2.0),
            }),
    )
}
