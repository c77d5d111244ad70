//! From text to a session.

use std::collections::BTreeMap;
use std::ops::Range;

use toml_edit::{Document, TomlError};

use crate::origin::{Origin, plain};
use crate::parse_move::{MOVE_KEYS, read_move};
use crate::reader::{Fault, Reading, Section};
use crate::{
    FORMAT, FileEntry, Group, MusicSettings, Passage, Problem, ReferenceEntry, Role, Session,
    SessionError, Targets, Track,
};

/// Longest time a session may name: a day.
pub(crate) const LONGEST_S: f64 = 86_400.0;

const SESSION_KEYS: [&str; 12] = [
    "format",
    "written_by",
    "name",
    "sample_rate_hz",
    "kick",
    "reference",
    "rough",
    "targets",
    "music",
    "passage",
    "tracks",
    "moves",
];
const MUSIC_KEYS: [&str; 5] = [
    "tempo_bpm",
    "lowest_bpm",
    "highest_bpm",
    "downbeat_s",
    "beats_per_bar",
];
const TRACK_KEYS: [&str; 8] = [
    "id",
    "file",
    "content",
    "role",
    "group",
    "include",
    "why_left_out",
    "start_s",
];

impl Session {
    /// Reads the text of a session file. In messages it is called `session.toml`.
    ///
    /// # Errors
    /// [`SessionError::Empty`], [`SessionError::Newer`] and
    /// [`SessionError::Content`], with line and column.
    pub fn parse(text: &str) -> Result<Self, SessionError> {
        Self::parse_named(text, "session.toml")
    }

    pub(crate) fn parse_named(text: &str, file: &str) -> Result<Self, SessionError> {
        let plain = plain(text);
        if plain.trim().is_empty() {
            return Err(SessionError::Empty { file: file.into() });
        }
        let at = Lines { text: &plain, file };
        let document = Document::parse(plain.as_str()).map_err(|error| at.syntax(&error))?;
        at.refuse_newer(&document)?;
        let session = read_session(&document, &at).map_err(|fault| at.error(fault))?;
        let origin = Origin {
            text: Some(text.to_owned()),
            document: document.into_mut(),
        };
        Ok(Session { origin, ..session })
    }
}

/// The text, for finding lines.
pub(crate) struct Lines<'a> {
    text: &'a str,
    file: &'a str,
}

impl Lines<'_> {
    /// Line and column of a place, both from 1.
    fn line_and_column(&self, span: Option<&Range<usize>>) -> (usize, usize) {
        let offset = span.map_or(0, |span| span.start).min(self.text.len());
        let before = self.text.get(..offset).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        let column = before[line_start..].chars().count() + 1;
        (before.matches('\n').count() + 1, column)
    }

    fn error(&self, fault: Fault) -> SessionError {
        let (line, column) = self.line_and_column(fault.span.as_ref());
        SessionError::Content {
            file: self.file.into(),
            line,
            column,
            problem: fault.problem,
        }
    }

    fn syntax(&self, error: &TomlError) -> SessionError {
        let span = error.span();
        let problem = if error.message().starts_with("duplicate key") {
            let key = span.clone().and_then(|span| self.text.get(span));
            Problem::KeyTwice {
                key: key.unwrap_or("key").trim().into(),
            }
        } else {
            Problem::Syntax {
                message: error.message().lines().collect::<Vec<_>>().join(", "),
            }
        };
        self.error(Fault::new(span, problem))
    }

    /// Refuses a later format before anything else is looked at.
    fn refuse_newer(&self, document: &Document<&str>) -> Result<(), SessionError> {
        let root = document.as_table();
        match root.get("format").and_then(|item| item.as_integer()) {
            Some(format) if format > FORMAT => {
                let span = root.get("format").and_then(toml_edit::Item::span);
                let written_by = root.get("written_by").and_then(|item| item.as_str());
                Err(SessionError::Newer {
                    file: self.file.into(),
                    line: self.line_and_column(span.as_ref()).0,
                    format,
                    written_by: written_by.unwrap_or("a newer version").into(),
                })
            }
            _ => Ok(()),
        }
    }
}

fn read_session(document: &Document<&str>, lines: &Lines<'_>) -> Reading<Session> {
    let root = Section::new(document.as_table(), "the session", None, &SESSION_KEYS)?;
    let format = root.integer("format", FORMAT, FORMAT)?;
    let mut session = Session::empty(Origin::new());
    session.format = root.required("format", format, "format = 1")?;
    root.any_text("written_by")?;
    session.name = root.any_text("name")?.map(str::to_owned);
    session.sample_rate_hz = root
        .integer("sample_rate_hz", 8_000, 384_000)?
        .and_then(|rate| u32::try_from(rate).ok());
    session.reference = read_reference(&root)?;
    session.rough = read_rough(&root)?;
    session.targets = read_targets(&root)?;
    session.music = read_music(&root, "`[music]`")?;
    session.passage = read_passage(&root, "`[passage]`")?;
    session.tracks = read_tracks(&root, lines)?;
    session.kick = read_kick(&root, &session.tracks)?;
    session.moves = read_moves(&root, &session.tracks, lines)?;
    Ok(session)
}

fn read_reference(root: &Section<'_>) -> Reading<Option<ReferenceEntry>> {
    let keys = ["file", "music", "passage", "content"];
    let Some(section) = root.section("reference", "`[reference]`", &keys)? else {
        return Ok(None);
    };
    let file = section.text("file")?;
    Ok(Some(ReferenceEntry {
        file: section
            .required("file", file, "file = \"record.wav\"")?
            .into(),
        music: read_music(&section, "`music` of `[reference]`")?,
        passage: read_passage(&section, "`passage` of `[reference]`")?,
        content: section.text("content")?.map(str::to_owned),
    }))
}

fn read_rough(root: &Section<'_>) -> Reading<Option<FileEntry>> {
    let Some(section) = root.section("rough", "`[rough]`", &["file", "content"])? else {
        return Ok(None);
    };
    let file = section.text("file")?;
    Ok(Some(FileEntry {
        file: section
            .required("file", file, "file = \"bounce.wav\"")?
            .into(),
        content: section.text("content")?.map(str::to_owned),
    }))
}

fn read_targets(root: &Section<'_>) -> Reading<Targets> {
    let keys = ["kick_peak_dbfs", "headroom_dbfs", "limit_db"];
    let default = Targets::default();
    let Some(section) = root.section("targets", "`[targets]`", &keys)? else {
        return Ok(default);
    };
    let number = |key, low, high, default| {
        let value = section.number(key, low, high)?;
        Ok(value.unwrap_or(default))
    };
    Ok(Targets {
        kick_peak_dbfs: number("kick_peak_dbfs", -60.0, 0.0, default.kick_peak_dbfs)?,
        headroom_dbfs: number("headroom_dbfs", -30.0, 0.0, default.headroom_dbfs)?,
        limit_db: number("limit_db", 1.0, 60.0, default.limit_db)?,
    })
}

/// Slowest and fastest tempo a session may name, beats a minute.
const TEMPO_BPM: (f64, f64) = (20.0, 400.0);

fn read_music(parent: &Section<'_>, place: &str) -> Reading<MusicSettings> {
    let Some(section) = parent.section("music", place, &MUSIC_KEYS)? else {
        return Ok(MusicSettings::default());
    };
    let tempo = |key| section.number(key, TEMPO_BPM.0, TEMPO_BPM.1);
    let (lowest_bpm, highest_bpm) = (tempo("lowest_bpm")?, tempo("highest_bpm")?);
    if let (Some(low), Some(high)) = (lowest_bpm, highest_bpm)
        && high < low
    {
        let key = "highest_bpm".into();
        return Err(section.fault(
            "highest_bpm",
            Problem::OutOfRange {
                key,
                given: high,
                low,
                high: TEMPO_BPM.1,
            },
        ));
    }
    Ok(MusicSettings {
        tempo_bpm: tempo("tempo_bpm")?,
        lowest_bpm,
        highest_bpm,
        downbeat_s: section.number("downbeat_s", 0.0, LONGEST_S)?,
        beats_per_bar: section
            .integer("beats_per_bar", 3, 4)?
            .and_then(|beats| u32::try_from(beats).ok()),
    })
}

fn read_passage(parent: &Section<'_>, place: &str) -> Reading<Option<Passage>> {
    let Some(section) = parent.section("passage", place, &["start_s", "end_s"])? else {
        return Ok(None);
    };
    let start_s = section.number("start_s", 0.0, LONGEST_S)?;
    let start_s = section.required("start_s", start_s, "start_s = 60.0")?;
    let end_s = section.number("end_s", 0.0, LONGEST_S)?;
    let end_s = section.required("end_s", end_s, "end_s = 90.0")?;
    if end_s <= start_s {
        return Err(section.fault("end_s", Problem::PassageEnd { start_s, end_s }));
    }
    Ok(Some(Passage { start_s, end_s }))
}

fn read_kick(root: &Section<'_>, tracks: &[Track]) -> Reading<Option<String>> {
    match root.text("kick")? {
        Some(id) if !tracks.iter().any(|track| track.id == id) => {
            let ids = tracks.iter().map(|track| track.id.as_str());
            Err(root.not_allowed("kick", id, ids))
        }
        id => Ok(id.map(str::to_owned)),
    }
}

fn read_tracks(root: &Section<'_>, lines: &Lines<'_>) -> Reading<Vec<Track>> {
    let mut tracks = Vec::new();
    let mut ids = FirstLines::default();
    let mut files = FirstLines::default();
    for section in root.tables("tracks", &TRACK_KEYS)? {
        let track = read_track(&section)?;
        if let Some(first_line) = ids.seen(&track.id, section.value_span("id"), lines) {
            let id = track.id;
            return Err(section.fault("id", Problem::IdTwice { id, first_line }));
        }
        if let Some(first_line) = files.seen(&track.file, section.value_span("file"), lines) {
            let file = track.file;
            return Err(section.fault("file", Problem::FileTwice { file, first_line }));
        }
        tracks.push(track);
    }
    Ok(tracks)
}

fn read_track(section: &Section<'_>) -> Reading<Track> {
    let file = section.text("file")?;
    let file = section.required("file", file, "file = \"kick.wav\"")?;
    if is_absolute(file) {
        let given = file.to_owned();
        return Err(section.fault("file", Problem::NotRelative { given }));
    }
    let start_s = section.number("start_s", -LONGEST_S, LONGEST_S)?;
    Ok(Track {
        id: read_id(section, "id = \"kick\"")?,
        file: file.to_owned(),
        content: section.text("content")?.map(str::to_owned),
        role: section.choice("role", Role::ALL, Role::name)?,
        group: section.choice("group", Group::ALL, Group::name)?,
        include: section.boolean("include")?.unwrap_or(true),
        why_left_out: section.any_text("why_left_out")?.map(str::to_owned),
        start_s: start_s.unwrap_or(0.0),
    })
}

/// Whether a path is absolute on any system.
fn is_absolute(file: &str) -> bool {
    let bytes = file.as_bytes();
    let drive = bytes.len() > 1 && bytes[0].is_ascii_alphabetic() && bytes[1] == b':';
    file.starts_with(['/', '\\']) || drive
}

/// An id that can stand in a target and on a command line.
pub(crate) fn read_id(section: &Section<'_>, example: &str) -> Reading<String> {
    let id = section.text("id")?;
    let id = section.required("id", id, example)?;
    if is_id(id) {
        return Ok(id.to_owned());
    }
    let given = id.to_owned();
    Err(section.fault("id", Problem::BadId { given }))
}

fn is_id(id: &str) -> bool {
    let plain = |letter: char| letter.is_alphanumeric() || letter == '-' || letter == '_';
    id.chars().all(plain) && !["all", "mix"].contains(&id)
}

fn read_moves(
    root: &Section<'_>,
    tracks: &[Track],
    lines: &Lines<'_>,
) -> Reading<Vec<crate::Move>> {
    let mut moves = Vec::new();
    let mut ids = FirstLines::default();
    for section in root.tables("moves", &MOVE_KEYS)? {
        let step = read_move(&section, tracks)?;
        if let Some(first_line) = ids.seen(&step.id, section.value_span("id"), lines) {
            let id = step.id;
            return Err(section.fault("id", Problem::IdTwice { id, first_line }));
        }
        moves.push(step);
    }
    Ok(moves)
}

/// Remembers where a word stood first.
#[derive(Default)]
struct FirstLines(BTreeMap<String, Option<Range<usize>>>);

impl FirstLines {
    /// The line where `word` stood before, if it did.
    fn seen(&mut self, word: &str, span: Option<Range<usize>>, lines: &Lines<'_>) -> Option<usize> {
        if let Some(first) = self.0.get(word) {
            return Some(lines.line_and_column(first.as_ref()).0);
        }
        self.0.insert(word.to_owned(), span);
        None
    }
}
