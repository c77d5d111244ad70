//! `open --json`.

use cupel_work::{Opened, Problem};
use serde::Serialize;

use crate::json::{TrackName, VERSION};

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    name: Option<&'a str>,
    session_file: String,
    known_before: bool,
    tracks: Vec<TrackName<'a>>,
    reference: Option<&'a str>,
    rough: Option<&'a str>,
    new: &'a [String],
    kept: &'a [String],
    renamed: Vec<RenamedTrack<'a>>,
    missing: &'a [String],
    problems: &'a [Problem],
    notes: &'a [String],
}

#[derive(Debug, Serialize)]
struct RenamedTrack<'a> {
    id: &'a str,
    from: &'a str,
    to: &'a str,
}

impl<'a> Document<'a> {
    pub(crate) fn of(opened: &'a Opened) -> Self {
        let session = &opened.session;
        let adoption = &opened.adoption;
        let file = opened.place.file.file_name().unwrap_or_default();
        Self {
            schema: "cupel/open",
            version: VERSION,
            name: session.name.as_deref(),
            session_file: file.to_string_lossy().into_owned(),
            known_before: opened.known,
            tracks: session.tracks.iter().map(TrackName::of).collect(),
            reference: session.reference.as_ref().map(|r| r.file.as_str()),
            rough: session.rough.as_ref().map(|r| r.file.as_str()),
            new: &adoption.new,
            kept: &adoption.kept,
            renamed: adoption
                .renamed
                .iter()
                .map(|r| RenamedTrack {
                    id: &r.id,
                    from: &r.from,
                    to: &r.to,
                })
                .collect(),
            missing: &adoption.missing,
            problems: &opened.problems,
            notes: &opened.notes,
        }
    }
}
