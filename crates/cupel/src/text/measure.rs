//! Summary of `measure`.

use std::path::PathBuf;

use cupel_survey::{Measured, SurveyError};
use cupel_units::read_seconds;
use cupel_work::Musical;

use crate::text::{cell, number, wrap};
use crate::view;

pub(crate) fn summary(
    files: &[PathBuf],
    results: &[Result<(Measured, Musical), SurveyError>],
) -> String {
    let mut text = format!(
        "{}{:>8}{:>9}{:>7}{:>8}{:>8}{:>8}{:>8}\n",
        cell("file", 24),
        "length",
        "LUFS",
        "LU",
        "peak",
        "true",
        "lean",
        "mono"
    );
    let mut music = format!(
        "{}{}{}{}\n",
        cell("", 24),
        cell("tempo", 21),
        cell("first bar", 10),
        "key"
    );
    let mut health = String::new();
    for (path, result) in files.iter().zip(results) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let Ok((measured, heard)) = result else {
            continue;
        };
        let summary = &measured.summary;
        text.push_str(&format!(
            "{}{:>8}{}{}{}{}{}{}\n",
            cell(&name, 24),
            read_seconds(summary.seconds, false),
            number(summary.integrated_lufs, 9),
            number(summary.loudness_range_lu, 7),
            number(summary.sample_peak_dbfs, 8),
            number(summary.true_peak_dbtp, 8),
            number(summary.lean_db, 8),
            number(summary.mono_loss_lu, 8),
        ));
        music.push_str(&music_line(&name, heard));
        for note in &measured.health {
            let place = note
                .at_s
                .map_or_else(String::new, |s| format!(" at {}", read_seconds(s, true)));
            health.push_str(&format!(
                "{}\n",
                wrap(&format!("- {name}{place}: {}", note.text), 2)
            ));
        }
    }
    text.push_str(
        "\nLUFS integrated, LU loudness range, peaks in dBFS and dBTP, lean right less\n",
    );
    text.push_str("left in dB, mono: loudness lost in mono in LU. More with --json.\n");
    text.push_str(&format!("\n{music}"));
    if !health.is_empty() {
        text.push_str(&format!("\nHealth:\n{health}"));
    }
    text
}

fn music_line(name: &str, music: &Musical) -> String {
    let first = music.grid.first_downbeat_s.map_or_else(
        || "-".to_owned(),
        |seconds| format!("{:.3} s", seconds.max(0.0)),
    );
    format!(
        "{}{}{}{}\n",
        cell(name, 24),
        cell(&view::music::tempo(&music.grid), 21),
        cell(&first, 10),
        view::music::key_short(&music.key)
    )
}
