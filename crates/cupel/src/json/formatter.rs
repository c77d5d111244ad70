//! JSON with an object's fields line by line and lists of plain values in one
//! line: bar maps would else be a number a line.

use std::io::{Result, Write};

use serde_json::ser::Formatter;

/// See the module.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    depth: usize,
    /// A list's next value was announced and may yet be a plain one.
    waiting: bool,
    first: bool,
    /// By open list or object: whether it has anything on lines of its own.
    tall: Vec<bool>,
}

impl Lines {
    fn line<W: ?Sized + Write>(&self, out: &mut W) -> Result<()> {
        out.write_all(b"\n")?;
        for _ in 0..self.depth {
            out.write_all(b"  ")?;
        }
        Ok(())
    }

    fn plain<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        if std::mem::take(&mut self.waiting) && !self.first {
            out.write_all(b" ")?;
        }
        Ok(())
    }

    /// Before a list or object: inside of a list it stands on a line of its own.
    fn open<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        if std::mem::take(&mut self.waiting) {
            if let Some(tall) = self.tall.last_mut() {
                *tall = true;
            }
            self.line(out)?;
        }
        self.depth += 1;
        self.tall.push(false);
        Ok(())
    }

    fn close<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.depth = self.depth.saturating_sub(1);
        match self.tall.pop() {
            Some(true) => self.line(out),
            _ => Ok(()),
        }
    }
}

macro_rules! plain_values {
    ($($name:ident: $value:ty => $text:expr,)+) => {
        $(fn $name<W: ?Sized + Write>(&mut self, out: &mut W, value: $value) -> Result<()> {
            self.plain(out)?;
            let text: fn($value) -> String = $text;
            out.write_all(text(value).as_bytes())
        })+
    };
}

impl Formatter for Lines {
    plain_values! {
        write_bool: bool => |value| value.to_string(),
        write_u8: u8 => |value| value.to_string(),
        write_u16: u16 => |value| value.to_string(),
        write_u32: u32 => |value| value.to_string(),
        write_u64: u64 => |value| value.to_string(),
        write_i32: i32 => |value| value.to_string(),
        write_i64: i64 => |value| value.to_string(),
        write_f32: f32 => |value| serde_json::Number::from_f64(value.into()).map_or_else(|| "null".into(), |_| format_f32(value)),
        write_f64: f64 => |value| serde_json::Number::from_f64(value).map_or_else(|| "null".into(), |number| number.to_string()),
    }

    fn write_null<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.plain(out)?;
        out.write_all(b"null")
    }

    fn begin_string<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.plain(out)?;
        out.write_all(b"\"")
    }

    fn begin_array<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.open(out)?;
        out.write_all(b"[")
    }

    fn end_array<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.close(out)?;
        out.write_all(b"]")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> Result<()> {
        (self.waiting, self.first) = (true, first);
        if first { Ok(()) } else { out.write_all(b",") }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.open(out)?;
        out.write_all(b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.close(out)?;
        out.write_all(b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> Result<()> {
        if let Some(tall) = self.tall.last_mut() {
            *tall = true;
        }
        if !first {
            out.write_all(b",")?;
        }
        self.line(out)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        out.write_all(b": ")
    }
}

/// The shortest text that gives the same value back.
fn format_f32(value: f32) -> String {
    let text = format!("{value:?}");
    if value.abs() >= 1e16 || (value != 0.0 && value.abs() < 1e-5) {
        format!("{value:e}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Serialize;
    use serde_json::{Serializer, Value, json};

    fn write(value: &Value) -> String {
        let mut out = Vec::new();
        let mut serializer = Serializer::with_formatter(&mut out, Lines::default());
        value.serialize(&mut serializer).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn plain_lists_stand_in_one_line() {
        let value = json!({"a": [1, null, 2.5, "x"], "b": [{"c": []}, [1, 2]], "d": {}});
        let text = write(&value);
        assert_eq!(
            text,
            "{\n  \"a\": [1, null, 2.5, \"x\"],\n  \"b\": [\n    {\n      \"c\": []\n    },\n    [1, 2]\n  ],\n  \"d\": {}\n}"
        );
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
    }
}
