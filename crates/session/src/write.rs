//! From a session back to text: only keys that changed are rewritten.

use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, Value};

use crate::editor::Editor;
use crate::origin::this_version;
use crate::values::{parameters_table, places, text};
use crate::{
    By, FileEntry, Move, MusicSettings, Parameters, Passage, ReferenceEntry, Session, Targets,
    Track,
};

impl Session {
    /// The text of the session file.
    ///
    /// If nothing changed since reading it is the text as read, byte for byte.
    /// Otherwise changed values are written into it; comments, blank lines,
    /// order, byte order mark and the kind of line ends stay. A comment of a
    /// table or key that goes moves to the next table, or to the end.
    pub fn to_toml(&self) -> String {
        let mut document = self.origin.document.clone();
        let mut editor = Editor {
            changed: false,
            new: self.origin.text.is_none(),
            orphans: Vec::new(),
        };
        editor.session(&mut document, self);
        match &self.origin.text {
            Some(text) if !editor.changed => text.clone(),
            _ => self.origin.dress(document.to_string()),
        }
    }
}

impl Editor {
    fn session(&mut self, document: &mut DocumentMut, session: &Session) {
        let root = document.as_table_mut();
        self.put(root, "format", Some(session.format.into()), None);
        self.put(root, "name", text(&session.name), None);
        let rate = session.sample_rate_hz.map(|rate| i64::from(rate).into());
        self.put(root, "sample_rate_hz", rate, None);
        self.put(root, "kick", text(&session.kick), None);
        self.reference(root, session.reference.as_ref());
        self.rough(root, session.rough.as_ref());
        self.targets(root, session.targets);
        self.music(root, session.music, false);
        self.passage(root, session.passage.as_ref(), false);
        self.tables(root, "tracks", &session.tracks, |t| &t.id, Self::track);
        self.tables(root, "moves", &session.moves, |m| &m.id, Self::step);
        if self.changed && root.contains_key("written_by") {
            self.put(root, "written_by", Some(this_version().into()), None);
        }
        if !self.orphans.is_empty() {
            let mut trailing = document.trailing().as_str().unwrap_or_default().to_owned();
            trailing.push_str(&self.take_orphans());
            document.set_trailing(trailing);
        }
    }

    fn reference(&mut self, root: &mut Table, wanted: Option<&ReferenceEntry>) {
        let Some(entry) = wanted else {
            return self.put(root, "reference", None, None);
        };
        if let Some(table) = self.table(root, "reference") {
            self.put(table, "file", Some(entry.file.as_str().into()), None);
            self.music(table, entry.music, true);
            self.passage(table, entry.passage.as_ref(), true);
            self.put(table, "content", text(&entry.content), None);
        }
    }

    fn rough(&mut self, root: &mut Table, wanted: Option<&FileEntry>) {
        let Some(entry) = wanted else {
            return self.put(root, "rough", None, None);
        };
        if let Some(table) = self.table(root, "rough") {
            self.put(table, "file", Some(entry.file.as_str().into()), None);
            self.put(table, "content", text(&entry.content), None);
        }
    }

    fn targets(&mut self, root: &mut Table, targets: Targets) {
        let default = Targets::default();
        if !self.new && !root.contains_key("targets") && targets == default {
            return;
        }
        let unless = |value: f64| (!self.new).then(|| value.into());
        let values = [
            (
                "kick_peak_dbfs",
                targets.kick_peak_dbfs,
                unless(default.kick_peak_dbfs),
            ),
            (
                "headroom_dbfs",
                targets.headroom_dbfs,
                unless(default.headroom_dbfs),
            ),
            ("limit_db", targets.limit_db, unless(default.limit_db)),
        ];
        if let Some(table) = self.table(root, "targets") {
            for (key, value, default) in values {
                self.put(table, key, Some(value.into()), default);
            }
        }
    }

    fn music(&mut self, parent: &mut dyn TableLike, wanted: MusicSettings, inline: bool) {
        if wanted == MusicSettings::default() && !parent.contains_key("music") {
            return;
        }
        if !parent.contains_key("music") {
            parent.insert("music", new_table(inline));
            self.changed = true;
        }
        let table = parent.get_mut("music").and_then(Item::as_table_like_mut);
        if let Some(table) = table {
            let value = |number: Option<f64>| number.map(Value::from);
            self.put(table, "tempo_bpm", value(wanted.tempo_bpm), None);
            self.put(table, "lowest_bpm", value(wanted.lowest_bpm), None);
            self.put(table, "highest_bpm", value(wanted.highest_bpm), None);
            self.put(table, "downbeat_s", value(wanted.downbeat_s), None);
            let beats = wanted.beats_per_bar.map(|beats| i64::from(beats).into());
            self.put(table, "beats_per_bar", beats, None);
        }
    }

    fn passage(&mut self, parent: &mut dyn TableLike, wanted: Option<&Passage>, inline: bool) {
        let Some(passage) = wanted else {
            return self.put(parent, "passage", None, None);
        };
        if !parent.contains_key("passage") {
            parent.insert("passage", new_table(inline));
            self.changed = true;
        }
        let table = parent.get_mut("passage").and_then(Item::as_table_like_mut);
        if let Some(table) = table {
            self.put(table, "start_s", Some(passage.start_s.into()), None);
            self.put(table, "end_s", Some(passage.end_s.into()), None);
        }
    }

    fn track(&mut self, table: &mut Table, track: &Track, _new: bool) {
        self.put(table, "id", Some(track.id.as_str().into()), None);
        self.put(table, "file", Some(track.file.as_str().into()), None);
        let role = track.role.map(|role| role.name().into());
        self.put(table, "role", role, None);
        let group = track.group.map(|group| group.name().into());
        self.put(table, "group", group, None);
        self.put(
            table,
            "include",
            Some(track.include.into()),
            Some(true.into()),
        );
        self.put(table, "why_left_out", text(&track.why_left_out), None);
        self.put(
            table,
            "start_s",
            Some(track.start_s.into()),
            Some(0.0.into()),
        );
        self.put(table, "content", text(&track.content), None);
    }

    fn step(&mut self, table: &mut Table, step: &Move, new: bool) {
        let unless = |value: Value| (!new).then_some(value);
        self.put(table, "id", Some(step.id.as_str().into()), None);
        self.put(table, "target", Some(step.target.to_string().into()), None);
        self.put(table, "kind", Some(step.kind.name().into()), None);
        self.parameters(table, &step.parameters, new);
        self.put(table, "on", Some(step.on.into()), unless(true.into()));
        self.put(
            table,
            "locked",
            Some(step.locked.into()),
            unless(false.into()),
        );
        let by = unless(By::Hand.name().into());
        self.put(table, "by", Some(step.by.name().into()), by);
        self.put(
            table,
            "stage",
            Some(step.stage.as_str().into()),
            unless("hand".into()),
        );
        self.put(
            table,
            "why",
            Some(step.why.as_str().into()),
            unless("".into()),
        );
        self.put(table, "at", step.at.as_ref().map(places), None);
    }

    fn parameters(&mut self, table: &mut Table, parameters: &Parameters, new: bool) {
        let wanted = parameters_table(parameters);
        let Some(item) = table.get_mut("parameters") else {
            let default = (!new).then(|| InlineTable::new().into());
            return self.put(table, "parameters", Some(wanted.into()), default);
        };
        let Some(given) = item.as_table_like_mut() else {
            return self.replace(item, wanted.into());
        };
        let gone: Vec<String> = given
            .iter()
            .map(|(key, _)| key.to_owned())
            .filter(|key| !wanted.contains_key(key))
            .collect();
        let tail = take_tail(given);
        for (key, value) in &wanted {
            self.put(given, key, Some(value.clone()), None);
        }
        for key in gone {
            self.remove(given, &key);
        }
        restore_tail(given, tail);
    }
}

fn new_table(inline: bool) -> Item {
    if inline {
        Item::Value(InlineTable::new().into())
    } else {
        Item::Table(Table::new())
    }
}

/// The space before the closing brace hangs on the last value: takes it off.
fn take_tail(table: &mut dyn TableLike) -> Option<String> {
    let value = table.iter_mut().last()?.1.as_value_mut()?;
    let suffix = value.decor().suffix()?.as_str()?.to_owned();
    if !suffix.is_empty() && suffix.chars().all(|space| space == ' ') {
        value.decor_mut().set_suffix("");
        return Some(suffix);
    }
    None
}

fn restore_tail(table: &mut dyn TableLike, tail: Option<String>) {
    let last = table
        .iter_mut()
        .last()
        .and_then(|(_, item)| item.as_value_mut());
    if let (Some(value), Some(tail)) = (last, tail) {
        value.decor_mut().set_suffix(tail);
    }
}
