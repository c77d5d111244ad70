//! The one pass over everything: what the sum of the files leaves of the
//! bounce, in total, over time, by band and by level.

use crate::TrustError;
use crate::feed::{Feed, Placed};
use crate::spectra::{Powers, Spectra};
use nalgebra::Complex;

/// Frames read at once.
const BLOCK_FRAMES: usize = 8192;

/// Blocks in which one gain is fitted: 5 ms.
const GAIN_BLOCKS_A_SECOND: u32 = 200;

/// Levels of the sum are sorted into steps of 1 dB between these.
const LOWEST_LEVEL_DB: i32 = -90;
const LEVELS: usize = 121;

/// Sample values are sorted into this many steps, up to this value.
const VALUE_STEPS: usize = 256;
const LARGEST_VALUE: f64 = 4.0;

/// Everything added up over the pass.
pub(crate) struct Residuals {
    /// Power of the bounce.
    pub bounce: f64,
    /// Power left at the recovered gains.
    pub left: f64,
    /// Power left with every file at unity.
    pub left_raw: f64,
    /// The bounce and what is left, second by second.
    pub by_second: Vec<(f64, f64)>,
    /// Left after one gain for each 5 ms.
    pub left_after_gain: f64,
    /// Left after the best unchanging curve from sample value to sample value.
    pub left_after_curve: f64,
    /// By level of the sum: (sum times bounce, sum times sum).
    pub by_level: Vec<(f64, f64)>,
    /// Spectra of the whole.
    pub powers: Powers,
    /// Largest sample of the sum and of the bounce.
    pub sum_peak: f64,
    pub bounce_peak: f64,
}

/// What the pass works on.
pub(crate) struct Plan<'a> {
    /// The tracks in use, then the bounce.
    pub sources: &'a [Placed<'a>],
    /// Gain of each track, the bounce's polarity included.
    pub gains: &'a [f64],
    /// Gain of each track with its file at unity: the sign of the bounce.
    pub unity: f64,
    /// First and last frame (exclusive) on the common clock.
    pub range: std::ops::Range<u64>,
    pub rate_hz: u32,
    pub tone: Option<Vec<Complex<f64>>>,
}

struct Values {
    sums: Vec<(f64, f64, f64)>,
}

pub(crate) fn run(plan: Plan, progress: &dyn Fn(f64)) -> Result<Residuals, TrustError> {
    let bounce = plan.sources.len() - 1;
    let mut feed = Feed::open(plan.sources, BLOCK_FRAMES)?;
    let mut sum = vec![0.0; 2 * BLOCK_FRAMES];
    let mut raw = vec![0.0; 2 * BLOCK_FRAMES];
    let unity = vec![plan.unity; bounce];
    let mut spectra = Spectra::new(plan.rate_hz, plan.tone.clone());
    let mut residuals = Residuals::new(&spectra.powers);
    let mut blocks = GainBlocks::new(plan.rate_hz);
    let mut values = Values {
        sums: vec![(0.0, 0.0, 0.0); 2 * VALUE_STEPS + 1],
    };
    let mut at = plan.range.start;
    while at < plan.range.end {
        let now = ((plan.range.end - at) as usize).min(BLOCK_FRAMES);
        feed.read(at, now)?;
        feed.mix(plan.gains, &mut sum);
        feed.mix(&unity, &mut raw);
        let column = feed.column(bounce);
        let second = ((at - plan.range.start) / u64::from(plan.rate_hz)) as usize;
        residuals.add_powers(second, column, &sum, &raw);
        let (left, right) = column.split_at(BLOCK_FRAMES);
        let (sum_left, sum_right) = sum.split_at(BLOCK_FRAMES);
        for side in [(left, sum_left), (right, sum_right)] {
            values.take(&side.0[..now], &side.1[..now]);
        }
        let bounce_sides = (&left[..now], &right[..now]);
        let sum_sides = (&sum_left[..now], &sum_right[..now]);
        blocks.take(bounce_sides, sum_sides, &mut residuals);
        spectra.take(bounce_sides, sum_sides);
        at += now as u64;
        progress((at - plan.range.start) as f64 / (plan.range.end - plan.range.start) as f64);
    }
    residuals.left_after_curve = values.left_over();
    residuals.powers = spectra.powers;
    Ok(residuals)
}

impl Residuals {
    fn new(powers: &Powers) -> Self {
        Self {
            bounce: 0.0,
            left: 0.0,
            left_raw: 0.0,
            by_second: Vec::new(),
            left_after_gain: 0.0,
            left_after_curve: 0.0,
            by_level: vec![(0.0, 0.0); LEVELS],
            powers: powers.clone(),
            sum_peak: 0.0,
            bounce_peak: 0.0,
        }
    }

    fn add_powers(&mut self, second: usize, bounce: &[f64], sum: &[f64], raw: &[f64]) {
        let (mut power, mut left, mut left_raw) = (0.0, 0.0, 0.0);
        for ((y, s), u) in bounce.iter().zip(sum).zip(raw) {
            power += y * y;
            left += (y - s) * (y - s);
            left_raw += (y - u) * (y - u);
            self.bounce_peak = self.bounce_peak.max(y.abs());
            self.sum_peak = self.sum_peak.max(s.abs());
        }
        self.bounce += power;
        self.left += left;
        self.left_raw += left_raw;
        if self.by_second.len() <= second {
            self.by_second.resize(second + 1, (0.0, 0.0));
        }
        self.by_second[second].0 += power;
        self.by_second[second].1 += left;
    }
}

/// Products over short blocks, in which a limiter's gain hardly moves.
struct GainBlocks {
    length: usize,
    filled: usize,
    bounce: f64,
    sum: f64,
    product: f64,
}

impl GainBlocks {
    fn new(rate_hz: u32) -> Self {
        Self {
            length: (rate_hz / GAIN_BLOCKS_A_SECOND).max(1) as usize,
            filled: 0,
            bounce: 0.0,
            sum: 0.0,
            product: 0.0,
        }
    }

    fn take(&mut self, bounce: (&[f64], &[f64]), sum: (&[f64], &[f64]), into: &mut Residuals) {
        for index in 0..bounce.0.len() {
            let (y, s) = (bounce.0[index], sum.0[index]);
            let (y2, s2) = (bounce.1[index], sum.1[index]);
            self.bounce += y * y + y2 * y2;
            self.sum += s * s + s2 * s2;
            self.product += y * s + y2 * s2;
            self.filled += 1;
            if self.filled == self.length {
                self.close(into);
            }
        }
    }

    fn close(&mut self, into: &mut Residuals) {
        let explained = if self.sum > 0.0 && self.product > 0.0 {
            self.product * self.product / self.sum
        } else {
            0.0
        };
        into.left_after_gain += (self.bounce - explained).max(0.0);
        if self.sum > 0.0 {
            let level_db = 10.0 * (self.sum / (2 * self.length) as f64).log10();
            let step = (level_db.floor() as i32 - LOWEST_LEVEL_DB).clamp(0, LEVELS as i32 - 1);
            let (product, power) = &mut into.by_level[step as usize];
            *product += self.product;
            *power += self.sum;
        }
        (self.filled, self.bounce, self.sum, self.product) = (0, 0.0, 0.0, 0.0);
    }
}

impl Values {
    fn take(&mut self, bounce: &[f64], sum: &[f64]) {
        let scale = VALUE_STEPS as f64 / LARGEST_VALUE;
        for (y, s) in bounce.iter().zip(sum) {
            let step = (s * scale).clamp(-(VALUE_STEPS as f64), VALUE_STEPS as f64);
            let step = (step + VALUE_STEPS as f64 + 0.5) as usize;
            let left = y - s;
            let (count, total, squares) = &mut self.sums[step.min(2 * VALUE_STEPS)];
            *count += 1.0;
            *total += left;
            *squares += left * left;
        }
    }

    fn left_over(&self) -> f64 {
        self.sums
            .iter()
            .filter(|(count, _, _)| *count > 0.0)
            .map(|(count, total, squares)| (squares - total * total / count).max(0.0))
            .sum()
    }
}
