//! Where hits start, and how far they stand out.

use cupel_units::power_to_db;

use crate::median::Histogram;

/// Hops in a step: 5.3 ms.
pub(crate) const STEP_HOPS: usize = 4;
/// Steps a rise is held against: 32 ms.
const HELD_STEPS: usize = 6;
/// Rise of power that ends a gap, and that starts a hit.
const ENDS: f64 = 4.0;
const HITS: f64 = 6.3;
/// Against the loudest of late.
const ENDS_ABOVE: f64 = 1e-5;
const HITS_ABOVE: f64 = 0.01;
/// Nothing below this is looked at: -100 dBFS.
const LEAST: f64 = 1e-10;
/// What was loudest is forgotten by half in this time.
const FORGET_S: f64 = 6.0;
/// Steps after a rise in which the same attack may go on.
const ATTACK_STEPS: u32 = 8;
/// Level that a hit stands out of is read over this time.
const CREST_S: f64 = 0.2;
/// The peak of a hit lies within this.
const PEAK_S: f64 = 0.05;
/// Fewest hits.
const FEWEST_HITS: u32 = 4;

/// What begins with a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rise {
    None,
    /// Something, too weak for a hit.
    Some,
    Hit,
}

/// A step of 5.3 ms.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Step {
    /// Mean square above 250 Hz.
    pub(crate) above: f64,
    /// Mean square below 120 Hz.
    pub(crate) below: f64,
    /// Mean square of all.
    pub(crate) whole: f64,
    /// Mean square of each channel.
    pub(crate) powers: [f64; 2],
    /// Largest sample of each channel.
    pub(crate) peaks: [f64; 2],
}

/// Finds hits step by step.
#[derive(Clone, Debug)]
pub(crate) struct HitFinder {
    held: [f64; HELD_STEPS],
    place: usize,
    loudest: f64,
    forget: f64,
    since: u32,
}

impl HitFinder {
    pub(crate) fn new(step_s: f64) -> Self {
        Self {
            held: [0.0; HELD_STEPS],
            place: 0,
            loudest: 0.0,
            forget: libm::pow(0.5, step_s / FORGET_S),
            since: ATTACK_STEPS,
        }
    }

    pub(crate) fn next(&mut self, above: f64) -> Rise {
        let held = self.held.iter().copied().fold(LEAST, f64::max);
        self.held[self.place] = above;
        self.place = (self.place + 1) % HELD_STEPS;
        self.loudest = (self.loudest * self.forget).max(above);
        self.since = self.since.saturating_add(1);
        let rises = above > ENDS * held && above > ENDS_ABOVE * self.loudest;
        if !rises || self.since < ATTACK_STEPS {
            return Rise::None;
        }
        self.since = 0;
        if above > HITS * held && above > HITS_ABOVE * self.loudest {
            Rise::Hit
        } else {
            Rise::Some
        }
    }
}

/// A hit whose level is still being read.
#[derive(Clone, Copy, Debug)]
struct Open {
    steps: usize,
    energies: [f64; 2],
    peaks: [f64; 2],
}

/// Crest of all hits.
#[derive(Clone, Debug)]
pub(crate) struct HitCrest {
    level_steps: usize,
    peak_steps: usize,
    open: Vec<Open>,
    found_db: Histogram,
}

impl HitCrest {
    pub(crate) fn new(step_s: f64) -> Self {
        Self {
            level_steps: libm::round(CREST_S / step_s) as usize,
            peak_steps: libm::round(PEAK_S / step_s) as usize,
            open: Vec::new(),
            found_db: Histogram::new(0.1, 600),
        }
    }

    pub(crate) fn next(&mut self, step: &Step, hit: bool) {
        if hit {
            self.open.push(Open {
                steps: 0,
                energies: [0.0; 2],
                peaks: [0.0; 2],
            });
        }
        for open in &mut self.open {
            for side in 0..2 {
                open.energies[side] += step.powers[side];
                if open.steps < self.peak_steps {
                    open.peaks[side] = open.peaks[side].max(step.peaks[side]);
                }
            }
            open.steps += 1;
        }
        // Hits start in order, so they end in order.
        while self
            .open
            .first()
            .is_some_and(|open| open.steps >= self.level_steps)
        {
            let open = self.open.remove(0);
            let side = usize::from(open.energies[1] > open.energies[0]);
            let power = open.energies[side] / self.level_steps as f64;
            if power > 0.0 {
                let peak = open.peaks[side];
                self.found_db.add(power_to_db(peak * peak / power).max(0.0));
            }
        }
    }

    pub(crate) fn median_db(&self) -> Option<f64> {
        let enough = self.found_db.count() >= FEWEST_HITS;
        enough.then(|| self.found_db.median()).flatten()
    }
}
