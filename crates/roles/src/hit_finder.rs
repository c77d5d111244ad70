//! Where sounds start: a rise of power, or of its brightness, within 10 ms.

use crate::hop_levels::Level;

/// Hops seen ahead of the one that is judged.
pub(crate) const AHEAD: usize = 12;
/// Hops before and after a start that are held against each other.
const BEFORE: usize = 8;
const AFTER: usize = 4;
/// Rise that makes a start, in nepers of power.
const RISE: f32 = 1.25;
/// Fewest hops from start to start, 40 ms.
const APART: u64 = 15;
/// What counts as silence, below the highest power so far.
const FLOOR: f32 = 1e-5;
/// Power below which nothing counts, -100 dB.
const SILENCE: f32 = 1e-10;

/// Finds starts from hop to hop.
#[derive(Clone, Debug, Default)]
pub(crate) struct HitFinder {
    highest: f32,
    highest_steps: f32,
    /// Rises of the last hops.
    rises: Vec<f32>,
    last: Option<u64>,
}

impl HitFinder {
    /// Judges hop `at` of `levels`, which starts with hop number `first`, and
    /// must reach [`AHEAD`] hops further. Gives the number of the hop where a
    /// sound starts.
    pub fn judge(&mut self, levels: &[Level], at: usize, first: u64) -> Option<u64> {
        let rise = self.rise(levels, at);
        self.rises.push(rise);
        if self.rises.len() > 2 * AFTER + 1 {
            self.rises.remove(0);
        }
        // the hop in the middle of those judged is a start where none is steeper
        let middle = self.rises.len().checked_sub(AFTER + 1)?;
        let candidate = self.rises[middle];
        let hop = (first + at as u64).checked_sub(AFTER as u64)?;
        let steepest = self.rises[..middle].iter().all(|&other| other < candidate)
            && self.rises[middle + 1..]
                .iter()
                .all(|&other| other <= candidate);
        let free = self.last.is_none_or(|last| hop >= last + APART);
        let starts = candidate > RISE && steepest && free;
        if starts {
            self.last = Some(hop);
        }
        starts.then_some(hop)
    }

    /// Whether a power is loud enough to be heard beside the loudest so far.
    pub fn sounds(&self, power: f32) -> bool {
        power > SILENCE && power > self.highest * 1e-4
    }

    fn rise(&mut self, levels: &[Level], at: usize) -> f32 {
        let after = &levels[at..levels.len().min(at + AFTER)];
        let before = &levels[at.saturating_sub(BEFORE)..at];
        let mean = |levels: &[Level], of: fn(&Level) -> f32, over: usize| {
            levels.iter().map(of).sum::<f32>() / over as f32
        };
        let power = mean(after, |l| l.power, AFTER);
        let steps = mean(after, |l| l.steps, AFTER);
        self.highest = self.highest.max(power);
        self.highest_steps = self.highest_steps.max(steps);
        if power < SILENCE || power < 1e-4 * self.highest {
            return 0.0;
        }
        let ratio = |now: f32, then: f32, highest: f32| {
            let floor = FLOOR * highest + f32::MIN_POSITIVE;
            ((now + floor) / (then + floor)).ln()
        };
        let in_power = ratio(power, mean(before, |l| l.power, BEFORE), self.highest);
        // brightness alone counts where it is not a crackle in a dark sound
        let in_steps = ratio(
            steps,
            mean(before, |l| l.steps, BEFORE),
            30.0 * self.highest_steps,
        );
        in_power.max(in_steps)
    }
}
