//! Stereo samples and what is done to them.

use cupel_process::{BiquadCoefficients, StereoBiquad};

use crate::prove::dice::Dice;

/// Left and right, 1.0 is full scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Sound {
    pub left: Vec<f32>,
    pub right: Vec<f32>,
}

pub(crate) fn db_to_gain(db: f64) -> f64 {
    10f64.powf(db / 20.0)
}

pub(crate) fn gain_to_db(gain: f64) -> f64 {
    20.0 * gain.max(1e-10).log10()
}

impl Sound {
    pub(crate) fn new(left: Vec<f32>, right: Vec<f32>) -> Self {
        Self { left, right }
    }

    pub(crate) fn silent(frames: usize) -> Self {
        Self::new(vec![0.0; frames], vec![0.0; frames])
    }

    pub(crate) fn frames(&self) -> usize {
        self.left.len()
    }

    /// Whether both sides are the same.
    pub(crate) fn is_mono(&self) -> bool {
        self.left == self.right
    }

    /// Gives every frame anew, from its place and both sides.
    pub(crate) fn map(&self, change: impl Fn(usize, f64, f64) -> (f64, f64)) -> Self {
        let both = self.left.iter().zip(&self.right).enumerate();
        let changed = both.map(|(n, (&left, &right))| change(n, f64::from(left), f64::from(right)));
        let (left, right) = changed.map(|(l, r)| (l as f32, r as f32)).unzip();
        Self::new(left, right)
    }

    pub(crate) fn gained(&self, gain_db: f64) -> Self {
        let gain = db_to_gain(gain_db);
        self.map(|_, left, right| (gain * left, gain * right))
    }

    /// Right over left by so much, at the same power (of a sound that is level).
    pub(crate) fn leaned(&self, lean_db: f64) -> Self {
        let ratio = 10f64.powf(lean_db / 10.0);
        let left = (2.0 / (1.0 + ratio)).sqrt();
        let right = (2.0 * ratio / (1.0 + ratio)).sqrt();
        self.map(|_, l, r| (left * l, right * r))
    }

    /// Adds another sound at a gain; as long as the longer one.
    pub(crate) fn plus(&self, other: &Self, gain: f64) -> Self {
        let frames = self.frames().max(other.frames());
        let sum = |own: &[f32], other: &[f32]| -> Vec<f32> {
            let at = |samples: &[f32], n: usize| samples.get(n).copied().map_or(0.0, f64::from);
            (0..frames)
                .map(|n| (at(own, n) + gain * at(other, n)) as f32)
                .collect()
        };
        Self::new(sum(&self.left, &other.left), sum(&self.right, &other.right))
    }

    /// Through filters one after the other.
    pub(crate) fn filtered(&self, sections: &[BiquadCoefficients]) -> Self {
        let mut left: Vec<f64> = self.left.iter().map(|&x| f64::from(x)).collect();
        let mut right: Vec<f64> = self.right.iter().map(|&x| f64::from(x)).collect();
        for section in sections {
            StereoBiquad::new(*section).process(&mut left, &mut right);
        }
        let narrow = |side: Vec<f64>| side.into_iter().map(|x| x as f32).collect();
        Self::new(narrow(left), narrow(right))
    }

    /// Later by some frames; the end is cut off.
    pub(crate) fn later(&self, frames: usize) -> Self {
        let shift = |side: &[f32]| {
            let kept = side.len().saturating_sub(frames);
            let mut all = vec![0.0; side.len() - kept];
            all.extend(&side[..kept]);
            all
        };
        Self::new(shift(&self.left), shift(&self.right))
    }

    /// Middle and side of equal meaning: half the sum, half the difference.
    pub(crate) fn from_mid_side(mid: &[f32], side: &[f32]) -> Self {
        let both = || mid.iter().zip(side);
        Self::new(
            both().map(|(m, s)| m + s).collect(),
            both().map(|(m, s)| m - s).collect(),
        )
    }

    pub(crate) fn mid(&self) -> Vec<f32> {
        let both = self.left.iter().zip(&self.right);
        both.map(|(l, r)| 0.5 * (l + r)).collect()
    }

    pub(crate) fn side(&self) -> Vec<f32> {
        let both = self.left.iter().zip(&self.right);
        both.map(|(l, r)| 0.5 * (l - r)).collect()
    }

    pub(crate) fn peak(&self) -> f64 {
        let all = self.left.iter().chain(&self.right);
        f64::from(all.fold(0.0f32, |peak, x| peak.max(x.abs())))
    }

    /// Mean square of both sides over a stretch.
    pub(crate) fn power_in(&self, frames: std::ops::Range<usize>) -> f64 {
        let frames = frames.start.min(self.frames())..frames.end.min(self.frames());
        0.5 * (mean_square(&self.left[frames.clone()]) + mean_square(&self.right[frames]))
    }

    pub(crate) fn power(&self) -> f64 {
        self.power_in(0..self.frames())
    }

    /// Powers of left and right.
    pub(crate) fn powers(&self) -> (f64, f64) {
        (mean_square(&self.left), mean_square(&self.right))
    }

    /// As loud (mean square) as another.
    pub(crate) fn as_loud_as(&self, power: f64) -> Self {
        let own = self.power();
        match own > 0.0 && power > 0.0 {
            true => self.gained(10.0 * (power / own).log10()),
            false => self.clone(),
        }
    }

    /// How alike left and right are, -1 to 1.
    pub(crate) fn correlation(&self) -> f64 {
        let both = self.left.iter().zip(&self.right);
        let product: f64 = both.map(|(&l, &r)| f64::from(l) * f64::from(r)).sum();
        let (left, right) = self.powers();
        product / self.frames().max(1) as f64 / (left * right).sqrt().max(1e-30)
    }

    /// Stretches with sound: peak within blocks of 50 ms over a limit.
    pub(crate) fn blocks_over(&self, limit: f32, rate_hz: u32) -> Vec<bool> {
        let block = rate_hz as usize / 20;
        let loud = |side: &[f32]| side.iter().any(|x| x.abs() > limit);
        let both = self.left.chunks(block).zip(self.right.chunks(block));
        both.map(|(l, r)| loud(l) || loud(r)).collect()
    }
}

pub(crate) fn mean_square(samples: &[f32]) -> f64 {
    let sum: f64 = samples.iter().map(|&x| f64::from(x) * f64::from(x)).sum();
    sum / samples.len().max(1) as f64
}

/// White noise of mean square 1 on each side, unlike each other.
pub(crate) fn noise(frames: usize, dice: &mut Dice) -> Sound {
    let mut side = || -> Vec<f32> {
        let even = 3f64.sqrt();
        (0..frames)
            .map(|_| dice.between(-even, even) as f32)
            .collect()
    };
    let left = side();
    Sound::new(left, side())
}
