//! The style sheet, inlined into the page.

use crate::palette;

/// The whole style sheet.
pub(crate) fn sheet() -> String {
    palette::variables() + include_str!("style.css")
}
