//! Typed reading of TOML tables; every fault knows its place in the text.

use std::ops::Range;

use toml_edit::{Item, TableLike, Value};

use crate::Problem;
use crate::suggest::nearest;

/// A problem and where it stands.
#[derive(Debug)]
pub(crate) struct Fault {
    pub(crate) span: Option<Range<usize>>,
    pub(crate) problem: Box<Problem>,
}

impl Fault {
    pub(crate) fn new(span: Option<Range<usize>>, problem: Problem) -> Self {
        Self {
            span,
            problem: Box::new(problem),
        }
    }
}

pub(crate) type Reading<T> = Result<T, Fault>;

/// A table being read.
pub(crate) struct Section<'a> {
    table: &'a dyn TableLike,
    place: String,
    span: Option<Range<usize>>,
}

impl<'a> Section<'a> {
    /// Takes a table and refuses keys that are not in `allowed`.
    pub(crate) fn new(
        table: &'a dyn TableLike,
        place: impl Into<String>,
        span: Option<Range<usize>>,
        allowed: &[&str],
    ) -> Reading<Self> {
        let section = Self {
            table,
            place: place.into(),
            span,
        };
        match table.iter().find(|(key, _)| !allowed.contains(key)) {
            None => Ok(section),
            Some((key, _)) => Err(Fault::new(
                section.key_span(key),
                Problem::UnknownKey {
                    key: key.to_owned(),
                    place: section.place.clone(),
                    suggestion: nearest(key, allowed.iter().copied()),
                    allowed: allowed.iter().map(|&word| word.to_owned()).collect(),
                },
            )),
        }
    }

    fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.table
            .get_key_value(key)
            .and_then(|(key, item)| key.span().or_else(|| item.span()))
            .or_else(|| self.span.clone())
    }

    /// Where the value of `key` stands.
    pub(crate) fn value_span(&self, key: &str) -> Option<Range<usize>> {
        self.table
            .get(key)
            .and_then(Item::span)
            .or_else(|| self.key_span(key))
    }

    /// A fault at the value of `key`.
    pub(crate) fn fault(&self, key: &str, problem: Problem) -> Fault {
        Fault::new(self.value_span(key), problem)
    }

    fn wrong_type(&self, key: &str, item: &Item, wanted: &str) -> Fault {
        self.fault(
            key,
            Problem::WrongType {
                key: key.to_owned(),
                given: type_in_words(item).into(),
                wanted: wanted.into(),
            },
        )
    }

    /// The value, or the fault that it is missing.
    pub(crate) fn required<T>(&self, key: &str, value: Option<T>, example: &str) -> Reading<T> {
        value.ok_or_else(|| {
            Fault::new(
                self.span.clone(),
                Problem::Missing {
                    key: key.to_owned(),
                    place: self.place.clone(),
                    example: example.into(),
                },
            )
        })
    }

    /// Any text.
    pub(crate) fn any_text(&self, key: &str) -> Reading<Option<&'a str>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        match item.as_str() {
            Some(text) => Ok(Some(text)),
            None => Err(self.wrong_type(key, item, "text in quotes")),
        }
    }

    /// A text with something in it.
    pub(crate) fn text(&self, key: &str) -> Reading<Option<&'a str>> {
        match self.any_text(key)? {
            Some(text) if text.trim().is_empty() => {
                Err(self.fault(key, Problem::EmptyText { key: key.into() }))
            }
            text => Ok(text),
        }
    }

    /// One word of a list.
    pub(crate) fn choice<T: Copy>(
        &self,
        key: &str,
        all: &[T],
        name: impl Fn(T) -> &'static str,
    ) -> Reading<Option<T>> {
        let Some(text) = self.any_text(key)? else {
            return Ok(None);
        };
        match all.iter().find(|&&one| name(one) == text) {
            Some(&one) => Ok(Some(one)),
            None => Err(self.not_allowed(key, text, all.iter().map(|&one| name(one)))),
        }
    }

    /// The fault that a word is not in a list.
    pub(crate) fn not_allowed<'b>(
        &self,
        key: &str,
        given: &str,
        allowed: impl IntoIterator<Item = &'b str>,
    ) -> Fault {
        let allowed: Vec<&str> = allowed.into_iter().collect();
        self.fault(
            key,
            Problem::NotAllowed {
                key: key.into(),
                given: format!("`{given}`"),
                suggestion: nearest(given, allowed.iter().copied()),
                allowed: allowed.into_iter().map(str::to_owned).collect(),
            },
        )
    }

    /// A number within limits; whole numbers will do.
    pub(crate) fn number(&self, key: &str, low: f64, high: f64) -> Reading<Option<f64>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        let given = match (item.as_float(), item.as_integer()) {
            (Some(value), _) => value,
            (None, Some(value)) => value as f64,
            (None, None) => return Err(self.wrong_type(key, item, "a number")),
        };
        self.within(key, given, low, high).map(Some)
    }

    /// A whole number within limits.
    pub(crate) fn integer(&self, key: &str, low: i64, high: i64) -> Reading<Option<i64>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        let Some(given) = item.as_integer() else {
            return Err(self.wrong_type(key, item, "a whole number"));
        };
        self.within(key, given as f64, low as f64, high as f64)?;
        Ok(Some(given))
    }

    fn within(&self, key: &str, given: f64, low: f64, high: f64) -> Reading<f64> {
        if (low..=high).contains(&given) {
            return Ok(given);
        }
        Err(self.fault(
            key,
            Problem::OutOfRange {
                key: key.into(),
                given,
                low,
                high,
            },
        ))
    }

    /// Yes or no.
    pub(crate) fn boolean(&self, key: &str) -> Reading<Option<bool>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        match item.as_bool() {
            Some(value) => Ok(Some(value)),
            None => Err(self.wrong_type(key, item, "`true` or `false`")),
        }
    }

    /// A table within, read with its own list of keys.
    pub(crate) fn section(
        &self,
        key: &str,
        place: impl Into<String>,
        allowed: &[&str],
    ) -> Reading<Option<Section<'a>>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        match item.as_table_like() {
            Some(table) => Section::new(table, place, self.value_span(key), allowed).map(Some),
            None => Err(self.wrong_type(key, item, "a table")),
        }
    }

    /// The tables of an array `[[key]]`, each with its place in the text.
    pub(crate) fn tables(&self, key: &str, allowed: &[&str]) -> Reading<Vec<Section<'a>>> {
        let Some(item) = self.table.get(key) else {
            return Ok(Vec::new());
        };
        if item.as_array().is_some_and(toml_edit::Array::is_empty) {
            return Ok(Vec::new());
        }
        let Some(tables) = item.as_array_of_tables() else {
            let wanted = format!("a list of tables, each under a line `[[{key}]]`");
            return Err(self.wrong_type(key, item, &wanted));
        };
        let place = format!("`[[{key}]]`");
        tables
            .iter()
            .map(|table| Section::new(table, place.clone(), table.span(), allowed))
            .collect()
    }

    /// The entries of an array, or of an array of tables.
    pub(crate) fn entries(&self, key: &str) -> Reading<Option<Vec<Entry<'a>>>> {
        let Some(item) = self.table.get(key) else {
            return Ok(None);
        };
        if let Some(array) = item.as_array() {
            return Ok(Some(array.iter().map(Entry::from_value).collect()));
        }
        if let Some(tables) = item.as_array_of_tables() {
            let entry = |table: &'a toml_edit::Table| Entry::Table(table, table.span());
            return Ok(Some(tables.iter().map(entry).collect()));
        }
        Err(self.wrong_type(key, item, "a list"))
    }
}

/// One entry of a list.
pub(crate) enum Entry<'a> {
    Text(&'a str, Option<Range<usize>>),
    Table(&'a dyn TableLike, Option<Range<usize>>),
    Other,
}

impl<'a> Entry<'a> {
    fn from_value(value: &'a Value) -> Self {
        match value {
            Value::String(text) => Self::Text(text.value(), value.span()),
            Value::InlineTable(table) => Self::Table(table, value.span()),
            _ => Self::Other,
        }
    }
}

fn type_in_words(item: &Item) -> &'static str {
    match item {
        Item::None => "nothing",
        Item::Table(_) | Item::Value(Value::InlineTable(_)) => "a table",
        Item::ArrayOfTables(_) => "a list of tables",
        Item::Value(Value::String(_)) => "text",
        Item::Value(Value::Integer(_)) => "a number",
        Item::Value(Value::Float(_)) => "a number with a fraction",
        Item::Value(Value::Boolean(_)) => "`true` or `false`",
        Item::Value(Value::Datetime(_)) => "a date",
        Item::Value(Value::Array(_)) => "a list",
    }
}
