//! Scales, and the lines and figures that make them readable.

use cupel_units::{note_to_hertz, read_hertz, read_seconds};

use super::frame::Frame;
use crate::svg::{Anchor, Svg};

/// Lowest and highest frequency drawn.
pub(crate) const RANGE_HZ: (f64, f64) = (20.0, 20_000.0);

/// A linear scale from values to pixels; values outside are held at its ends.
#[derive(Clone, Copy)]
pub(crate) struct Linear {
    pub from: f64,
    pub to: f64,
    pub from_px: f64,
    pub to_px: f64,
}

impl Linear {
    /// Where `value` lies.
    pub fn px(&self, value: f64) -> f64 {
        let part = ((value - self.from) / (self.to - self.from)).clamp(0.0, 1.0);
        self.from_px + part * (self.to_px - self.from_px)
    }

    /// Multiples of `step` on the scale, rising.
    pub fn marks(&self, step: f64) -> Vec<f64> {
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let first = (low / step - 1e-9).ceil() as i64;
        let last = (high / step + 1e-9).floor() as i64;
        (first..=last).map(|n| n as f64 * step).collect()
    }
}

/// The logarithmic frequency scale over a frame.
pub(crate) fn frequency(frame: &Frame) -> impl Fn(f64) -> f64 + use<> {
    let scale = Linear {
        from: RANGE_HZ.0.ln(),
        to: RANGE_HZ.1.ln(),
        from_px: frame.left,
        to_px: frame.right,
    };
    move |hertz| scale.px(hertz.max(1e-3).ln())
}

/// Vertical hairlines at round frequencies, from `top` to `bottom`.
pub(crate) fn frequency_grid(svg: &mut Svg, frame: &Frame, top: f64, bottom: f64) {
    let x = frequency(frame);
    for hertz in [20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4] {
        svg.line("hair", (x(hertz), top), (x(hertz), bottom));
    }
}

/// Figures of the frequency scale, and below them the notes up to 150 Hz.
/// Takes 38 pixels below `top`.
pub(crate) fn frequency_figures(svg: &mut Svg, frame: &Frame, top: f64) {
    let x = frequency(frame);
    let hertz: &[f64] = if frame.narrow {
        &[20.0, 100.0, 1e3, 1e4]
    } else {
        &[20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4]
    };
    for hertz in hertz {
        svg.text(
            "quiet",
            Anchor::Middle,
            (x(*hertz), top + 15.0),
            &read_hertz(*hertz),
        );
    }
    // Note numbers with A4 = 69: C1, G1, C2, G2, C3; the phone shows the C's.
    for (number, name) in [(24, "C1"), (31, "G1"), (36, "C2"), (43, "G2"), (48, "C3")] {
        if frame.narrow && name.starts_with('G') {
            continue;
        }
        let at = x(note_to_hertz(f64::from(number)));
        svg.line("hair", (at, top + 19.0), (at, top + 23.0));
        svg.text("quiet", Anchor::Middle, (at, top + 34.0), name);
    }
}

/// Horizontal hairlines and figures of a decibel scale, every `step`.
pub(crate) fn level_grid(svg: &mut Svg, frame: &Frame, scale: &Linear, step: f64, signed: bool) {
    for value in scale.marks(step) {
        let y = scale.px(value);
        svg.line("hair", (frame.left, y), (frame.right, y));
        let figure = if signed && value > 0.0 {
            format!("+{value:.0}")
        } else {
            format!("{value:.0}")
        };
        svg.text("quiet", Anchor::End, (frame.left - 6.0, y + 4.0), &figure);
    }
}

/// The unit of an upright scale that begins at `top`.
pub(crate) fn level_unit(svg: &mut Svg, frame: &Frame, top: f64, unit: &str) {
    if frame.narrow {
        svg.text("quiet", Anchor::Start, (0.0, top - 10.0), unit);
    } else {
        svg.text("quiet", Anchor::End, (frame.left - 6.0, top - 10.0), unit);
    }
}

/// Figures of a scale in minutes and seconds below `top`; takes 18 pixels.
pub(crate) fn time_figures(svg: &mut Svg, frame: &Frame, scale: &Linear, top: f64) {
    let room = if frame.narrow { 5.0 } else { 9.0 };
    let wanted = (scale.to - scale.from) / room;
    let steps = [
        1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0,
    ];
    let step = steps
        .into_iter()
        .find(|step| *step >= wanted)
        .unwrap_or(wanted);
    for seconds in scale.marks(step) {
        let x = scale.px(seconds);
        svg.line("hair", (x, top), (x, top + 4.0));
        svg.text(
            "quiet",
            Anchor::Middle,
            (x, top + 17.0),
            &read_seconds(seconds, false),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::frame::WIDE;

    #[test]
    fn a_decade_is_a_third_of_three() {
        let x = frequency(&WIDE);
        let decade = (WIDE.right - WIDE.left) / 3.0;
        assert!((x(20.0) - WIDE.left).abs() < 1e-9);
        assert!((x(200.0) - x(20.0) - decade).abs() < 1e-9);
        assert!((x(90_000.0) - WIDE.right).abs() < 1e-9);
    }

    #[test]
    fn marks_lie_on_the_scale() {
        let scale = Linear {
            from: -7.0,
            to: 6.0,
            from_px: 100.0,
            to_px: 0.0,
        };
        assert_eq!(scale.marks(3.0), [-6.0, -3.0, 0.0, 3.0, 6.0]);
        assert!((scale.px(-0.5) - 50.0).abs() < 1e-9);
    }
}
