//! What the fit of the weights needs; no part of the interface.

pub use crate::features::{LONGEST, SHARED, TYPED};

/// A file read: its bar lines, and the features of any run of bars.
pub struct Case {
    bars: crate::bar_frames::Bars,
    features: crate::features::Features,
}

impl Case {
    /// `None` where there are too few bars, or silence.
    pub fn read(input: &crate::FormInput<'_>) -> Option<Self> {
        let (bars, features) = crate::find::read(input)?;
        Some(Self { bars, features })
    }

    /// Bar lines up to the music's end, in seconds.
    pub fn lines_s(&self) -> &[f64] {
        &self.bars.lines_s[..=self.features.count()]
    }

    /// Shared and typed features of the bars `from..to`.
    pub fn rows(&self, from: usize, to: usize) -> ([f64; SHARED], [f64; TYPED]) {
        (
            self.features.shared(from, to),
            self.features.typed(from, to),
        )
    }
}
