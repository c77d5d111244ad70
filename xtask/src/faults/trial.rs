//! One trial: a session as files, and what is found in it.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::XtaskError;
use crate::faults::clean::{Clean, Coding};
use crate::faults::disk::write;
use crate::prove::work::Work;

/// A finding, wherever it stood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Found {
    pub name: String,
    /// `good`, `look` or `mend`.
    pub grade: String,
    /// Files of its tracks, without ending.
    pub tracks: Vec<String>,
    pub unsure: bool,
    pub value: f64,
    pub sentence: String,
    /// What it was folded under.
    pub under: Option<String>,
}

/// What was put into a session.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Done {
    /// Name of the kind that should find it.
    pub fault: String,
    /// Files of the tracks that may be named; empty where it is the mix.
    pub right: Vec<String>,
    pub what: String,
}

/// What a trial gave.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub(crate) struct Outcome {
    pub name: String,
    pub session: String,
    /// Nothing for a clean session.
    pub faults: Vec<Done>,
    pub times: f64,
    pub found: Vec<Found>,
    /// Whether there was no place for the fault.
    pub no_place: bool,
    pub failed: Option<String>,
    /// Pitch and length of the reference's kick as it was heard, Hz and ms.
    pub reference_kick: Option<(f64, f64)>,
}

impl Outcome {
    /// Nothing was put in, and nothing was to be.
    pub(crate) fn is_clean(&self) -> bool {
        self.faults.is_empty() && !self.no_place
    }
}

/// Where things are.
pub(crate) struct Places<'a> {
    /// Files of the clean session.
    pub clean: &'a Path,
    /// What was measured of it.
    pub cache: &'a Path,
    /// Where evidence goes, if it is wanted.
    pub evidence: Option<&'a Path>,
}

/// Writes what differs from the clean session into a folder, and asks.
pub(crate) fn ask(
    work: &Work,
    place: &Path,
    places: &Places<'_>,
    (clean, session): (&Clean, &Clean),
    outcome: &mut Outcome,
) -> Result<(), XtaskError> {
    lay(place, places.clean, clean, session)?;
    let reference = match code(place, &session.coding) {
        Ok(file) => file,
        Err(said) => {
            outcome.failed = Some(said);
            return Ok(());
        }
    };
    let ask = |words: &[&str]| work.ask_with(place, places.cache, words);
    let mut words = vec!["open", "tracks", "--session", "session.toml"];
    words.extend(["--reference", &reference]);
    if session.bounce.is_some() {
        words.extend(["--rough", "bounce.wav"]);
    }
    let evidence = places.evidence.map(|folder| {
        let path = folder.join(format!("{}.json", outcome.name));
        path.to_string_lossy().into_owned()
    });
    let mut assay = vec!["assay", "session.toml"];
    if let Some(path) = &evidence {
        assay.extend(["--evidence", path]);
    }
    match ask(&words).and_then(|_| ask(&assay)) {
        Ok(document) => {
            outcome.found = found(&document);
            outcome.reference_kick = kick(&document);
        }
        Err(said) => outcome.failed = Some(said),
    }
    Ok(())
}

/// Links what is as it was, writes what is not.
fn lay(place: &Path, from: &Path, clean: &Clean, session: &Clean) -> Result<(), XtaskError> {
    let tracks = place.join("tracks");
    fs::create_dir_all(&tracks).map_err(XtaskError::file(&tracks))?;
    let link = |name: &str| {
        let to = place.join(name);
        fs::hard_link(from.join(name), &to).map_err(XtaskError::file(&to))
    };
    for track in &session.tracks {
        let name = format!("tracks/{}.wav", track.name);
        let mut same = clean.tracks.iter();
        match same.any(|old| old.name == track.name && Arc::ptr_eq(&old.sound, &track.sound)) {
            true => link(&name)?,
            false => write(&place.join(&name), session.rate_hz, &track.sound)?,
        }
    }
    match Arc::ptr_eq(&clean.reference, &session.reference) {
        true => link("reference.wav")?,
        false => {
            let path = place.join("reference.wav");
            write(&path, session.reference_rate_hz, &session.reference)?;
        }
    }
    match (&clean.bounce, &session.bounce) {
        (Some(old), Some(new)) if Arc::ptr_eq(old, new) => link("bounce.wav"),
        (_, Some(new)) => write(&place.join("bounce.wav"), session.rate_hz, new),
        (_, None) => Ok(()),
    }
}

/// Gives the name of the reference as it should be coded.
fn code(place: &Path, coding: &Coding) -> Result<String, String> {
    let year;
    let (name, words): (&str, Vec<&str>) = match coding {
        Coding::Plain => return Ok("reference.wav".to_owned()),
        Coding::Lossy => ("reference.mp3", vec!["-b:a", "128k"]),
        Coding::Tagged(number) => {
            year = format!("date={number}");
            let words = vec!["-sample_fmt", "s32", "-metadata", &year];
            ("reference.flac", words)
        }
    };
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-i"])
        .arg(place.join("reference.wav"))
        .args(words)
        .arg(place.join(name))
        .status();
    match done {
        Ok(status) if status.success() => Ok(name.to_owned()),
        Ok(status) => Err(format!("ffmpeg: {status}")),
        Err(error) => Err(format!("ffmpeg: {error}")),
    }
}

fn kick(document: &Value) -> Option<(f64, f64)> {
    let kick = document.pointer("/reference/kick_sound")?;
    let number = |name: &str| kick.get(name)?.as_f64();
    Some((number("fundamental_hz")?, number("length_ms")?))
}

/// All findings of an answer, consequences with what they were folded under.
pub(crate) fn found(document: &Value) -> Vec<Found> {
    let tracks = document.get("tracks").and_then(Value::as_array);
    let file_of = |id: &str| -> String {
        let named = tracks
            .into_iter()
            .flatten()
            .find(|track| track["id"] == *id);
        let file = named.and_then(|track| track["file"].as_str()).unwrap_or(id);
        let stem = Path::new(file).file_stem().unwrap_or_default();
        stem.to_string_lossy().into_owned()
    };
    let mut all = Vec::new();
    let findings = document.get("findings").and_then(Value::as_array);
    for finding in findings.into_iter().flatten() {
        gather(finding, None, &file_of, &mut all);
    }
    all
}

fn gather(
    finding: &Value,
    under: Option<&str>,
    file_of: &impl Fn(&str) -> String,
    all: &mut Vec<Found>,
) {
    let text = |name: &str| finding[name].as_str().unwrap_or_default().to_owned();
    let ids = finding["tracks"].as_array().into_iter().flatten();
    let name = text("name");
    all.push(Found {
        grade: text("grade"),
        tracks: ids.filter_map(|id| Some(file_of(id.as_str()?))).collect(),
        unsure: finding["unsure"].as_bool().unwrap_or_default(),
        value: finding["value"].as_f64().unwrap_or_default(),
        sentence: text("sentence"),
        under: under.map(str::to_owned),
        name: name.clone(),
    });
    for follower in finding["follows"].as_array().into_iter().flatten() {
        gather(follower, Some(&name), file_of, all);
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn consequences_are_found_too() {
        let document = json!({
            "tracks": [{ "id": "hat", "file": "tracks/03 Hat.wav" }],
            "findings": [{
                "name": "core-level", "grade": "mend", "tracks": ["hat"], "unsure": false,
                "value": 6.0, "sentence": "The hats are 6 dB low.",
                "follows": [{ "name": "dull", "grade": "look", "tracks": [], "unsure": true,
                    "value": 4.0, "sentence": "The top is missing." }]
            }]
        });
        let all = found(&document);
        assert_eq!(all.len(), 2);
        assert_eq!(all[0].tracks, ["03 Hat"]);
        assert_eq!(all[1].under.as_deref(), Some("core-level"));
        assert!(all[1].unsure && all[1].name == "dull");
    }
}
