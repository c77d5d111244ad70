//! Numbers as people in the trade read them.

/// A level: `-12.0 dB`; a missing or infinite one reads `silent`.
pub fn read_db(db: Option<f64>) -> String {
    finite(db).map_or_else(|| "silent".into(), |db| format!("{:.1} dB", tidy(db)))
}

/// A peak in the file's own scale: `-12.0 dBFS`; a missing one reads `silent`.
pub fn read_dbfs(dbfs: Option<f64>) -> String {
    finite(dbfs).map_or_else(|| "silent".into(), |dbfs| format!("{:.1} dBFS", tidy(dbfs)))
}

/// A peak between the samples: `-1.0 dBTP`; a missing one reads `silent`.
pub fn read_dbtp(dbtp: Option<f64>) -> String {
    finite(dbtp).map_or_else(|| "silent".into(), |dbtp| format!("{:.1} dBTP", tidy(dbtp)))
}

/// A change of level, always signed: `+1.5 dB`.
pub fn read_db_change(db: f64) -> String {
    format!("{:+.1} dB", tidy(db))
}

/// A loudness: `-18.2 LUFS`; a missing one reads `silent`.
pub fn read_lufs(lufs: Option<f64>) -> String {
    finite(lufs).map_or_else(|| "silent".into(), |lufs| format!("{:.1} LUFS", tidy(lufs)))
}

/// A frequency: `80 Hz`, `2.4 kHz`, `12 kHz`.
pub fn read_hertz(hertz: f64) -> String {
    if hertz < 999.5 {
        return format!("{hertz:.0} Hz");
    }
    let text = format!("{:.1}", hertz / 1000.0);
    format!("{} kHz", text.strip_suffix(".0").unwrap_or(&text))
}

/// A place in time: `1:05`, or `0:07.5` with `tenths`.
pub fn read_seconds(seconds: f64, tenths: bool) -> String {
    if !seconds.is_finite() {
        return "unknown".into();
    }
    let unit = if tenths { 10.0 } else { 1.0 };
    let rounded = (seconds.max(0.0) * unit).round() / unit;
    let minutes = (rounded / 60.0).floor();
    let rest = rounded - 60.0 * minutes;
    if tenths {
        format!("{minutes:.0}:{rest:04.1}")
    } else {
        format!("{minutes:.0}:{rest:02.0}")
    }
}

fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|value| value.is_finite())
}

/// No minus before a value that prints as zero.
fn tidy(value: f64) -> f64 {
    if value.abs() < 0.05 { 0.0 } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_people_say_them() {
        assert_eq!(read_db(Some(-12.04)), "-12.0 dB");
        assert_eq!(read_db(None), "silent");
        assert_eq!(read_dbfs(Some(3.12)), "3.1 dBFS");
        assert_eq!(read_dbtp(Some(-0.04)), "0.0 dBTP");
        assert_eq!(read_db_change(1.5), "+1.5 dB");
        assert_eq!(read_db_change(-0.01), "+0.0 dB");
        assert_eq!(read_lufs(Some(f64::NEG_INFINITY)), "silent");
        assert_eq!(read_hertz(80.0), "80 Hz");
        assert_eq!(read_hertz(999.7), "1 kHz");
        assert_eq!(read_hertz(2400.0), "2.4 kHz");
        assert_eq!(read_hertz(12_000.0), "12 kHz");
        assert_eq!(read_seconds(65.2, false), "1:05");
        assert_eq!(read_seconds(59.96, true), "1:00.0");
        assert_eq!(read_seconds(7.5, true), "0:07.5");
    }
}
