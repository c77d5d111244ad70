//! Findings as the page and the terminal show them.

use cupel_findings::{Finding, Grade, Picture};
use cupel_report::{FindingPicture, FindingView};
use cupel_units::{read_hertz, read_seconds};

use crate::view::{State, sentence};

/// What is to mend or to look at, the gravest first.
pub(crate) fn findings(state: &State<'_>) -> Vec<FindingView> {
    let found = state.assayed.findings.iter();
    found
        .filter(|finding| finding.grade != Grade::Good)
        .map(|finding| view(state, finding))
        .collect()
}

fn view(state: &State<'_>, finding: &Finding) -> FindingView {
    FindingView {
        mend_it: finding.grade == Grade::Mend,
        number: number(finding),
        sentence: sentence(&finding.sentence),
        whose: whose(state, finding),
        time: time(finding),
        mend: sentence(&finding.mend),
        hear: hear(state, finding),
        follows: follows(finding),
        unsure: finding.unsure,
        name: finding.name.to_owned(),
        picture: finding.picture.as_ref().map(picture),
    }
}

/// The value with its unit; nothing for yes or no.
pub(crate) fn number(finding: &Finding) -> String {
    match finding.unit {
        "" => String::new(),
        "Hz" => read_hertz(finding.value),
        unit => format!("{:.1} {unit}", finding.value),
    }
}

/// Element or tracks; the mix is not named.
pub(crate) fn whose(state: &State<'_>, finding: &Finding) -> String {
    const NAMED: usize = 4;
    let names: Vec<String> = finding.tracks.iter().map(|id| state.name_of(id)).collect();
    match names.len() {
        0 => finding.element.clone().unwrap_or_default(),
        count if count > NAMED => format!("{} and {} more", names[0], count - 1),
        _ => names.join(", "),
    }
}

/// The first place in time.
pub(crate) fn time(finding: &Finding) -> Option<String> {
    let (start_s, end_s) = finding.spans_s.first()?;
    let (start, end) = (read_seconds(*start_s, false), read_seconds(*end_s, false));
    Some(if start == end {
        start
    } else {
        format!("{start}-{end}")
    })
}

/// `solo Kick and Bass at 1:04, 20 Hz to 150 Hz; listen for ...`.
pub(crate) fn hear(state: &State<'_>, finding: &Finding) -> String {
    const SOLOED: usize = 4;
    let listen = &finding.listen;
    let names: Vec<String> = listen.solo.iter().map(|id| state.name_of(id)).collect();
    let mut place = Vec::new();
    if !names.is_empty() && names.len() <= SOLOED {
        place.push(format!("solo {}", names.join(", ")));
    }
    if let Some((start_s, _)) = listen.span_s {
        place.push(format!("at {}", read_seconds(start_s, false)));
    }
    if let Some((low_hz, high_hz)) = listen.band_hz {
        place.push(format!("{} to {}", read_hertz(low_hz), read_hertz(high_hz)));
    }
    match listen.side {
        cupel_findings::Sides::Stereo => {}
        cupel_findings::Sides::Mono => place.push("in mono".into()),
        cupel_findings::Sides::Difference => place.push("only the difference of both sides".into()),
    }
    let place = place.join(", ");
    match (place.is_empty(), listen.words.is_empty()) {
        (_, true) => sentence(&place),
        (true, false) => sentence(&listen.words),
        (false, false) => format!("{place}: {}.", listen.words.trim_end_matches('.')),
    }
}

/// The titles of what follows, each once.
pub(crate) fn follows(finding: &Finding) -> Vec<String> {
    let mut titles: Vec<String> = Vec::new();
    for follows in &finding.follows {
        if !titles.iter().any(|title| title == follows.title) {
            titles.push(follows.title.to_owned());
        }
    }
    titles
}

fn picture(picture: &Picture) -> FindingPicture {
    match picture {
        Picture::Bars { unit, rows, limit } => FindingPicture::Bars {
            unit: unit.clone(),
            rows: rows
                .iter()
                .map(|row| (row.name.clone(), row.value, row.meant))
                .collect(),
            limit: *limit,
        },
        Picture::Curve {
            along,
            unit,
            points,
            against,
            mark,
        } => FindingPicture::Curve {
            along: along.clone(),
            unit: unit.clone(),
            points: points.clone(),
            against: against.clone(),
            mark: *mark,
        },
        Picture::Beam { lean_db, limit_db } => FindingPicture::Beam {
            lean_db: *lean_db,
            limit_db: *limit_db,
        },
        Picture::Places { seconds, spans_s } => FindingPicture::Places {
            seconds: *seconds,
            spans_s: spans_s.clone(),
        },
    }
}
