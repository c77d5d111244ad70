//! A drop that does not lift.

use crate::evidence::{Evidence, SectionFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::say::{clock, median};

pub(crate) const KIND: Kind = Kind {
    name: "no-lift",
    family: Family::Dynamics,
    title: "a drop does not lift",
    cause: Cause::Arrangement,
    sizes: Sizes::look("LU", 2.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "How much louder a drop is than the quietest section that leads to it, against the \
               lift that the reference and the other drops of the session have.",
    matters: "A drop is heard by what comes before it. If it is hardly louder than its break, \
              nothing happens where everybody waits for it.",
    threshold: "Look where 2 LU are missing to 3 LU, or to what the reference or the best other \
                drop has, whichever asks for more within reason; or where a drop is 0.8 LU \
                softer than the build right before it (common practice, no source).",
    mend: "Take something out before the drop, a bar of silence or fewer layers, rather than \
           adding more to the drop. Then see whether the core of the drop came in at full level.",
    wrong: "When the piece grows slowly over minutes and has no drop that is meant to hit.",
    hear: "Play from two bars before the drop: it should open, not just go on.",
    train: "In known records, guess how many LU the drop is over its break, then measure.",
};

/// Every drop is asked for this much at least, LU.
const USUAL_LU: f64 = 3.0;
/// More is asked of no drop for the reference's sake, LU.
const MOST_LU: f64 = 5.0;
/// Drops may differ this much among themselves, LU.
const AMONG_LU: f64 = 2.5;

/// This much is missing by itself to a drop as loud as what comes right before it, LU: a
/// build may lead up to the level of the drop, but not over it.
const FALLS_LU: f64 = 1.2;

/// A drop and how far it lifts.
struct Lift {
    span_s: (f64, f64),
    before: String,
    lift_lu: f64,
    /// Over the section right before it.
    last_lu: f64,
    last: String,
}

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(mix) = &evidence.mix else {
        return Vec::new();
    };
    let own = lifts(&mix.sections);
    let reference = evidence
        .reference
        .as_ref()
        .map_or_else(Vec::new, |reference| lifts(&reference.sections));
    let of_reference = match reference.is_empty() {
        true => None,
        false => Some(median(reference.iter().map(|lift| lift.lift_lu).collect())),
    };
    let best = own.iter().map(|lift| lift.lift_lu).fold(0.0, f64::max);
    let usual = of_reference.map_or(USUAL_LU, |lu| lu.clamp(USUAL_LU, MOST_LU));
    let asked_lu = usual.max(best - AMONG_LU);
    own.iter()
        .filter_map(|lift| of_drop(lift, asked_lu, of_reference, &own))
        .collect()
}

fn of_drop(lift: &Lift, asked_lu: f64, of_reference: Option<f64>, all: &[Lift]) -> Option<Finding> {
    let falls_lu = FALLS_LU - lift.last_lu;
    let missing_lu = (asked_lu - lift.lift_lu).max(falls_lu);
    let grade = KIND.sizes.grade(missing_lu)?;
    let at = clock(lift.span_s.0);
    let (lift_lu, before) = if falls_lu < missing_lu {
        (lift.lift_lu, &lift.before)
    } else {
        (lift.last_lu, &lift.last)
    };
    let by = if lift_lu > 0.2 {
        format!("lifts only {lift_lu:.1} LU over")
    } else if lift_lu > -0.2 {
        "does not lift over".to_owned()
    } else {
        format!("is {:.1} LU softer than", -lift_lu)
    };
    let beside = of_reference.map_or_else(String::new, |lu| {
        format!("; the drops of the reference lift {lu:.1} LU")
    });
    let words = format!("The drop at {at} {by} the {before} before it{beside}.");
    let rows = all.iter().map(|one| PictureRow {
        name: format!("drop at {}", clock(one.span_s.0)),
        value: one.lift_lu,
        meant: one.span_s == lift.span_s,
    });
    Some(
        Finding::new(&KIND, grade, missing_lu, words)
            .at(vec![((lift.span_s.0 - 4.0).max(0.0), lift.span_s.0 + 4.0)])
            .against(asked_lu, "what the reference, or the best drop of the session, asks for")
            .mend(format!(
                "Thin out the {before} before {at}, or leave a gap before the drop; then see whether the core \
                 of the drop enters at full level."
            ))
            .hear(format!("From two bars before {at}: does it open?"))
            .sure(0.65)
            .picture(Picture::Bars {
                unit: "LU".into(),
                rows: rows.collect(),
                limit: Some(asked_lu),
            }),
    )
}

/// Every drop that has something quieter by kind before it.
fn lifts(sections: &[SectionFacts]) -> Vec<Lift> {
    let mut found = Vec::new();
    for (place, section) in sections.iter().enumerate() {
        let Some(lufs) = section.lufs.filter(|_| section.name == "drop") else {
            continue;
        };
        let before: Vec<&SectionFacts> = sections[..place]
            .iter()
            .rev()
            .take_while(|before| before.name != "drop")
            .take(2)
            .collect();
        let quietest = before
            .iter()
            .filter_map(|before| Some((before.lufs?, before.name.as_str())))
            .reduce(|best, next| if next.0 < best.0 { next } else { best });
        let last = before
            .iter()
            .find_map(|last| Some((last.lufs?, last.name.as_str())));
        if let (Some((quiet_lufs, name)), Some((last_lufs, last))) = (quietest, last) {
            found.push(Lift {
                span_s: section.span_s,
                before: name.to_owned(),
                lift_lu: lufs - quiet_lufs,
                last_lu: lufs - last_lufs,
                last: last.to_owned(),
            });
        }
    }
    found
}
