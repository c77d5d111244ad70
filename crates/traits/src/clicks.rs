//! Steps where a file or region begins or ends.
//!
//! A step is one move from sample to sample that is far larger than all around it and
//! that stays: crackle goes back at once. Steps that come again and again are the
//! sound's own way to start or end, and a step among as much crackle of its height is
//! crackle that happened not to go back.

use cupel_units::amplitude_to_db;

use crate::traits::Click;

/// Nothing below this is looked at: -60 dBFS.
const LEAST_STEP: f32 = 1e-3;
/// Against the largest other step around.
const STANDS_OUT: f32 = 3.0;
/// Samples beside a step that belong to it: filters ring.
const OWN: usize = 3;
/// Samples on either side whose means show whether the step stays.
const STAYS_SAMPLES: usize = 8;
/// Part of the step that stays.
const STAYS: f32 = 0.5;
/// Steps kept while listening.
const MOST_KEPT: usize = 64;
/// From so many alike on, staying or not, they are the sound's own.
const OWN_WAY: usize = 8;
/// Steps told of.
const MOST_TOLD: usize = 12;

/// Samples around a step that it is held against, seconds.
pub(crate) const AROUND_S: f64 = 0.02;

/// Finds steps in one or two channels.
#[derive(Clone, Debug, Default)]
pub(crate) struct Clicks {
    found: Vec<Found>,
    /// Steps that go back at once, the highest of them.
    back: Vec<f32>,
}

#[derive(Clone, Copy, Debug)]
struct Found {
    frame: u64,
    step: f32,
    around: f32,
    file_edge: bool,
}

impl Clicks {
    /// Looks at the step into `line[at]`, `line` reaching `around` samples either way;
    /// `frame` is where `line[at]` stands in the file.
    pub(crate) fn look(&mut self, line: &[f32], at: usize, around: usize, frame: u64) {
        let moves = |n: usize| (line[n] - line[n - 1]).abs();
        let step = moves(at);
        let before = (at - around + 1..at - OWN).map(moves).fold(0.0, f32::max);
        let after = (at + OWN + 1..at + around).map(moves).fold(0.0, f32::max);
        let largest = before.max(after);
        if step < LEAST_STEP || step < STANDS_OUT * largest {
            return;
        }
        // Freed of the slope on both sides, so that a steep wave is no step.
        let mean = |part: &[f32]| part.iter().sum::<f32>() / part.len() as f32;
        let slope = |part: &[f32]| (part[part.len() - 1] - part[0]) / (part.len() - 1) as f32;
        let left = &line[at - OWN - STAYS_SAMPLES..at - OWN];
        let right = &line[at + OWN..at + OWN + STAYS_SAMPLES];
        let apart = (2 * OWN + STAYS_SAMPLES) as f32;
        let jump = mean(right) - mean(left) - 0.5 * apart * (slope(left) + slope(right));
        if jump.abs() >= STAYS * step {
            self.add(frame, step, largest, false);
        } else {
            self.add_back(step);
        }
    }

    /// Keeps a step that goes back, while there are few or it is higher than another.
    fn add_back(&mut self, step: f32) {
        if self.back.len() < MOST_KEPT {
            self.back.push(step);
        } else if let Some(least) = self.back.iter_mut().min_by(|a, b| a.total_cmp(b)) {
            *least = least.max(step);
        }
    }

    /// The step between silence and `edge`, the first sample of a file or its last;
    /// `own` is the largest step of the sound beside it.
    pub(crate) fn look_at_edge(&mut self, edge: f32, own: f32, frame: u64) {
        let step = edge.abs();
        if step >= LEAST_STEP && step >= STANDS_OUT * own {
            self.add(frame, step, own, true);
        }
    }

    fn add(&mut self, frame: u64, step: f32, around: f32, file_edge: bool) {
        // Both channels, or one edge seen twice.
        let mut found = self.found.iter_mut();
        if let Some(same) = found.find(|found| found.frame.abs_diff(frame) < 64) {
            if step > same.step {
                *same = Found {
                    frame,
                    step,
                    around,
                    file_edge: file_edge || same.file_edge,
                };
            }
            return;
        }
        self.found.push(Found {
            frame,
            step,
            around,
            file_edge,
        });
        if self.found.len() > MOST_KEPT {
            let least = (0..self.found.len()).min_by(|&a, &b| {
                self.found[a]
                    .step
                    .total_cmp(&self.found[b].step)
                    .then(b.cmp(&a))
            });
            if let Some(least) = least {
                self.found.remove(least);
            }
        }
    }

    /// Those that are not the sound's own way, in order of time.
    pub(crate) fn finish(&self, sample_rate_hz: f64) -> Vec<Click> {
        let alike = |one: &Found| {
            let near = |step: &f32| *step >= 0.5 * one.step;
            let stay = self.found.iter().map(|other| other.step);
            stay.filter(near).count() + self.back.iter().copied().filter(near).count()
        };
        let mut told: Vec<&Found> = self
            .found
            .iter()
            .filter(|one| alike(one) < OWN_WAY)
            .collect();
        told.sort_by(|a, b| b.step.total_cmp(&a.step).then(a.frame.cmp(&b.frame)));
        told.truncate(MOST_TOLD);
        told.sort_by_key(|found| found.frame);
        let click = |found: &Found| Click {
            at_s: found.frame as f64 / sample_rate_hz,
            step_dbfs: amplitude_to_db(f64::from(found.step)),
            above_db: amplitude_to_db(f64::from(found.step / found.around.max(1e-6))).min(60.0),
            file_edge: found.file_edge,
        };
        told.into_iter().map(click).collect()
    }
}
