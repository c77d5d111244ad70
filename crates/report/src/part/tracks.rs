//! The tracks in numbers.

use maud::{Markup, html};

use super::{figure, part, prose, scroll};
use crate::view::{Report, TrackView};

/// A column: heading, unit, and its text for a track.
type Column = (&'static str, &'static str, fn(&TrackView) -> String);

const COLUMNS: [Column; 9] = [
    ("Loudness", "LUFS", |track| {
        figure(track.integrated_lufs, 1, false)
    }),
    ("Sample peak", "dBFS", |track| {
        figure(track.sample_peak_dbfs, 1, false)
    }),
    ("True peak", "dBTP", |track| {
        figure(track.true_peak_dbtp, 1, false)
    }),
    ("Lean", "dB", |track| figure(track.lean_db, 1, true)),
    ("Width", "dB", |track| figure(track.width_db, 1, false)),
    ("In mono", "LU", |track| figure(track.mono_loss_lu, 1, true)),
    ("Below 120 Hz", "percent", |track| {
        percent(track.below_120_share)
    }),
    ("Of the peaks", "percent", |track| percent(track.peak_share)),
    ("Moves", "dB", |track| figure(track.net_gain_db, 1, true)),
];

/// Role and group, as far as they are known; once where they share a name.
fn place(track: &TrackView) -> Option<String> {
    match (track.role.as_deref(), track.group.as_deref()) {
        (Some(role), Some(group)) if role != group => Some(format!("{role}, {group}")),
        (role, group) => role.or(group).map(str::to_owned),
    }
}

fn percent(share: Option<f64>) -> String {
    figure(share.map(|share| 100.0 * share), 0, false)
}

/// The table, and below it the remarks on single tracks.
pub(crate) fn tracks(report: &Report) -> Markup {
    if report.tracks.is_empty() {
        return html! {};
    }
    let remarks = report.tracks.iter().filter(|track| !track.notes.is_empty());
    part(
        "tracks",
        "The tracks in numbers",
        html! {
            p.quiet {
                "As exported. Lean: right against left, + leans to the right. Width: sides against middle. "
                "In mono: change of loudness when both sides are folded to one. Moves: the gains that are on, together. "
                "A dash means silent or not measured."
            }
            (scroll("The tracks in numbers", table(&report.tracks)))
            @for track in remarks {
                p { strong { (track.name) } ": " (prose(&track.notes.join(" "))) }
            }
        },
    )
}

fn table(tracks: &[TrackView]) -> Markup {
    let shown: Vec<&Column> = COLUMNS
        .iter()
        .filter(|(_, _, cell)| tracks.iter().any(|track| cell(track) != "–"))
        .collect();
    html! {
        table.wide {
            thead { tr {
                th scope="col" { "Track" }
                @for (name, unit, _) in &shown {
                    th scope="col" { (name) small { (unit) } }
                }
            } }
            tbody { @for track in tracks {
                tr {
                    th scope="row" title=(track.name) {
                        (track.name)
                        @if let Some(place) = place(track) { small { (place) } }
                    }
                    @for (_, _, cell) in &shown { td { (cell(track)) } }
                }
            } }
        }
    }
}
