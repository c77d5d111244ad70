//! A constant offset, told from lopsided hits.
//!
//! Means of blocks are weighed by how still the block is: a constant stands in the
//! still ones too, the mean of a lopsided hit only where the hit sounds.

use cupel_units::power_to_db;

/// Hops in a block, 85 ms, and from one to the next.
const BLOCK_HOPS: usize = 64;
const NEXT_HOPS: usize = 32;
/// Stillness beyond this changes no weight: -90 dBFS.
const STILL_POWER: f64 = 1e-9;
/// Quieter blocks are digital silence.
const SILENT_POWER: f64 = 1e-11;
/// Means within so many standard errors are chance (common practice, no source).
const STANDARD_ERRORS: f64 = 4.0;
/// Offsets below -100 dBFS are none.
const LEAST: f64 = 1e-5;
/// Fewest blocks that carry the weight.
const FEWEST_BLOCKS: f64 = 12.0;

/// Sums over the blocks of one channel.
#[derive(Clone, Debug)]
pub(crate) struct Offset {
    frames: f64,
    window: Vec<f64>,
    /// Sum and energy of the hops of the block.
    hops: Vec<(f64, f64)>,
    weights: f64,
    means: f64,
    squared_weights: f64,
    squared_means: f64,
    mixed: f64,
}

impl Offset {
    /// For hops of `hop` frames.
    pub(crate) fn new(hop: usize) -> Self {
        // A bell, since a low note is no whole number of periods long.
        let turn = std::f64::consts::TAU / BLOCK_HOPS as f64;
        let bell = |n: usize| (1.0 - libm::cos(turn * (n as f64 + 0.5))) / BLOCK_HOPS as f64;
        Self {
            frames: hop as f64,
            window: (0..BLOCK_HOPS).map(bell).collect(),
            hops: Vec::with_capacity(BLOCK_HOPS),
            weights: 0.0,
            means: 0.0,
            squared_weights: 0.0,
            squared_means: 0.0,
            mixed: 0.0,
        }
    }

    /// Takes the sum and energy of the next hop.
    pub(crate) fn add(&mut self, sum: f32, energy: f32) {
        self.hops.push((f64::from(sum), f64::from(energy)));
        if self.hops.len() == BLOCK_HOPS {
            self.close();
            self.hops.drain(..NEXT_HOPS);
        }
    }

    fn close(&mut self) {
        let (mut mean, mut power) = (0.0, 0.0);
        for ((sum, energy), weight) in self.hops.iter().zip(&self.window) {
            mean += weight * sum / self.frames;
            power += weight * energy / self.frames;
        }
        // Digital silence holds no constant, but says nothing of the rest either.
        if power < SILENT_POWER {
            return;
        }
        let moving = (power - mean * mean).max(0.0) + STILL_POWER;
        let weight = STILL_POWER / moving;
        self.weights += weight;
        self.means += weight * mean;
        self.squared_weights += weight * weight;
        self.mixed += weight * weight * mean;
        self.squared_means += weight * weight * mean * mean;
    }

    /// The constant, dBFS; `None` where chance may make it.
    pub(crate) fn level_dbfs(&self) -> Option<f64> {
        // Few still blocks that carry all the weight are few to judge by.
        let blocks = self.weights * self.weights / self.squared_weights;
        if blocks.is_nan() || blocks < FEWEST_BLOCKS {
            return None;
        }
        let mean = self.means / self.weights;
        let scatter =
            self.squared_means - 2.0 * mean * self.mixed + mean * mean * self.squared_weights;
        let error = libm::sqrt(scatter.max(0.0)) / self.weights;
        (mean.abs() > (STANDARD_ERRORS * error).max(LEAST)).then(|| power_to_db(mean * mean))
    }
}
