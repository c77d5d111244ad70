//! Words and small sums that several kinds share.

/// Names in a row: `a, b and c`.
pub(crate) fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The side a lean goes to, right over left.
pub(crate) fn side(lean_db: f64) -> &'static str {
    if lean_db > 0.0 { "right" } else { "left" }
}

/// A band: `200 to 500 Hz`, `2 to 5 kHz`.
pub(crate) fn band((low_hz, high_hz): (f64, f64)) -> String {
    let kilo = |hz: f64| match hz / 1000.0 {
        khz if (khz - khz.round()).abs() < 0.05 => format!("{khz:.0}"),
        khz => format!("{khz:.1}"),
    };
    match (low_hz < 1000.0, high_hz < 1000.0) {
        (true, true) => format!("{low_hz:.0} to {high_hz:.0} Hz"),
        (true, false) => format!("{low_hz:.0} Hz to {} kHz", kilo(high_hz)),
        _ => format!("{} to {} kHz", kilo(low_hz), kilo(high_hz)),
    }
}

/// A moment: `1:05`.
pub(crate) fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

/// The middle value; 0 of nothing.
pub(crate) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => 0.5 * (values[n / 2 - 1] + values[n / 2]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_bands_and_moments_read_well() {
        assert_eq!(list(&["hats", "shaker", "rim"]), "hats, shaker and rim");
        assert_eq!(list(&["hats"]), "hats");
        assert_eq!(band((200.0, 500.0)), "200 to 500 Hz");
        assert_eq!(band((500.0, 2000.0)), "500 Hz to 2 kHz");
        assert_eq!(band((2500.0, 5000.0)), "2.5 to 5 kHz");
        assert_eq!(clock(65.2), "1:05");
        assert_eq!(clock(119.7), "2:00");
        assert_eq!(median(vec![3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(vec![3.0, 1.0]), 2.0);
    }
}
