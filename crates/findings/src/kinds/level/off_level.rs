//! How far an element's level is off: shared by core and other elements.

use cupel_units::read_db_change;

use crate::evidence::{ElementFacts, Evidence, LevelFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Grade, Kind};

/// Below this share of the mix in the passage an element is not judged, dB.
const LEAST_SHARE_DB: f64 = -45.0;
/// Mending is asked for only where the level is off by this many standard deviations
/// of what the reading can tell,
const LEAST_DEVIATIONS: f64 = 1.0;

/// and only where it is off by so much more than the limit: readings err. Set on the
/// sessions that set thresholds, where 1.25 leaves half of the false alarms.
const PLAINLY: f64 = 1.25;

/// By how much an element is too loud: the smaller of its deviations from what the
/// reference asks for and from what is usual for its role; `None` where they disagree
/// in direction or nothing is told.
struct Off {
    too_loud_db: f64,
    reference_db: f64,
    usual_db: Option<f64>,
    spread_db: f64,
}

fn off(evidence: &Evidence, element: &ElementFacts) -> Option<Off> {
    let told = element
        .tracks
        .iter()
        .filter_map(|&track| Some((evidence.tracks[track].level?, share(evidence, track))));
    let levels: Vec<(LevelFacts, f64)> = told.collect();
    let all: f64 = levels.iter().map(|(_, share)| share).sum();
    if all <= 0.0 {
        return None;
    }
    // The louder of its tracks make its level.
    let mean = |value: &dyn Fn(&LevelFacts) -> f64| {
        let weighed = levels.iter().map(|(level, share)| share * value(level));
        weighed.sum::<f64>() / all
    };
    let asked_db = mean(&|level| level.asked_gain_db);
    let usual_known = levels
        .iter()
        .all(|(level, _)| level.usual_gain_db.is_some());
    let usual_db = usual_known.then(|| mean(&|level| level.usual_gain_db.unwrap_or(0.0)));
    let spread_db = mean(&|level| level.spread_db);
    // A gain that is asked for is a level that lacks.
    let smaller_db = match usual_db {
        Some(usual_db) if usual_db * asked_db <= 0.0 => return None,
        Some(usual_db) if usual_db.abs() < asked_db.abs() => usual_db,
        _ => asked_db,
    };
    Some(Off {
        too_loud_db: -smaller_db,
        reference_db: -asked_db,
        usual_db: usual_db.map(|db| -db),
        spread_db,
    })
}

/// The tracks of an element that are off with it.
fn whose(evidence: &Evidence, element: &ElementFacts, too_loud_db: f64) -> Vec<usize> {
    let off_with_it = |track: &usize| {
        let level = evidence.tracks[*track].level.as_ref();
        level.is_some_and(|level| {
            let own_db = -level.asked_gain_db;
            own_db * too_loud_db > 0.0 && own_db.abs() >= 0.5 * too_loud_db.abs()
        })
    };
    let tracks: Vec<usize> = element.tracks.iter().copied().filter(off_with_it).collect();
    if tracks.is_empty() {
        element.tracks.clone()
    } else {
        tracks
    }
}

/// `is` or `are`: hats are, the bass is.
fn be(name: &str) -> &'static str {
    let head = name.split(" among ").next().unwrap_or(name);
    let plural = head.ends_with('s') && !head.ends_with("ss");
    if plural { "are" } else { "is" }
}

/// Power of a track by loudness in the passage, or on the whole.
fn share(evidence: &Evidence, track: usize) -> f64 {
    let facts = &evidence.tracks[track];
    let in_passage = facts.in_passage.as_ref().and_then(|s| s.integrated_lufs);
    let lufs = in_passage.or(facts.file.summary.integrated_lufs);
    lufs.map_or(0.0, |lufs| 10f64.powf(lufs / 10.0))
}

/// Findings on the elements of one sort.
pub(super) fn find(kind: &'static Kind, evidence: &Evidence, core: bool) -> Vec<Finding> {
    let judged = evidence.elements.iter().filter(|element| {
        let heard = element.share_db.is_none_or(|share| share > LEAST_SHARE_DB);
        element.core == core && heard
    });
    judged
        .flat_map(|element| {
            let whole = of_element(kind, evidence, element);
            match whole {
                Some(found) => vec![found],
                None => of_parts(kind, evidence, element),
            }
        })
        .collect()
}

/// An element that is right as a whole may have a part that is not: the open hats among
/// the hats. That is only looked at.
fn of_parts(kind: &'static Kind, evidence: &Evidence, element: &ElementFacts) -> Vec<Finding> {
    let mut parts: Vec<ElementFacts> = Vec::new();
    for &track in &element.tracks {
        let Some(role) = evidence.tracks[track].role else {
            continue;
        };
        match parts.iter_mut().find(|part| part.role == role) {
            Some(part) => part.tracks.push(track),
            None => parts.push(ElementFacts {
                name: format!("{role} among the {}", element.name),
                role,
                tracks: vec![track],
                ..element.clone()
            }),
        }
    }
    if parts.len() < 2 {
        return Vec::new();
    }
    let found = parts.iter();
    found
        .filter_map(|part| of_element(kind, evidence, part))
        .map(|finding| finding.of_element(element.name.clone()).only_a_look())
        .collect()
}

fn of_element(kind: &'static Kind, evidence: &Evidence, element: &ElementFacts) -> Option<Finding> {
    let off = off(evidence, element)?;
    let size_db = off.too_loud_db.abs();
    let mut grade = kind.sizes.grade(size_db)?;
    let deviations = off.reference_db.abs() / off.spread_db.max(0.1);
    // What is usual is a weak belief: by itself it asks for nothing.
    let plain = kind
        .sizes
        .mend
        .is_some_and(|mend| size_db >= PLAINLY * mend);
    let told = deviations >= LEAST_DEVIATIONS && evidence.reference.is_some();
    if grade == Grade::Mend && !(plain && told) {
        grade = Grade::Look;
    }
    let way = if off.too_loud_db > 0.0 {
        "loud"
    } else {
        "soft"
    };
    let is_kick = element.tracks.iter().any(|&t| evidence.tracks[t].is_kick);
    let (name, is) = (&element.name, be(&element.name));
    let it = if is == "are" { "them" } else { "it" };
    let beside = match (&evidence.reference, off.usual_db) {
        (Some(_), _) if is_kick => "beside most tracks, as the reference has them".to_owned(),
        (Some(_), Some(_)) => format!("beside the reference and what is usual for {it}"),
        (Some(_), None) => "beside the reference".to_owned(),
        (None, _) => format!("beside what is usual for {it}; there is no reference"),
    };
    let words = format!("The {name} {is} {size_db:.1} dB too {way} {beside}.");
    let passage_s = evidence.passage.as_ref().map(|passage| passage.span_s);
    let tracks = whose(evidence, element, off.too_loud_db);
    let faders: Vec<String> = tracks
        .iter()
        .map(|&track| {
            let level = evidence.tracks[track].level.as_ref();
            let gain_db = level.map_or(-off.too_loud_db, |level| level.asked_gain_db);
            let most_db = gain_db.abs().min(size_db);
            let change = read_db_change(most_db.copysign(gain_db));
            format!("{} by {change}", evidence.names(&[track]).concat())
        })
        .collect();
    let mend = format!(
        "Move the fader of {} against {}, then listen again.",
        faders.join(", that of "),
        if is_kick { "all others" } else { "the kick" }
    );
    let hear = match evidence.reference {
        Some(_) => {
            format!("switch between mix and reference at equal loudness and follow only the {name}")
        }
        None => format!("mute the {name} and bring it back: does it stand where you want it?"),
    };
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.to_owned(),
        value,
        meant,
    };
    let mut rows = vec![row("with reference", off.reference_db, true)];
    rows.extend(off.usual_db.map(|db| row("usual level", db, false)));
    Some(
        Finding::new(kind, grade, size_db, words)
            .of_element(element.name.clone())
            .on(evidence.ids(&tracks))
            .at(passage_s.into_iter().collect())
            .against(
                0.0,
                "the smaller of the deviations from reference and usual level",
            )
            .sure((0.5 + 0.15 * deviations).min(0.95))
            .mend(mend)
            .in_the_mix()
            .hear(hear)
            .picture(Picture::Bars {
                unit: "dB too loud".into(),
                rows,
                limit: kind.sizes.mend,
            }),
    )
}

/// One good point for all elements whose level is right.
pub(super) fn right(kind: &'static Kind, evidence: &Evidence, core: bool) -> Option<Finding> {
    let level: Vec<&str> = evidence
        .elements
        .iter()
        .filter(|element| element.core == core)
        .filter(|element| {
            let off = off(evidence, element);
            let look = kind.sizes.look.unwrap_or(0.0);
            off.is_some_and(|off| {
                let usual_db = off.usual_db.unwrap_or(0.0);
                off.reference_db.abs() < look && usual_db.abs() < 2.0 * look
            })
        })
        .map(|element| element.name.as_str())
        .collect();
    if level.is_empty() || evidence.reference.is_none() {
        return None;
    }
    let look = kind.sizes.look.unwrap_or(0.0);
    let words = format!(
        "At a level that fits, within {look:.0} dB: {}.",
        level.join(", ")
    );
    Some(Finding::new(kind, Grade::Good, 0.0, words))
}
