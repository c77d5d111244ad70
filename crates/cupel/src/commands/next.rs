//! `cupel` alone: what to do next in this folder.

use std::fs;
use std::path::Path;
use std::time::SystemTime;

use cupel_session::Session;
use cupel_survey::find_audio;
use serde::Serialize;

use crate::args::Common;
use crate::exit::Exit;
use crate::output::{Failure, print_json, print_text};
use crate::text::{count, wrap};

#[derive(Serialize)]
struct Document {
    schema: &'static str,
    version: u32,
    here: String,
    next: String,
}

pub(crate) fn run(common: &Common) -> Result<Exit, Failure> {
    let (here, next) = look(Path::new("."))?;
    if common.json {
        print_json(&Document {
            schema: "cupel/next",
            version: 1,
            here,
            next,
        })?;
    } else {
        let next = wrap(&format!("Next: {next}"), 2);
        print_text(&format!(
            "{}\n{next}\nAll commands: cupel --help",
            wrap(&here, 2)
        ))?;
    }
    Ok(Exit::Done)
}

/// What is here, and what to do with it.
fn look(folder: &Path) -> Result<(String, String), Failure> {
    let file = folder.join("session.toml");
    if !file.is_file() {
        return not_opened(folder);
    }
    let session = Session::load(&file).map_err(|error| Failure::new(&error, None))?;
    let tracks = session.tracks.len();
    let on = session.moves.iter().filter(|step| step.on).count();
    let here = format!(
        "A session of {}, with {} on.",
        count(tracks, "track"),
        count(on, "move")
    );
    let premaster = folder.join("cupel/premaster.wav");
    let next = if session.reference.is_none() && session.moves.is_empty() {
        "cupel open . --reference FILE, then cupel balance".to_owned()
    } else if session.moves.is_empty() {
        "cupel balance".to_owned()
    } else if changed(&premaster) < changed(&file) {
        "cupel render".to_owned()
    } else {
        "open cupel/report.html and listen to cupel/compare; make the moves by hand, export \
         again over the old files, then cupel balance"
            .to_owned()
    };
    Ok((here, next))
}

fn not_opened(folder: &Path) -> Result<(String, String), Failure> {
    let found = find_audio(folder).map_err(|error| Failure::new(&error, error.hint()))?;
    Ok(match (found.files.len(), found.folders.as_slice()) {
        (0, []) => (
            "There is no session and no audio file in this folder.".to_owned(),
            "export your tracks into a folder and run cupel open FOLDER --reference FILE, or \
             try cupel demo"
                .to_owned(),
        ),
        (here, [(inner, files), ..]) if *files > here => {
            let name = inner.file_name().unwrap_or_default().to_string_lossy();
            (
                format!(
                    "No session here yet; `{name}` holds {}.",
                    count(*files, "audio file")
                ),
                format!("cupel open \"{name}\" --reference FILE"),
            )
        }
        (files, _) => (
            format!("No session here yet, but {}.", count(files, "audio file")),
            "cupel open . --reference FILE".to_owned(),
        ),
    })
}

/// When a file was changed; never, where it is not there.
fn changed(path: &Path) -> SystemTime {
    fs::metadata(path)
        .and_then(|data| data.modified())
        .unwrap_or(SystemTime::UNIX_EPOCH)
}
