//! Summary of `assay`.

use cupel_trust::Trust;
use cupel_units::{read_dbfs, read_dbtp, read_lufs, read_seconds};
use cupel_work::{Assayed, FoundBy};

use crate::text::findings::findings;
use crate::text::{cell, notes, number, wrap};
use crate::view::{self, State, sentence, shown_name};

pub(crate) fn summary(assayed: &Assayed) -> String {
    let state = State::before(assayed);
    let mut text = trust(&state, &assayed.trust);
    text.push_str(&findings(&state, &assayed.findings));
    text.push_str(&format!("\n{}", tracks(assayed)));
    text.push_str(&format!("\n{}", mix(assayed)));
    text.push_str(&music(assayed));
    text.push_str(&bands(assayed));
    text.push_str(&health(assayed));
    text.push_str(&notes(&assayed.surveyed.notes));
    let next = if assayed.trust.can_judge_balance {
        "Next: cupel balance computes the moves; the whole answer is in cupel/report.html"
    } else {
        "Next: export again (see above), then cupel open and cupel assay"
    };
    text.push_str(&format!("\n{next}"));
    text
}

fn trust(state: &State<'_>, trust: &Trust) -> String {
    let mut text = format!("Can the tracks be trusted? {}", sentence(&trust.sentence));
    text = format!("{}\n", wrap(&text, 0));
    let mut lines = Vec::new();
    for difference in &trust.differences {
        lines.push(difference.text.clone());
    }
    for out in &trust.tracks_left_out {
        lines.push(format!(
            "left out: {}: {}",
            state.name_of(&out.id),
            out.text
        ));
    }
    for start in &trust.starts {
        let place = read_seconds(start.start_s, true);
        lines.push(format!(
            "{} starts at {place}, found in the bounce",
            state.name_of(&start.id)
        ));
    }
    if trust.faders_in_files == Some(false) {
        for gain in trust.gains.iter().filter(|gain| gain.confident) {
            let Some(gain_db) = gain.gain_db.filter(|db| db.abs() > 0.1) else {
                continue;
            };
            lines.push(format!(
                "the bounce plays {} {gain_db:+.1} dB",
                state.name_of(&gain.id)
            ));
        }
    }
    for pair in &trust.near_identical {
        let (a, b) = (state.name_of(&pair.a), state.name_of(&pair.b));
        let how = if pair.exact {
            "the same audio"
        } else {
            "nearly the same audio"
        };
        lines.push(format!("{a} and {b} are {how}"));
    }
    lines.extend(trust.notes.iter().map(|note| note.text.clone()));
    text.push_str(&notes(&lines));
    if let Some(how) = &trust.how_to_export {
        text.push_str(&format!("{}\n", wrap(&sentence(how), 0)));
    }
    text
}

fn tracks(assayed: &Assayed) -> String {
    let mut text = format!(
        "{}{}{:>8}{:>8}{:>8}{:>8}{:>8}\n",
        cell("track", 24),
        cell("role", 12),
        "LUFS",
        "peak",
        "lean",
        "width",
        "mono"
    );
    for (state, file) in assayed.surveyed.included() {
        let summary = file.summary();
        text.push_str(&format!(
            "{}{}{}{}{}{}{}\n",
            cell(&shown_name(&state.track.file), 24),
            cell(state.track.role.map_or("?", |role| role.name()), 12),
            number(summary.integrated_lufs, 8),
            number(summary.sample_peak_dbfs, 8),
            number(summary.lean_db, 8),
            number(summary.width_db, 8),
            number(summary.mono_loss_lu, 8),
        ));
    }
    text
}

fn mix(assayed: &Assayed) -> String {
    let summary = &assayed.mix.summary;
    let mut text = format!(
        "The sum of the tracks: {}, sample peak {}, true peak {}.\n",
        read_lufs(summary.integrated_lufs),
        read_dbfs(summary.sample_peak_dbfs),
        read_dbtp(summary.true_peak_dbtp)
    );
    if let Some(kick) = &assayed.kick {
        let how = match kick.found_by {
            FoundBy::Set => "set in the session file",
            FoundBy::Role => "by its role",
            FoundBy::StrongestLow => {
                "the strongest track below 120 Hz; set `kick` if it is another"
            }
        };
        let peak = read_dbfs(assayed.mix.kick_peak_dbfs);
        let line = format!("The kick ({how}): {}, peak {peak}.", kick.tracks.join(", "));
        text.push_str(&format!("{}\n", wrap(&line, 2)));
    }
    if let Some(passages) = &assayed.passages {
        let place = |start: f64, end: f64| {
            format!(
                "{}-{}",
                read_seconds(start, false),
                read_seconds(end, false)
            )
        };
        let mut line = format!(
            "Busiest passage: {} at {}",
            place(passages.stretch.start_s, passages.stretch.end_s),
            read_lufs(passages.mix.integrated_lufs)
        );
        if let Some(side) = &passages.reference {
            line.push_str(&format!(
                "; the reference's: {} at {}",
                place(side.stretch.start_s, side.stretch.end_s),
                read_lufs(side.summary.integrated_lufs)
            ));
        }
        text.push_str(&format!("{}\n", wrap(&format!("{line}."), 2)));
    }
    text
}

/// Tempo, key and the like, session beside reference.
fn music(assayed: &Assayed) -> String {
    let facts = view::music::facts(&assayed.music, assayed.reference_music.as_ref());
    let mut text = "\nThe music:\n".to_owned();
    for fact in facts {
        let mut line = format!("{}: {}", fact.name, fact.session);
        if let Some(reference) = &fact.reference {
            line.push_str(&format!("; the reference: {reference}"));
        }
        text.push_str(&format!("{}\n", wrap(&format!("- {line}"), 2)));
    }
    text
}

/// The bands that differ most, at equal loudness.
fn bands(assayed: &Assayed) -> String {
    let mut far: Vec<_> = assayed
        .bands
        .iter()
        .filter_map(|band| Some((band.nominal_hz, band.difference_db?)))
        .filter(|(nominal_hz, difference)| *nominal_hz < 16_500.0 && difference.abs() >= 3.0)
        .collect();
    if assayed.bands.is_empty() {
        return String::new();
    }
    if far.is_empty() {
        return "No third octave is 3 dB or more from the reference's at equal loudness.\n".into();
    }
    far.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    far.truncate(6);
    far.sort_by(|a, b| a.0.total_cmp(&b.0));
    let list: Vec<String> = far
        .iter()
        .map(|(hertz, db)| format!("{} {db:+.1} dB", cupel_units::read_hertz(*hertz)))
        .collect();
    let line = format!(
        "Furthest from the reference at equal loudness: {}.",
        list.join(", ")
    );
    format!("{}\n", wrap(&line, 2))
}

fn health(assayed: &Assayed) -> String {
    let surveyed = &assayed.surveyed;
    let files = surveyed
        .tracks
        .iter()
        .filter_map(|state| state.file.as_ref());
    let mut lines = Vec::new();
    for file in files.chain(&surveyed.rough).chain(&surveyed.reference) {
        for note in &file.measured.health {
            let place = note
                .at_s
                .map_or_else(String::new, |s| format!(" at {}", read_seconds(s, true)));
            lines.push(format!("{}{place}: {}", shown_name(&file.file), note.text));
        }
    }
    if lines.is_empty() {
        String::new()
    } else {
        format!("\nHealth:\n{}", notes(&lines))
    }
}
