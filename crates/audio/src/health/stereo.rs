//! Identical or inverted channels.
//!
//! **What it measures**: whether right equals left, or minus left, in every frame.
//! **Why it matters**: two equal channels are a mono track in a stereo file;
//! inverted ones vanish in mono.
//! **Threshold and source**: exact equality over the whole file.
//! **How to mend**: nothing, or export as mono; flip the polarity of one side.
//! **When it is wrong**: dither of its own on each side hides both.

use crate::note::{HealthCode, HealthGrade, HealthNote};

#[derive(Clone, Debug)]
pub(super) struct Stereo {
    identical: bool,
    inverted: bool,
}

impl Stereo {
    pub(super) fn new(channels: usize) -> Self {
        let stereo = channels == 2;
        Stereo {
            identical: stereo,
            inverted: stereo,
        }
    }

    /// Costs nothing once neither can be true any more.
    pub(super) fn add(&mut self, left: &[f64], right: &[f64]) {
        self.identical = self.identical && left == right;
        self.inverted = self.inverted && left.iter().zip(right).all(|(l, r)| *l == -*r);
    }

    /// The note for a file that is not silent.
    pub(super) fn note(&self) -> Option<HealthNote> {
        if self.identical {
            let text = "left and right are the same: a mono sound in a stereo file";
            return Some(HealthNote::new(
                HealthCode::IdenticalChannels,
                HealthGrade::Info,
                text,
            ));
        }
        self.inverted.then(|| {
            let text = "right is left turned upside down, so nothing is left in mono; flip the polarity of one side and export again";
            HealthNote::new(HealthCode::InvertedChannels, HealthGrade::Mend, text)
        })
    }
}
