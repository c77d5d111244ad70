//! The two widths every drawing is made at, and its rows with names.

use crate::svg::{Anchor, Svg, fit_name};

/// One width of a drawing: outer width and the left and right of its field.
pub(crate) struct Frame {
    pub width: f64,
    pub left: f64,
    pub right: f64,
    pub narrow: bool,
}

/// For desktop and paper: names stand left of the field.
pub(crate) const WIDE: Frame = Frame {
    width: 720.0,
    left: 132.0,
    right: 694.0,
    narrow: false,
};

/// For phones: names stand above their rows.
pub(crate) const NARROW: Frame = Frame {
    width: 340.0,
    left: 34.0,
    right: 322.0,
    narrow: true,
};

impl Frame {
    /// The same frame with its field's right end moved in by `px`.
    pub fn with_right_gutter(&self, px: f64) -> Self {
        Self {
            right: self.right - px,
            ..*self
        }
    }

    /// The same frame with the field starting at `left` where it is narrow:
    /// rows that carry their name above need no gutter.
    pub fn with_narrow_left(&self, left: f64) -> Self {
        let left = if self.narrow { left } else { self.left };
        Self { left, ..*self }
    }

    /// Height of one named row.
    pub fn row_height(&self) -> f64 {
        if self.narrow { 38.0 } else { 23.0 }
    }

    /// Writes a row's name and returns the middle of its field. `top` is the
    /// row's upper edge; on phones the name takes at most `part` of the width.
    pub fn row_name(&self, svg: &mut Svg, top: f64, name: &str, part: f64) -> f64 {
        if self.narrow {
            let name = fit_name(name, part * self.width);
            svg.text("", Anchor::Start, (0.0, top + 15.0), &name);
            return top + 27.0;
        }
        let name = fit_name(name, self.left - 16.0);
        svg.text("", Anchor::Start, (0.0, top + 16.0), &name);
        top + 11.5
    }
}
