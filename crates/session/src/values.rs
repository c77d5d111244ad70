//! Values as they are written, and whether two say the same.

use toml_edit::{Array, InlineTable, Item, TableLike, Value};

use crate::{At, Breakpoint, Delay, Parameters};

pub(crate) fn text(value: &Option<String>) -> Option<Value> {
    value.as_deref().map(Value::from)
}

pub(crate) fn parameters_table(parameters: &Parameters) -> InlineTable {
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

pub(crate) fn places(at: &At) -> Value {
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
pub(crate) fn same_item(item: &Item, wanted: &Value) -> bool {
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

pub(crate) fn same(value: &Value, wanted: &Value) -> bool {
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
