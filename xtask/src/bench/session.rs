//! Session files over the material.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use crate::bench::voice::SOUNDS;
use crate::error::XtaskError;

/// Group of each sound, in the order of [`SOUNDS`].
const GROUPS: [&str; 12] = [
    "drums", "low end", "music", "drums", "drums", "low end", "drums", "music", "music", "drums",
    "music", "effects",
];

/// Gain of every track, in dB: the sum of all stays below full scale.
pub(crate) const GAIN_DB: f64 = -6.0;

/// Cutoff of every track's low cut, in hertz; 12 dB per octave.
pub(crate) const CUTOFF_HZ: f64 = 30.0;

/// What a session file holds beside the tracks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Content {
    /// A reference, and a group for each track.
    Assay,
    /// The same, and fader, pan and low cut on each track.
    Full,
    /// Fader, pan and low cut on each track; no groups, no reference.
    Plain,
}

/// Writes a session file beside the tracks; the reference lies one folder up.
pub(crate) fn write_session(
    folder: &Path,
    tracks: &[PathBuf],
    content: Content,
) -> Result<PathBuf, XtaskError> {
    let (name, with_groups, with_moves) = match content {
        Content::Assay => ("session.toml", true, false),
        Content::Full => ("full.toml", true, true),
        Content::Plain => ("plain.toml", false, true),
    };
    let mut text = String::from("format = 1\nsample_rate_hz = 48000\nkick = \"t1\"\n");
    if with_groups {
        text += "\n[reference]\nfile = \"../reference.wav\"\n";
    }
    for (number, track) in (1..).zip(tracks) {
        let file = track.file_name().unwrap_or_default().to_string_lossy();
        let _ = write!(
            text,
            "\n[[tracks]]\nid = \"t{number}\"\nfile = \"{file}\"\n"
        );
        if with_groups {
            let _ = writeln!(text, "group = \"{}\"", GROUPS[(number - 1) % SOUNDS.len()]);
        }
    }
    for number in (1..=tracks.len()).filter(|_| with_moves) {
        let position = f64::from(number as u32 % 9) / 10.0 - 0.4;
        for (kind, parameters) in [
            ("fader", format!("gain_db = {GAIN_DB:.1}")),
            ("pan", format!("position = {position:.1}")),
            (
                "low-cut",
                format!("cutoff_hz = {CUTOFF_HZ:.1}, slope_db_per_octave = 12"),
            ),
        ] {
            let _ = write!(
                text,
                "\n[[moves]]\nid = \"t{number}-{kind}\"\ntarget = \"t{number}\"\n\
                 kind = \"{kind}\"\nparameters = {{ {parameters} }}\nby = \"hand\"\n",
            );
        }
    }
    let path = folder.join(name);
    fs::write(&path, text).map_err(XtaskError::file(&path))?;
    Ok(path)
}
