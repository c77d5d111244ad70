//! Clipped runs and flat tops.
//!
//! **What it measures**: runs of at least three equal samples at the file's own
//! extreme, which a limiter or clipper leaves; at full scale they are clipped runs.
//! **Why it matters**: what was cut off cannot be brought back by any later gain.
//! **Threshold and source**: one run at full scale, ten below it (common practice,
//! no source). Full scale is 32767/32768, the highest 16-bit sample.
//! **How to mend**: turn the track down, or its clipper off, and export again.
//! **When it is wrong**: driven kicks and square waves are flat on purpose. Slow
//! waves in few bits have equal samples at their crest too: they fall away by one
//! or a few steps on either side, so a run counts only if the sound comes up to it
//! by more than sixteen steps within half its own length.

use super::block::Stats;
use super::dbfs;
use crate::note::{HealthCode, HealthGrade, HealthNote};

/// The highest 16-bit sample; in more bits, full scale lies above.
const FULL_SCALE_LINEAR: f64 = 32_767.0 / 32_768.0;
/// Equal samples that make a run.
const RUN_SAMPLES: u64 = 3;
/// Runs below full scale that are worth a note.
const FEWEST_FLAT_TOPS: u64 = 10;
/// Channels and sides share a ceiling if they lie this close: 0.1 dB.
const SAME_CEILING: f64 = 0.988_553_094_656_939;
/// Samples remembered before a run.
const CONTEXT: usize = 32;
/// Steps by which the sound must come up to a run.
const LEAST_STEPS: f64 = 16.0;
/// One step of 16 and of 24 bits.
const STEP_16: f64 = 1.0 / 32_768.0;
const STEP_24: f64 = 1.0 / 8_388_608.0;

#[derive(Clone, Debug)]
pub(super) struct FlatTops {
    channels: Vec<Channel>,
}

#[derive(Clone, Debug)]
struct Channel {
    /// The last samples of the block before.
    before: [f64; CONTEXT],
    top: Side,
    bottom: Side,
}

/// The extreme on one side of zero, seen as positive.
#[derive(Clone, Debug)]
struct Side {
    sign: f64,
    extreme: f64,
    runs: u64,
    samples: u64,
    first_frame: u64,
    /// Length and approach of a run that reaches to the end of the last block.
    open: u64,
    approach: [f64; CONTEXT],
}

impl FlatTops {
    pub(super) fn new(channels: usize) -> Self {
        let channel = Channel {
            before: [0.0; CONTEXT],
            top: Side::new(1.0),
            bottom: Side::new(-1.0),
        };
        FlatTops {
            channels: vec![channel; channels],
        }
    }

    pub(super) fn add(&mut self, channel: usize, stats: &Stats, samples: &[f64], frame: u64) {
        let channel = &mut self.channels[channel];
        channel.top.add(stats.max, samples, &channel.before, frame);
        channel
            .bottom
            .add(-stats.min, samples, &channel.before, frame);
        let kept = samples.len().min(CONTEXT);
        channel.before.copy_within(kept.., 0);
        channel.before[CONTEXT - kept..].copy_from_slice(&samples[samples.len() - kept..]);
    }

    pub(super) fn note(&mut self, sample_rate_hz: f64) -> Option<HealthNote> {
        for channel in &mut self.channels {
            channel.top.close();
            channel.bottom.close();
        }
        let sides = || self.channels.iter().flat_map(|c| [&c.top, &c.bottom]);
        let ceiling = sides().map(|side| side.extreme).fold(0.0, f64::max);
        let at_ceiling = || sides().filter(|s| s.runs > 0 && s.extreme >= ceiling * SAME_CEILING);
        let runs: u64 = at_ceiling().map(|side| side.runs).sum();
        let samples: u64 = at_ceiling().map(|side| side.samples).sum();
        let at_s = at_ceiling().map(|s| s.first_frame).min()? as f64 / sample_rate_hz;
        if ceiling >= FULL_SCALE_LINEAR {
            return Some(clipped(runs, samples, ceiling, at_s));
        }
        (runs >= FEWEST_FLAT_TOPS).then(|| flat(runs, ceiling, at_s))
    }
}

fn clipped(runs: u64, samples: u64, ceiling: f64, at_s: f64) -> HealthNote {
    let text = format!(
        "{runs} clipped runs at full scale ({samples} samples), the first at {at_s:.2} s; turn the track down and export again, unless it is driven on purpose"
    );
    HealthNote::new(HealthCode::ClippedRuns, HealthGrade::Mend, text)
        .at(at_s)
        .with_value(dbfs(ceiling), "dBFS")
}

fn flat(runs: u64, ceiling: f64, at_s: f64) -> HealthNote {
    let ceiling_dbfs = dbfs(ceiling);
    let text = format!(
        "{runs} flat tops at {ceiling_dbfs:.2} dBFS, the first at {at_s:.2} s; a driven sound may be meant, else look for a clipper or limiter on the track"
    );
    HealthNote::new(HealthCode::FlatTops, HealthGrade::Look, text)
        .at(at_s)
        .with_value(ceiling_dbfs, "dBFS")
}

impl Side {
    fn new(sign: f64) -> Self {
        Side {
            sign,
            extreme: 0.0,
            runs: 0,
            samples: 0,
            first_frame: 0,
            open: 0,
            approach: [0.0; CONTEXT],
        }
    }

    /// Takes a block whose extreme on this side is `extreme`.
    fn add(&mut self, extreme: f64, samples: &[f64], before: &[f64; CONTEXT], frame: u64) {
        if extreme < self.extreme || extreme <= 0.0 || !extreme.is_finite() {
            self.close();
            return;
        }
        if extreme > self.extreme {
            *self = Side {
                extreme,
                ..Side::new(self.sign)
            };
        }
        self.scan(samples, before, frame);
    }

    /// Looks for runs in a block that reaches the extreme.
    fn scan(&mut self, samples: &[f64], before: &[f64; CONTEXT], frame: u64) {
        let level = self.extreme * self.sign;
        for (at, &sample) in samples.iter().enumerate() {
            if sample == level {
                if self.open == 0 {
                    self.approach = context(before, samples, at);
                    if self.runs == 0 {
                        self.first_frame = frame + at as u64;
                    }
                }
                self.open += 1;
            } else if self.open > 0 {
                self.close();
            }
        }
    }

    /// Ends a run and counts it if it is one.
    fn close(&mut self) {
        let length = std::mem::take(&mut self.open);
        if length >= RUN_SAMPLES && self.comes_up_steeply(length) {
            self.runs += 1;
            self.samples += length;
        }
    }

    /// Whether the sound half a run's length before it lies well below.
    fn comes_up_steeply(&self, length: u64) -> bool {
        let back = (length.div_ceil(2) as usize).min(CONTEXT);
        let fall = self.extreme - self.approach[CONTEXT - back] * self.sign;
        fall > LEAST_STEPS * self.step()
    }

    /// The quantiser's step, told from the samples before the run.
    fn step(&self) -> f64 {
        let coarse = |x: &f64| (x / STEP_16).fract() == 0.0;
        let all = self.approach.iter().chain(std::iter::once(&self.extreme));
        if all.into_iter().all(coarse) {
            STEP_16
        } else {
            STEP_24
        }
    }
}

/// The samples before position `at`, from this block and the one before.
fn context(before: &[f64; CONTEXT], samples: &[f64], at: usize) -> [f64; CONTEXT] {
    let mut context = [0.0; CONTEXT];
    let here = at.min(CONTEXT);
    context[..CONTEXT - here].copy_from_slice(&before[here..]);
    context[CONTEXT - here..].copy_from_slice(&samples[at - here..at]);
    context
}
