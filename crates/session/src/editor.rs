//! Changing values in a document so that everything around them stays.

use toml_edit::{Item, RawString, Table, TableLike, Value};

use crate::values::{same, same_item};

/// Writes values into a document and notes whether any changed.
pub(crate) struct Editor {
    /// Whether any value changed.
    pub(crate) changed: bool,
    /// Whether the file is new, so that defaults are spelt out.
    pub(crate) new: bool,
    /// Comments of keys and tables that went.
    pub(crate) orphans: Vec<String>,
}

impl Editor {
    /// The comments of what went, a line each.
    pub(crate) fn take_orphans(&mut self) -> String {
        let lines = std::mem::take(&mut self.orphans);
        lines.iter().map(|line| format!("{line}\n")).collect()
    }

    /// Sets, replaces or removes a value. One that is absent and equal to the
    /// default is not written.
    pub(crate) fn put(
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
    pub(crate) fn replace(&mut self, item: &mut Item, mut wanted: Value) {
        if same_item(item, &wanted) {
            return;
        }
        match item.as_value() {
            Some(old) => {
                gather_within(old, &mut self.orphans);
                *wanted.decor_mut() = old.decor().clone();
            }
            None => gather(item, &mut self.orphans),
        }
        *item = Item::Value(wanted);
        self.changed = true;
    }

    /// Removes a key; its comments wait for another place.
    pub(crate) fn remove(&mut self, table: &mut dyn TableLike, key: &str) {
        if let Some((key, item)) = table.get_key_value(key) {
            gather_text(key.leaf_decor().prefix(), &mut self.orphans);
            gather(item, &mut self.orphans);
        }
        table.remove(key);
        self.changed = true;
    }

    /// The table of that name, made if it is not there.
    pub(crate) fn table<'a>(
        &mut self,
        parent: &'a mut Table,
        key: &str,
    ) -> Option<&'a mut dyn TableLike> {
        if !parent.contains_key(key) {
            parent.insert(key, Item::Table(Table::new()));
            self.changed = true;
        }
        parent.get_mut(key)?.as_table_like_mut()
    }
}

/// Collects the comments in and around an item.
fn gather(item: &Item, comments: &mut Vec<String>) {
    match item {
        Item::Value(value) => {
            gather_within(value, comments);
            gather_text(value.decor().suffix(), comments);
        }
        Item::Table(table) => gather_table(table, comments),
        Item::ArrayOfTables(tables) => tables
            .iter()
            .for_each(|table| gather_table(table, comments)),
        Item::None => {}
    }
}

/// Collects the comments between the entries of a list, or of a table in braces.
fn gather_within(value: &Value, comments: &mut Vec<String>) {
    match value {
        Value::Array(array) => {
            for entry in array {
                gather_text(entry.decor().prefix(), comments);
                gather_within(entry, comments);
                gather_text(entry.decor().suffix(), comments);
            }
            gather_text(Some(array.trailing()), comments);
        }
        Value::InlineTable(table) => {
            for (key, entry) in table {
                let key = table.key(key);
                gather_text(key.and_then(|key| key.leaf_decor().prefix()), comments);
                gather_within(entry, comments);
                gather_text(entry.decor().suffix(), comments);
            }
            gather_text(Some(table.trailing()), comments);
        }
        _ => {}
    }
}

/// Collects the comments in and around a table.
pub(crate) fn gather_table(table: &Table, comments: &mut Vec<String>) {
    gather_text(table.decor().prefix(), comments);
    gather_text(table.decor().suffix(), comments);
    for (key, item) in table {
        let key = table.key(key);
        gather_text(key.and_then(|key| key.leaf_decor().prefix()), comments);
        gather(item, comments);
    }
}

fn gather_text(text: Option<&RawString>, comments: &mut Vec<String>) {
    let text = text.and_then(|text| text.as_str()).unwrap_or_default();
    let lines = text.lines().map(str::trim);
    comments.extend(
        lines
            .filter(|line| line.starts_with('#'))
            .map(str::to_owned),
    );
}
