//! A gain that changes over time, by breakpoints.

use crate::INNER_BLOCK_FRAMES;
use crate::gain::factor;

/// A gain at a place; between two places it moves in a straight line of decibels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breakpoint {
    /// Frame from the start of the session.
    pub frame: u64,
    /// Gain there, in decibels.
    pub gain_db: f64,
}

/// Gain over time. Outside its breakpoints it keeps the nearest one's value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GainCurve {
    points: Vec<Breakpoint>,
}

impl GainCurve {
    /// A curve through these points, sorted here; none means 0 dB throughout.
    pub fn new(mut points: Vec<Breakpoint>) -> Self {
        points.sort_by_key(|point| point.frame);
        Self { points }
    }

    /// Its points, in order of time.
    pub fn points(&self) -> &[Breakpoint] {
        &self.points
    }

    /// Whether the gain is 0 dB everywhere.
    pub fn is_unity(&self) -> bool {
        self.points.iter().all(|point| point.gain_db == 0.0)
    }

    /// Gain at a frame, in decibels.
    pub fn gain_db_at(&self, frame: u64) -> f64 {
        let after = self.points.partition_point(|point| point.frame <= frame);
        match (
            after.checked_sub(1).and_then(|i| self.points.get(i)),
            self.points.get(after),
        ) {
            (Some(left), Some(right)) => {
                let whole = (right.frame - left.frame) as f64;
                let part = (frame - left.frame) as f64 / whole;
                left.gain_db + (right.gain_db - left.gain_db) * part
            }
            (Some(only), None) | (None, Some(only)) => only.gain_db,
            (None, None) => 0.0,
        }
    }

    /// Applies the gain to both channels, of which the first sample is at
    /// `start_frame`. Within an inner block the factor moves in a straight line.
    pub fn process(&self, start_frame: u64, left: &mut [f64], right: &mut [f64]) {
        if self.is_unity() {
            return;
        }
        let mut done = 0;
        while done < left.len() {
            let frame = start_frame + done as u64;
            let block = frame - frame % INNER_BLOCK_FRAMES;
            let within = (frame - block) as usize;
            let count = (INNER_BLOCK_FRAMES as usize - within).min(left.len() - done);
            let from = factor(self.gain_db_at(block));
            let to = factor(self.gain_db_at(block + INNER_BLOCK_FRAMES));
            let step = (to - from) / INNER_BLOCK_FRAMES as f64;
            for i in 0..count {
                let gain = from + step * (within + i) as f64;
                left[done + i] *= gain;
                right[done + i] *= gain;
            }
            done += count;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> GainCurve {
        GainCurve::new(vec![
            Breakpoint {
                frame: 1000,
                gain_db: 0.0,
            },
            Breakpoint {
                frame: 2000,
                gain_db: -6.0,
            },
        ])
    }

    #[test]
    fn straight_between_and_held_outside() {
        assert_eq!(curve().gain_db_at(0), 0.0);
        assert_eq!(curve().gain_db_at(1500), -3.0);
        assert_eq!(curve().gain_db_at(9000), -6.0);
        assert_eq!(GainCurve::default().gain_db_at(5), 0.0);
    }

    #[test]
    fn block_size_does_not_matter() {
        let (mut a, mut b) = (vec![1.0; 3000], vec![1.0; 3000]);
        curve().process(0, &mut a, &mut b);
        let (mut c, mut d) = (vec![1.0; 3000], vec![1.0; 3000]);
        let mut at = 0;
        for size in [1usize, 63, 700, 936, 1300] {
            curve().process(at as u64, &mut c[at..at + size], &mut d[at..at + size]);
            at += size;
        }
        assert_eq!((&a, &b), (&c, &d));
        assert!((a[2999] - factor(-6.0)).abs() < 1e-12);
    }
}
