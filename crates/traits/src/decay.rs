//! How a sound dies away, from all its gaps.

use crate::gap::{Gap, GapDecay, POINT_STEPS};
use crate::hits::{Rise, Step};
use crate::median::median;
use crate::traits::Decay;

/// Gaps kept at most; where there are more, every second is let go.
const MOST_GAPS: usize = 256;
/// Fewest gaps, and the part of all long enough gaps that must tell something.
const FEWEST_GAPS: usize = 4;
const LEAST_PART: f64 = 0.3;
/// Gaps that differ by more (median deviation against the median) tell nothing.
const MOST_SPREAD: f64 = 0.3;
/// A gap is long enough to count from this many points on: 0.16 s.
const LONG_POINTS: usize = 15;

/// Follows gap after gap.
#[derive(Clone, Debug)]
pub(crate) struct Decays {
    point_s: f64,
    gap: Option<Gap>,
    /// Steps of the point that is not full yet.
    open: Vec<Step>,
    kept: Vec<GapDecay>,
    every: usize,
    read: usize,
    long: usize,
}

impl Decays {
    pub(crate) fn new(step_s: f64) -> Self {
        Self {
            point_s: step_s * POINT_STEPS as f64,
            gap: None,
            open: Vec::with_capacity(POINT_STEPS),
            kept: Vec::new(),
            every: 1,
            read: 0,
            long: 0,
        }
    }

    pub(crate) fn next(&mut self, step: &Step, rise: Rise) {
        if rise != Rise::None {
            self.close();
        }
        if rise == Rise::Hit {
            self.gap = Some(Gap::default());
        }
        let Some(gap) = &mut self.gap else { return };
        self.open.push(*step);
        if self.open.len() == POINT_STEPS {
            let mean =
                |of: fn(&Step) -> f64| self.open.iter().map(of).sum::<f64>() / POINT_STEPS as f64;
            gap.add(mean(|s| s.above), mean(|s| s.below), mean(|s| s.whole));
            self.open.clear();
            if gap.is_full() {
                self.close();
            }
        }
    }

    /// Ends the gap.
    pub(crate) fn close(&mut self) {
        self.open.clear();
        let Some(gap) = self.gap.take() else { return };
        self.long += usize::from(gap.len() >= LONG_POINTS);
        let Some(decay) = gap.read(self.point_s) else {
            return;
        };
        if decay.is_held() {
            return;
        }
        if self.read.is_multiple_of(self.every) {
            self.kept.push(decay);
        }
        self.read += 1;
        if self.kept.len() == MOST_GAPS {
            let mut place = 0;
            self.kept.retain(|_| {
                place += 1;
                place % 2 == 1
            });
            self.every *= 2;
        }
    }

    pub(crate) fn finish(mut self) -> Option<Decay> {
        self.close();
        let enough = self.read >= FEWEST_GAPS && self.read as f64 >= LEAST_PART * self.long as f64;
        if !enough {
            return None;
        }
        let of = |value: fn(&GapDecay) -> f64| median(self.kept.iter().map(value).collect());
        let seconds = of(|gap| gap.seconds)?;
        let away = |gap: &GapDecay| (gap.seconds / seconds - 1.0).abs();
        let spread = median(self.kept.iter().map(away).collect())?;
        // Unlike sounds, or chance: nothing to go by.
        if spread > MOST_SPREAD {
            return None;
        }
        let some = |value: fn(&GapDecay) -> Option<f64>| {
            let found: Vec<f64> = self.kept.iter().filter_map(value).collect();
            let most = 2 * found.len() > self.kept.len();
            most.then(|| median(found)).flatten()
        };
        Some(Decay {
            seconds,
            below_120_s: some(|gap| gap.below_s),
            level_lu: of(|gap| gap.level_lu)?,
            drop_db: of(|gap| gap.drop_db)?,
            low_part_db: some(|gap| gap.low_part_db),
            gaps: self.read,
            spread,
        })
    }
}
