//! The key to the marks: the same mark means the same thing in every drawing.

use super::frame::Frame;
use crate::svg::{Anchor, Svg, text_width};

/// What a mark stands for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// The mix as it is now: solid line.
    Mix,
    /// The mix before the moves: thin dotted line.
    Before,
    /// The reference: long-dashed line.
    Reference,
    /// The reference as a single value: hollow mark.
    ReferencePoint,
    /// A track or mix as a single value: filled mark.
    Point,
    /// The highest sample: an upright tick.
    Peak,
    /// A stretch of time: pale band.
    Stretch,
    /// Something of the mix that lasts: filled box.
    MixBox,
    /// Something of the reference that lasts: hollow box.
    ReferenceBox,
}

/// Height of the key, with room below it for the unit of an upright scale.
pub(crate) const HEIGHT: f64 = 36.0;

/// Writes the key along the top of a drawing.
pub(crate) fn legend(svg: &mut Svg, frame: &Frame, entries: &[(Mark, &str)]) {
    let (mut left, line, gap) = if frame.narrow {
        (0.0, 20.0, 4.0)
    } else {
        (frame.left, 26.0, 22.0)
    };
    for (mark, words) in entries {
        let y = 9.0;
        let length = if is_point(*mark) { 12.0 } else { line };
        sample(svg, *mark, left, length, y);
        let words_left = left + length + 5.0;
        svg.text("quiet", Anchor::Start, (words_left, y + 4.0), words);
        left = words_left + text_width(words) + gap;
    }
}

fn is_point(mark: Mark) -> bool {
    matches!(mark, Mark::Point | Mark::Peak | Mark::ReferencePoint)
}

fn sample(svg: &mut Svg, mark: Mark, left: f64, length: f64, y: f64) {
    let (from, to, middle) = ((left, y), (left + length, y), (left + length / 2.0, y));
    match mark {
        Mark::Mix => svg.line("mix-line", from, to),
        Mark::Before => svg.line("before-line", from, to),
        Mark::Reference => svg.line("reference-line", from, to),
        Mark::ReferencePoint => svg.disc("reference-mark", middle, 4.5),
        Mark::Point => svg.disc("mix-mark", middle, 5.0),
        Mark::Peak => svg.line("mix-line", (middle.0, y - 6.0), (middle.0, y + 6.0)),
        Mark::Stretch => svg.boxes("pale", &[[left, y - 7.0, length, 14.0]]),
        Mark::MixBox => svg.boxes("mix-mark", &[[left, y - 4.0, length, 8.0]]),
        Mark::ReferenceBox => svg.boxes("reference-mark", &[[left, y - 4.0, length, 8.0]]),
    }
}
