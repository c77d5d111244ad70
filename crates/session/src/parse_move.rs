//! Reading one move.

use crate::parse::{LONGEST_S, read_id};
use crate::reader::{Entry, Fault, Reading, Section};
use crate::suggest::nearest;
use crate::{At, Breakpoint, By, Delay, Group, Move, MoveKind, Parameters, Problem, Target, Track};

pub(crate) const MOVE_KEYS: [&str; 10] = [
    "id",
    "target",
    "kind",
    "parameters",
    "by",
    "stage",
    "why",
    "locked",
    "on",
    "at",
];

const GAIN_DB: (f64, f64) = (-96.0, 24.0);

/// Reads and checks a move of a session with these tracks.
pub(crate) fn read_move(section: &Section<'_>, tracks: &[Track]) -> Reading<Move> {
    let id = read_id(section, "id = \"kick-fader\"")?;
    let kind = section.choice("kind", &MoveKind::ALL, MoveKind::name)?;
    let kind = section.required("kind", kind, "kind = \"fader\"")?;
    let by = section.choice("by", &By::ALL, By::name)?;
    let stage = section.text("stage")?;
    Ok(Move {
        id,
        target: read_target(section, kind, tracks)?,
        kind,
        parameters: read_parameters(section, kind)?,
        by: by.unwrap_or(By::Hand),
        stage: stage.unwrap_or("hand").to_owned(),
        why: section.any_text("why")?.unwrap_or_default().to_owned(),
        locked: section.boolean("locked")?.unwrap_or(false),
        on: section.boolean("on")?.unwrap_or(true),
        at: read_places(section, kind)?,
    })
}

fn read_target(section: &Section<'_>, kind: MoveKind, tracks: &[Track]) -> Reading<Target> {
    let text = section.text("target")?;
    let text = section.required("target", text, "target = \"kick\"")?;
    let allowed = allowed_targets(kind, tracks);
    match Target::from_text(text) {
        Some(target) if allowed.contains(&target.to_string()) => Ok(target),
        _ => Err(section.fault(
            "target",
            Problem::BadTarget {
                given: text.to_owned(),
                kind: kind.name(),
                suggestion: nearest(text, allowed.iter().map(String::as_str)),
                allowed,
            },
        )),
    }
}

/// Targets a kind of move may have, as written.
fn allowed_targets(kind: MoveKind, tracks: &[Track]) -> Vec<String> {
    let groups = Group::ALL
        .iter()
        .map(|&group| Target::Group(group).to_string());
    let mut allowed = Vec::new();
    match kind {
        MoveKind::Trim => return vec![Target::All.to_string()],
        MoveKind::Fader | MoveKind::LowCut => {
            allowed.push(Target::Mix.to_string());
            allowed.extend(groups);
        }
        MoveKind::Pan => allowed.extend(groups),
        MoveKind::Polarity | MoveKind::Offset => {}
    }
    allowed.extend(tracks.iter().map(|track| track.id.clone()));
    allowed
}

fn read_parameters(section: &Section<'_>, kind: MoveKind) -> Reading<Parameters> {
    let place = format!("`parameters` of the move (`{}`)", kind.name());
    let keys = kind.parameter_keys();
    let given = section.section("parameters", place, keys)?;
    if kind == MoveKind::Polarity {
        return Ok(Parameters::Polarity {});
    }
    let given = section.required("parameters", given, example(kind))?;
    match kind {
        MoveKind::Trim => Ok(Parameters::Trim {
            gain_db: read_gain(&given)?,
        }),
        MoveKind::Fader => Ok(Parameters::Fader {
            gain_db: read_gain(&given)?,
        }),
        MoveKind::Pan => read_pan(&given),
        MoveKind::Polarity => Ok(Parameters::Polarity {}),
        MoveKind::Offset => read_delay(&given).map(Parameters::Offset),
        MoveKind::LowCut => read_low_cut(&given),
    }
}

fn example(kind: MoveKind) -> &'static str {
    match kind {
        MoveKind::Trim | MoveKind::Fader => "parameters = { gain_db = -1.5 }",
        MoveKind::Pan => "parameters = { position = -0.2 }",
        MoveKind::Polarity => "parameters = {}",
        MoveKind::Offset => "parameters = { delay_ms = 1.5 }",
        MoveKind::LowCut => "parameters = { cutoff_hz = 30.0, slope_db_per_octave = 12 }",
    }
}

fn read_gain(given: &Section<'_>) -> Reading<f64> {
    let gain_db = given.number("gain_db", GAIN_DB.0, GAIN_DB.1)?;
    given.required("gain_db", gain_db, "gain_db = -1.5")
}

fn read_pan(given: &Section<'_>) -> Reading<Parameters> {
    let position = given.number("position", -1.0, 1.0)?;
    Ok(Parameters::Pan {
        position: given.required("position", position, "position = -0.2")?,
        left_db: given.number("left_db", -400.0, 24.0)?,
        right_db: given.number("right_db", -400.0, 24.0)?,
    })
}

fn read_delay(given: &Section<'_>) -> Reading<Delay> {
    let fault = |what| Err(given.fault("delay_ms", Problem::DelayKeys { given: what }));
    let delay_ms = given.number("delay_ms", -1000.0, 1000.0)?;
    let delay_samples = given.integer("delay_samples", -384_000, 384_000)?;
    match (delay_ms, delay_samples) {
        (Some(delay_ms), None) => Ok(Delay::Milliseconds { delay_ms }),
        (None, Some(delay_samples)) => Ok(Delay::Samples { delay_samples }),
        (Some(_), Some(_)) => fault("both delays"),
        (None, None) => fault("no delay"),
    }
}

fn read_low_cut(given: &Section<'_>) -> Reading<Parameters> {
    let cutoff_hz = given.number("cutoff_hz", 10.0, 8000.0)?;
    let slope = given.integer("slope_db_per_octave", i64::MIN, i64::MAX)?;
    let slope = given.required("slope_db_per_octave", slope, "slope_db_per_octave = 12")?;
    let slope_db_per_octave = match slope {
        12 => 12,
        24 => 24,
        _ => {
            let problem = Problem::NotAllowed {
                key: "slope_db_per_octave".into(),
                given: slope.to_string(),
                suggestion: None,
                allowed: vec!["12".into(), "24".into()],
            };
            return Err(given.fault("slope_db_per_octave", problem));
        }
    };
    Ok(Parameters::LowCut {
        cutoff_hz: given.required("cutoff_hz", cutoff_hz, "cutoff_hz = 30.0")?,
        slope_db_per_octave,
    })
}

/// Sections or breakpoints.
fn read_places(section: &Section<'_>, kind: MoveKind) -> Reading<Option<At>> {
    let Some(entries) = section.entries("at")? else {
        return Ok(None);
    };
    let mut names = Vec::new();
    let mut points: Vec<Breakpoint> = Vec::new();
    let mut others = 0;
    for entry in entries {
        match entry {
            Entry::Text(name, span) if name.trim().is_empty() => {
                return Err(Fault::new(span, Problem::EmptyText { key: "at".into() }));
            }
            Entry::Text(name, _) => names.push(name.to_owned()),
            Entry::Table(table, span) => {
                let keys = ["time_s", "gain_db"];
                let entry = Section::new(table, "a breakpoint of `at`", span, &keys)?;
                points.push(read_breakpoint(&entry, points.last())?);
            }
            Entry::Other => others += 1,
        }
    }
    let places = match (names.len(), points.len(), others) {
        (0, 0, 0) => Err("empty"),
        (_, 0, 0) => Ok(At::Sections(names)),
        (0, _, 0) => Ok(At::Breakpoints(points)),
        (_, _, 0) => Err("a list of both"),
        _ => Err("a list of something else"),
    };
    match places {
        Ok(places) => check_places(section, kind, places).map(Some),
        Err(given) => Err(section.fault("at", Problem::BadPlaces { given })),
    }
}

/// A trim holds everywhere; breakpoints are gains, and only a fader has one.
fn check_places(section: &Section<'_>, kind: MoveKind, places: At) -> Reading<At> {
    let given = match (&places, kind) {
        (At::Sections(_), MoveKind::Trim) => "sections",
        (At::Breakpoints(_), kind) if kind != MoveKind::Fader => "breakpoints",
        _ => return Ok(places),
    };
    let mend = match kind {
        MoveKind::Trim => "it holds everywhere, remove the line",
        _ => "only sections",
    };
    let kind = kind.name();
    Err(section.fault("at", Problem::PlacesNotForKind { kind, given, mend }))
}

fn read_breakpoint(entry: &Section<'_>, before: Option<&Breakpoint>) -> Reading<Breakpoint> {
    let time_s = entry.number("time_s", 0.0, LONGEST_S)?;
    let time_s = entry.required("time_s", time_s, "time_s = 12.0")?;
    let gain_db = read_gain(entry)?;
    match before {
        Some(before) if before.time_s >= time_s => Err(entry.fault(
            "time_s",
            Problem::BreakpointOrder {
                time_s,
                before_s: before.time_s,
            },
        )),
        _ => Ok(Breakpoint { time_s, gain_db }),
    }
}
