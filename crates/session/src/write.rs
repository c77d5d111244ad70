//! From a session back to text: only keys that changed are rewritten.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use crate::origin::this_version;
use crate::{
    At, Breakpoint, By, Delay, FileEntry, Move, Parameters, Passage, ReferenceEntry, Session,
    Targets, Track,
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

/// Writes values into a document and notes whether any changed.
struct Editor {
    changed: bool,
    /// Whether the file is new, so that defaults are spelt out.
    new: bool,
    /// Comments of keys and tables that went.
    orphans: Vec<String>,
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

    fn take_orphans(&mut self) -> String {
        let lines = std::mem::take(&mut self.orphans);
        lines.iter().map(|line| format!("{line}\n")).collect()
    }

    /// Sets, replaces or removes a value. One that is absent and equal to the
    /// default is not written.
    fn put(
        &mut self,
        table: &mut dyn TableLike,
        key: &str,
        wanted: Option<Value>,
        default: Option<Value>,
    ) {
        match (table.get_mut(key), wanted) {
            (None, None) => {}
            (None, Some(wanted)) => {
                if !default.is_some_and(|default| same(&default, &wanted)) {
                    table.insert(key, Item::Value(wanted));
                    self.changed = true;
                }
            }
            (Some(item), Some(wanted)) => self.replace(item, wanted),
            (Some(_), None) => self.remove(table, key),
        }
    }

    /// Replaces a value, keeping the space and the comment around it.
    fn replace(&mut self, item: &mut Item, mut wanted: Value) {
        if same_item(item, &wanted) {
            return;
        }
        match item.as_value() {
            Some(old) => *wanted.decor_mut() = old.decor().clone(),
            None => gather(item, &mut self.orphans),
        }
        *item = Item::Value(wanted);
        self.changed = true;
    }

    fn remove(&mut self, table: &mut dyn TableLike, key: &str) {
        if let Some((key, item)) = table.get_key_value(key) {
            gather_text(key.leaf_decor().prefix(), &mut self.orphans);
            gather(item, &mut self.orphans);
        }
        table.remove(key);
        self.changed = true;
    }

    /// The table of that name, made if it is not there.
    fn table<'a>(&mut self, parent: &'a mut Table, key: &str) -> Option<&'a mut dyn TableLike> {
        if !parent.contains_key(key) {
            parent.insert(key, Item::Table(Table::new()));
            self.changed = true;
        }
        parent.get_mut(key)?.as_table_like_mut()
    }

    fn reference(&mut self, root: &mut Table, wanted: Option<&ReferenceEntry>) {
        let Some(entry) = wanted else {
            return self.put(root, "reference", None, None);
        };
        if let Some(table) = self.table(root, "reference") {
            self.put(table, "file", Some(entry.file.as_str().into()), None);
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

    fn passage(&mut self, parent: &mut dyn TableLike, wanted: Option<&Passage>, inline: bool) {
        let Some(passage) = wanted else {
            return self.put(parent, "passage", None, None);
        };
        if !parent.contains_key("passage") {
            let table = if inline {
                Item::Value(InlineTable::new().into())
            } else {
                Item::Table(Table::new())
            };
            parent.insert("passage", table);
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
        self.put(table, "role", text(&track.role), None);
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

    /// Brings an array of tables into the wanted order and content. Tables are
    /// known by their `id`.
    fn tables<T>(
        &mut self,
        root: &mut Table,
        key: &str,
        wanted: &[T],
        id: impl Fn(&T) -> &String,
        fill: impl Fn(&mut Self, &mut Table, &T, bool),
    ) {
        let mut old: Vec<Option<Table>> = match root.get(key).and_then(Item::as_array_of_tables) {
            Some(tables) => tables.iter().cloned().map(Some).collect(),
            None if wanted.is_empty() => return,
            None => Vec::new(),
        };
        let ids: Vec<Option<String>> = old.iter().map(|table| id_of(table.as_ref())).collect();
        let sources: Vec<Option<usize>> = pair_up(&ids, wanted.iter().map(id));
        self.hand_on_comments(&mut old, &sources);
        let reordered = sources.len() != old.len() || !sources.iter().flatten().is_sorted();
        let restructured = reordered || sources.iter().any(Option::is_none);
        let mut places = Places::of(&old);
        let mut tables = ArrayOfTables::new();
        for (item, source) in wanted.iter().zip(&sources) {
            let kept = source.and_then(|index| old[index].take());
            let new = kept.is_none();
            let mut table = kept.unwrap_or_default();
            if restructured {
                set_places(&mut table, places.next(new));
            }
            fill(self, &mut table, item, new);
            tables.push(table);
        }
        self.changed |= restructured;
        if tables.is_empty() {
            root.remove(key);
        } else if let Some(item) = root.get_mut(key) {
            *item = Item::ArrayOfTables(tables);
        } else {
            root.insert(key, Item::ArrayOfTables(tables));
        }
    }

    /// Moves comments of tables that go to the next table that stays.
    fn hand_on_comments(&mut self, old: &mut [Option<Table>], sources: &[Option<usize>]) {
        let earlier = std::mem::take(&mut self.orphans);
        for (index, table) in old.iter_mut().enumerate() {
            let Some(table) = table else { continue };
            if !sources.contains(&Some(index)) {
                gather_table(table, &mut self.orphans);
            } else if !self.orphans.is_empty() {
                let own = table.decor().prefix().and_then(|prefix| prefix.as_str());
                let prefix = format!("\n{}{}", self.take_orphans(), own.unwrap_or("\n"));
                table.decor_mut().set_prefix(prefix);
            }
        }
        self.orphans.splice(0..0, earlier);
    }
}

/// For each wanted id the index of the table that has it; each only once.
fn pair_up<'a>(
    ids: &[Option<String>],
    wanted: impl Iterator<Item = &'a String>,
) -> Vec<Option<usize>> {
    let mut free = vec![true; ids.len()];
    wanted
        .map(|id| {
            let found = (0..ids.len()).find(|&i| free[i] && ids[i].as_ref() == Some(id))?;
            free[found] = false;
            Some(found)
        })
        .collect()
}

fn id_of(table: Option<&Table>) -> Option<String> {
    Some(table?.get("id")?.as_str()?.to_owned())
}

/// Hands out the places in the file that the tables of an array had, in order;
/// a new table shares the place of the one before it. Tables of one place are
/// printed in the order of the array.
struct Places {
    free: Vec<isize>,
    next: usize,
    current: Option<isize>,
}

impl Places {
    fn of(tables: &[Option<Table>]) -> Self {
        let mut free: Vec<isize> = tables
            .iter()
            .flatten()
            .filter_map(Table::position)
            .collect();
        free.sort_unstable();
        Self {
            current: free.first().copied(),
            free,
            next: 0,
        }
    }

    fn next(&mut self, new: bool) -> Option<isize> {
        if !new && let Some(&place) = self.free.get(self.next) {
            self.next += 1;
            self.current = Some(place);
        }
        self.current
    }
}

/// Sets the place of a table and of those below it, so that they stay together.
fn set_places(table: &mut Table, place: Option<isize>) {
    table.set_position(place);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(below) => set_places(below, place),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|below| set_places(below, place)),
            _ => {}
        }
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

fn text(value: &Option<String>) -> Option<Value> {
    value.as_deref().map(Value::from)
}

fn parameters_table(parameters: &Parameters) -> InlineTable {
    let mut table = InlineTable::new();
    match *parameters {
        Parameters::Trim { gain_db } | Parameters::Fader { gain_db } => {
            table.insert("gain_db", gain_db.into());
        }
        Parameters::Pan {
            position,
            left_db,
            right_db,
        } => {
            table.insert("position", position.into());
            for (key, value) in [("left_db", left_db), ("right_db", right_db)] {
                if let Some(value) = value {
                    table.insert(key, value.into());
                }
            }
        }
        Parameters::Polarity {} => {}
        Parameters::Offset(Delay::Milliseconds { delay_ms }) => {
            table.insert("delay_ms", delay_ms.into());
        }
        Parameters::Offset(Delay::Samples { delay_samples }) => {
            table.insert("delay_samples", delay_samples.into());
        }
        Parameters::LowCut {
            cutoff_hz,
            slope_db_per_octave,
        } => {
            table.insert("cutoff_hz", cutoff_hz.into());
            table.insert("slope_db_per_octave", i64::from(slope_db_per_octave).into());
        }
    }
    table
}

fn places(at: &At) -> Value {
    let point = |point: &Breakpoint| {
        let mut table = InlineTable::new();
        table.insert("time_s", point.time_s.into());
        table.insert("gain_db", point.gain_db.into());
        Value::from(table)
    };
    match at {
        At::Sections(names) => names.iter().map(String::as_str).collect::<Array>().into(),
        At::Breakpoints(points) => points.iter().map(point).collect::<Array>().into(),
    }
}

/// Whether an item says the same as a value, whatever its form.
fn same_item(item: &Item, wanted: &Value) -> bool {
    match (item, wanted) {
        (Item::Value(value), _) => same(value, wanted),
        (Item::Table(table), Value::InlineTable(wanted)) => same_tables(table, wanted),
        (Item::ArrayOfTables(tables), Value::Array(wanted)) => {
            tables.len() == wanted.len()
                && tables.iter().zip(wanted).all(|(table, wanted)| {
                    let wanted = wanted.as_inline_table();
                    wanted.is_some_and(|wanted| same_tables(table, wanted))
                })
        }
        _ => false,
    }
}

fn same_tables(table: &dyn TableLike, wanted: &InlineTable) -> bool {
    let has = |key: &str, value: &Value| table.get(key).is_some_and(|item| same_item(item, value));
    table.len() == wanted.len() && wanted.iter().all(|(key, value)| has(key, value))
}

fn same(value: &Value, wanted: &Value) -> bool {
    match (value, wanted) {
        (Value::Integer(a), Value::Float(b)) => *a.value() as f64 == *b.value(),
        (Value::Float(a), Value::Float(b)) => a.value() == b.value(),
        (Value::Integer(a), Value::Integer(b)) => a.value() == b.value(),
        (Value::String(a), Value::String(b)) => a.value() == b.value(),
        (Value::Boolean(a), Value::Boolean(b)) => a.value() == b.value(),
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (Value::InlineTable(a), Value::InlineTable(b)) => same_tables(a, b),
        _ => false,
    }
}

/// Collects the comments in and around an item.
fn gather(item: &Item, comments: &mut Vec<String>) {
    match item {
        Item::Value(value) => gather_text(value.decor().suffix(), comments),
        Item::Table(table) => gather_table(table, comments),
        Item::ArrayOfTables(tables) => tables
            .iter()
            .for_each(|table| gather_table(table, comments)),
        Item::None => {}
    }
}

fn gather_table(table: &Table, comments: &mut Vec<String>) {
    gather_text(table.decor().prefix(), comments);
    gather_text(table.decor().suffix(), comments);
    for (key, item) in table {
        let key = table.key(key);
        gather_text(key.and_then(|key| key.leaf_decor().prefix()), comments);
        gather(item, comments);
    }
}

fn gather_text(text: Option<&toml_edit::RawString>, comments: &mut Vec<String>) {
    let text = text.and_then(|text| text.as_str()).unwrap_or_default();
    let lines = text.lines().map(str::trim);
    comments.extend(
        lines
            .filter(|line| line.starts_with('#'))
            .map(str::to_owned),
    );
}
