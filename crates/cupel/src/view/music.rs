//! Musical time, key and kick in words, session beside reference.

use cupel_harmony::{KeyFinding, KickSound};
use cupel_rhythm::{Grid, GridKind};
use cupel_units::{read_hertz, read_seconds};
use cupel_work::{Musical, SURE};

/// One fact of the two.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fact {
    pub name: &'static str,
    pub session: String,
    pub reference: Option<String>,
}

/// Tempo, bars, swing, key, tuning, kick, bass: session and reference.
pub(crate) fn facts(session: &Musical, reference: Option<&Musical>) -> Vec<Fact> {
    let fact = |name, words: fn(&Musical) -> String| Fact {
        name,
        session: words(session),
        reference: reference.map(words),
    };
    let all = [
        fact("tempo", |music| tempo(&music.grid)),
        fact("bars", |music| bars(&music.grid)),
        fact("swing", |music| swing(&music.grid)),
        fact("key", |music| key(&music.key)),
        fact("tuning", |music| tuning(&music.key)),
        fact("kick", |music| music.kick.as_ref().map_or_else(dash, kick)),
        fact("kick against key and bass", |music| {
            let place = music.kick_place.as_ref();
            place.map_or_else(dash, |place| place.words.clone())
        }),
        fact("bass notes", bass),
        fact("sections", sections),
    ];
    let said = |words: &str| words != "-";
    all.into_iter()
        .filter(|fact| said(&fact.session) || fact.reference.as_deref().is_some_and(said))
        .collect()
}

fn dash() -> String {
    "-".into()
}

fn unsure(sure: f64) -> &'static str {
    if sure >= SURE { "" } else { " (not sure)" }
}

/// `124.00 BPM`, `about 92 BPM, drifting`, or that it cannot be told.
pub(crate) fn tempo(grid: &Grid) -> String {
    match (grid.kind, grid.tempo_bpm) {
        (GridKind::Steady, Some(bpm)) => format!("{bpm:.2} BPM{}", unsure(grid.sure_tempo)),
        (GridKind::Drifting, Some(bpm)) => {
            format!("about {bpm:.0} BPM, drifting{}", unsure(grid.sure_tempo))
        }
        _ => "cannot tell".into(),
    }
}

fn bars(grid: &Grid) -> String {
    let (Some(beats), Some(first_s)) = (grid.beats_per_bar, grid.first_downbeat_s) else {
        return dash();
    };
    format!(
        "{beats}/4, first at {}{}",
        read_seconds(first_s.max(0.0), true),
        unsure(grid.sure_downbeat)
    )
}

fn swing(grid: &Grid) -> String {
    match grid.swing {
        Some(swing) if (swing - 0.5).abs() < 0.01 => "straight".into(),
        Some(swing) => format!("{:.0} %", swing * 100.0),
        None => dash(),
    }
}

/// `D minor`, with what else it may be where it is not sure.
pub(crate) fn key(key: &KeyFinding) -> String {
    let Some(found) = key.key else {
        return "cannot tell".into();
    };
    if key.sure >= SURE {
        return found.to_string();
    }
    let second = key.candidates.iter().find(|other| other.key != found);
    match second {
        Some(second) => format!("{found} or {} (not sure)", second.key),
        None => format!("{found} (not sure)"),
    }
}

/// As [`key`], for a narrow column: without what else it may be.
pub(crate) fn key_short(key: &KeyFinding) -> String {
    match key.key {
        None => "cannot tell".into(),
        Some(found) if key.sure >= SURE => found.to_string(),
        Some(found) => format!("{found} (not sure)"),
    }
}

fn tuning(key: &KeyFinding) -> String {
    match key.tuning_cents {
        Some(cents) if cents.abs() < 3.0 => "A at 440 Hz".into(),
        Some(cents) => format!("{cents:+.0} cents from A at 440 Hz"),
        None => dash(),
    }
}

fn kick(kick: &KickSound) -> String {
    format!(
        "{} at {}, from {} within {:.0} ms, {:.0} ms long",
        kick.note,
        read_hertz(kick.fundamental_hz),
        read_hertz(kick.start_hz),
        kick.fall_ms,
        kick.length_ms
    )
}

/// Names of the notes by how long they sound, the longest first.
fn bass(music: &Musical) -> String {
    let mut lengths: Vec<(&str, f64)> = Vec::new();
    for note in &music.bass {
        let seconds = note.end_s - note.start_s;
        match lengths.iter_mut().find(|(name, _)| *name == note.name) {
            Some((_, sum)) => *sum += seconds,
            None => lengths.push((&note.name, seconds)),
        }
    }
    if lengths.is_empty() {
        return dash();
    }
    lengths.sort_by(|a, b| b.1.total_cmp(&a.1));
    let names: Vec<&str> = lengths.iter().take(5).map(|(name, _)| *name).collect();
    names.join(", ")
}

fn sections(music: &Musical) -> String {
    let sections = &music.form.sections;
    if sections.is_empty() {
        return dash();
    }
    let list: Vec<String> = sections
        .iter()
        .map(|section| {
            format!(
                "{} {}{}",
                section.name.name(),
                read_seconds(section.start_s.max(0.0), false),
                if section.busiest { "*" } else { "" }
            )
        })
        .collect();
    format!("{}{}", list.join(", "), unsure(music.form.sure))
}
