//! NaN and infinite samples.
//!
//! **What it measures**: how many samples are no numbers that can be played.
//! **Why it matters**: one of them spoils every filter behind it for good.
//! **Threshold and source**: one is enough.
//! **How to mend**: find the processor that makes them, and export again.
//! **When it is wrong**: never; on playing they are replaced by silence.

use crate::note::{HealthCode, HealthGrade, HealthNote};

#[derive(Clone, Debug, Default)]
pub(super) struct NonFinite {
    count: u64,
    first_frame: Option<u64>,
}

impl NonFinite {
    /// Counts in a block known to hold some.
    pub(super) fn look(&mut self, samples: &[f64], frame: u64) {
        for (offset, _) in samples.iter().enumerate().filter(|(_, x)| !x.is_finite()) {
            self.count += 1;
            let here = frame + offset as u64;
            self.first_frame = Some(self.first_frame.map_or(here, |first| first.min(here)));
        }
    }

    pub(super) fn note(&self, sample_rate_hz: f64) -> Option<HealthNote> {
        let at_s = self.first_frame? as f64 / sample_rate_hz;
        let count = self.count;
        let text = format!(
            "{count} samples are not numbers (NaN or infinite), the first at {at_s:.3} s; they play as silence; bypass processors until it stops, and export again"
        );
        Some(
            HealthNote::new(HealthCode::NonFinite, HealthGrade::Mend, text)
                .at(at_s)
                .with_value(count as f64, "samples"),
        )
    }
}
