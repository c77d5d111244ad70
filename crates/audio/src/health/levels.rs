//! Silence, dead channels, and float samples over full scale.
//!
//! **What it measures**: the largest sample of each channel.
//! **Why it matters**: a silent file or side is usually an export gone wrong;
//! float samples over full scale are harmless until something turns them into
//! integers.
//! **Threshold and source**: -90 dBFS for silence, 0 dBFS for overs (common
//! practice, no source).
//! **How to mend**: export again; turn the track down by the figure given.
//! **When it is wrong**: a track meant to be silent, one-sided sounds.

use super::block::Stats;
use super::{SILENCE_LINEAR, dbfs};
use crate::note::{HealthCode, HealthGrade, HealthNote};

#[derive(Clone, Debug)]
pub(super) struct Levels {
    peaks: Vec<Peak>,
}

/// The largest distance from zero and the block where it first stood.
#[derive(Clone, Copy, Debug, Default)]
struct Peak {
    linear: f64,
    frame: u64,
}

impl Levels {
    pub(super) fn new(channels: usize) -> Self {
        Levels {
            peaks: vec![Peak::default(); channels],
        }
    }

    pub(super) fn add(&mut self, channel: usize, stats: &Stats, frame: u64) {
        let linear = stats.peak();
        if linear.is_finite() && linear > self.peaks[channel].linear {
            self.peaks[channel] = Peak { linear, frame };
        }
    }

    pub(super) fn is_silent(&self) -> bool {
        self.peaks.iter().all(|peak| peak.linear < SILENCE_LINEAR)
    }

    pub(super) fn notes(&self, sample_rate_hz: f64) -> Vec<HealthNote> {
        if self.is_silent() {
            return vec![self.silence()];
        }
        let mut notes: Vec<HealthNote> = self.dead_channel().into_iter().collect();
        notes.extend(self.over_full_scale(sample_rate_hz));
        notes
    }

    fn loudest(&self) -> Peak {
        let mut loudest = Peak::default();
        for peak in &self.peaks {
            if peak.linear > loudest.linear {
                loudest = *peak;
            }
        }
        loudest
    }

    fn silence(&self) -> HealthNote {
        let peak = self.loudest().linear;
        let mend = "unmute the track and export it again, or leave the file out";
        if peak == 0.0 {
            let text = format!("digital silence from start to end; {mend}");
            return HealthNote::new(HealthCode::Silence, HealthGrade::Mend, text);
        }
        let text = format!("nothing above {:.1} dBFS; {mend}", dbfs(peak));
        HealthNote::new(HealthCode::Silence, HealthGrade::Mend, text).with_value(dbfs(peak), "dBFS")
    }

    fn dead_channel(&self) -> Option<HealthNote> {
        let [left, right] = self.peaks.as_slice() else {
            return None;
        };
        let side = match (left.linear < SILENCE_LINEAR, right.linear < SILENCE_LINEAR) {
            (true, false) => "left",
            (false, true) => "right",
            _ => return None,
        };
        let text = format!(
            "the {side} channel is silent, the other is not; if that is not meant, check the pan and export again, or export as mono"
        );
        Some(HealthNote::new(
            HealthCode::DeadChannel,
            HealthGrade::Look,
            text,
        ))
    }

    fn over_full_scale(&self, sample_rate_hz: f64) -> Option<HealthNote> {
        let peak = self.loudest();
        if peak.linear <= 1.0 {
            return None;
        }
        let over_db = dbfs(peak.linear);
        let text = format!(
            "float samples up to {over_db:.1} dB over full scale; nothing is lost here, but an integer export would clip"
        );
        Some(
            HealthNote::new(HealthCode::OverFullScale, HealthGrade::Info, text)
                .at(peak.frame as f64 / sample_rate_hz)
                .with_value(over_db, "dBFS"),
        )
    }
}
