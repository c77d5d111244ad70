//! What speaks for a run of bars being one section, and of which kind.

use crate::bar_frames::Bars;
use crate::edges::{EDGE_FEATURES, edges};
use crate::profile::{FIGURES, HIGH, LAYERS, LOUDNESS, LOW, PULSE, Profile};
use crate::similarity::{Kernel, Similarity};

/// Longest section, bars.
pub const LONGEST: usize = 64;
/// Features weighed alike for every kind of section.
pub const SHARED: usize = KERNELS.len() + LENGTHS + EDGE_FEATURES;
/// Features weighed for each kind of section.
pub const TYPED: usize = 1 + FIGURES + 3 + 3 + 3 + 2 * STEPS.len() + 1;
const LENGTHS: usize = 6;

const KERNELS: [Kernel; 4] = [
    Kernel::bands(5.0, 0..25),
    Kernel::bands(2.5, 0..25),
    Kernel::bands(5.0, 0..2),
    Kernel::layers(4.0),
];

/// Figures whose steps at the borders count.
const STEPS: [usize; 5] = [LOUDNESS, LOW, HIGH, PULSE, LAYERS];
/// Bars looked at to each side of a border.
const SPAN: usize = 4;

/// Everything the features of a run are read from.
pub(crate) struct Features {
    count: usize,
    scatter: Vec<Similarity>,
    profile: Profile,
    edges: Vec<[f64; EDGE_FEATURES]>,
}

impl Features {
    /// Of the first `count` bars.
    pub fn of(bars: &Bars, count: usize) -> Self {
        Self {
            count,
            scatter: KERNELS
                .iter()
                .map(|kernel| Similarity::of(bars, kernel, count))
                .collect(),
            profile: Profile::of(bars, count),
            edges: edges(bars),
        }
    }

    pub fn count(&self) -> usize {
        self.count
    }

    /// Of the bars `from..to`, whatever kind of section they are:
    ///
    /// - scatter in each kernel;
    /// - length: no multiple of 8, of 4, of 2, just 1, its logarithm, 16 bars;
    /// - the features of the bar line it starts at.
    pub fn shared(&self, from: usize, to: usize) -> [f64; SHARED] {
        let mut row = [0.0; SHARED];
        for (value, kernel) in row.iter_mut().zip(&self.scatter) {
            *value = kernel.scatter(from, to);
        }
        let length = to - from;
        let odd = |of: usize| f64::from(u8::from(to < self.count && !length.is_multiple_of(of)));
        let lengths = [
            odd(8),
            odd(4),
            odd(2),
            f64::from(u8::from(length == 1)),
            (length as f64).log2(),
            length as f64 / 16.0,
        ];
        row[KERNELS.len()..KERNELS.len() + LENGTHS].copy_from_slice(&lengths);
        row[KERNELS.len() + LENGTHS..].copy_from_slice(&self.edges[from]);
        row
    }

    /// Of the bars `from..to`, for each kind of section:
    ///
    /// - 1; the mean of each figure; squares of loudness, low end and layers;
    /// - by how much loudness, low end and high end rise;
    /// - whether it is the first, is the last, where it starts;
    /// - the logarithm of its length;
    /// - steps of loudness, low end, high end, pulse and layers at its start and
    ///   at its end.
    pub fn typed(&self, from: usize, to: usize) -> [f64; TYPED] {
        let mut row = [0.0; TYPED];
        row[0] = 1.0;
        let means = self.profile.means(from, to);
        row[1..=FIGURES].copy_from_slice(&means);
        let steps_in = self.steps(from, from, to);
        let steps_out = self.steps(to, from, to);
        let rest = [
            means[LOUDNESS].powi(2),
            means[LOW].powi(2),
            means[LAYERS].powi(2),
            self.profile.rise(LOUDNESS, from, to),
            self.profile.rise(LOW, from, to),
            self.profile.rise(HIGH, from, to),
            f64::from(u8::from(from == 0)),
            f64::from(u8::from(to == self.count)),
            from as f64 / self.count as f64,
            ((to - from) as f64).log2(),
        ];
        let (head, tail) = row[1 + FIGURES..].split_at_mut(rest.len());
        head.copy_from_slice(&rest);
        tail[..STEPS.len()].copy_from_slice(&steps_in);
        tail[STEPS.len()..].copy_from_slice(&steps_out);
        row
    }

    /// How the figures step at a border of the bars `from..to`.
    fn steps(&self, border: usize, from: usize, to: usize) -> [f64; STEPS.len()] {
        if border == 0 || border == self.count {
            return [0.0; STEPS.len()];
        }
        let mut before = border.saturating_sub(SPAN);
        let mut after = (border + SPAN).min(self.count);
        if border == to {
            before = before.max(from);
        } else {
            after = after.min(to);
        }
        let (a, b) = (
            self.profile.means(before, border),
            self.profile.means(border, after),
        );
        STEPS.map(|figure| b[figure] - a[figure])
    }
}
