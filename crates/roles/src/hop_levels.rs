//! The one pass at full rate: power and brightness every 2.7 ms.

/// Hops a second.
const HOPS_A_SECOND: f64 = 375.0;
const LANES: usize = 8;
/// How both sides are heard as one. Unequal, so that a sound with its sides
/// against each other does not vanish.
const LEFT_PART: f32 = 0.6;

/// Power and brightness of one hop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Level {
    /// Mean square of both sides.
    pub power: f32,
    /// Mean square of the one signal.
    pub mono: f32,
    /// Mean square of its steps from sample to sample.
    pub steps: f32,
}

/// Mean products of both sides over everything heard.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sides {
    pub left: f64,
    pub right: f64,
    pub cross: f64,
}

/// Cuts a stream into hops.
#[derive(Clone, Debug)]
pub(crate) struct HopLevels {
    hop: usize,
    left: Vec<f64>,
    right: Vec<f64>,
    left_narrow: Vec<f32>,
    right_narrow: Vec<f32>,
    last: f32,
    pub sides: Sides,
}

impl HopLevels {
    pub fn new(sample_rate_hz: f64) -> Self {
        Self {
            hop: ((sample_rate_hz / HOPS_A_SECOND).round() as usize).max(1),
            left: Vec::new(),
            right: Vec::new(),
            left_narrow: Vec::new(),
            right_narrow: Vec::new(),
            last: 0.0,
            sides: Sides::default(),
        }
    }

    /// Samples a hop.
    pub fn hop(&self) -> usize {
        self.hop
    }

    /// Takes samples of both sides; appends one signal to `mono` and calls
    /// `each` for every hop that became full.
    pub fn push(
        &mut self,
        left: &[f64],
        right: Option<&[f64]>,
        mut each: impl FnMut(Level, &[f32]),
    ) {
        let mut mono = Vec::with_capacity(self.hop);
        let mut at = 0;
        while at < left.len() {
            let take = (self.hop - self.left.len()).min(left.len() - at);
            let l = &left[at..at + take];
            let r = right.map(|right| &right[at..at + take]);
            at += take;
            if take == self.hop {
                let level = self.level(l, r, &mut mono);
                each(level, &mono);
                continue;
            }
            self.left.extend_from_slice(l);
            self.right.extend_from_slice(r.unwrap_or_default());
            if self.left.len() == self.hop {
                let (l, r) = (
                    std::mem::take(&mut self.left),
                    std::mem::take(&mut self.right),
                );
                let level = self.level(&l, right.map(|_| &r[..]), &mut mono);
                each(level, &mono);
            }
        }
    }

    /// The samples left over, filled up with silence.
    pub fn finish(&mut self, stereo: bool, each: impl FnMut(Level, &[f32])) {
        if self.left.is_empty() {
            return;
        }
        let rest = vec![0.0; self.hop - self.left.len()];
        self.push(&rest, stereo.then_some(&rest[..]), each);
    }

    fn level(&mut self, left: &[f64], right: Option<&[f64]>, mono: &mut Vec<f32>) -> Level {
        mono.clear();
        let sides = match right {
            Some(right) => {
                narrow(left, &mut self.left_narrow);
                narrow(right, &mut self.right_narrow);
                let (left, right) = (&self.left_narrow, &self.right_narrow);
                let both = left.iter().zip(right);
                mono.extend(both.map(|(l, r)| LEFT_PART * l + (1.0 - LEFT_PART) * r));
                Sides {
                    left: dot(left, left).into(),
                    right: dot(right, right).into(),
                    cross: dot(left, right).into(),
                }
            }
            None => {
                narrow(left, mono);
                let power = dot(mono, mono).into();
                Sides {
                    left: power,
                    right: power,
                    cross: power,
                }
            }
        };
        self.sides.left += sides.left;
        self.sides.right += sides.right;
        self.sides.cross += sides.cross;
        let (square, steps) = squares_and_steps(mono, self.last);
        self.last = mono.last().copied().unwrap_or(0.0);
        let count = self.hop as f32;
        Level {
            power: (0.5 * (sides.left + sides.right)) as f32 / count,
            mono: square / count,
            steps: steps / count,
        }
    }
}

fn narrow(samples: &[f64], out: &mut Vec<f32>) {
    out.clear();
    out.extend(samples.iter().map(|&sample| sample as f32));
}

fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0; LANES];
    let (a, b) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
    let rest = a.remainder().iter().zip(b.remainder());
    for (a, b) in a.zip(b) {
        for lane in 0..LANES {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum::<f32>() + rest.map(|(a, b)| a * b).sum::<f32>()
}

fn squares_and_steps(samples: &[f32], before: f32) -> (f32, f32) {
    let Some((&first, _)) = samples.split_first() else {
        return (0.0, 0.0);
    };
    let mut squares = [0.0f32; LANES];
    let mut steps = [0.0f32; LANES];
    let (now, then) = (
        samples[1..].chunks_exact(LANES),
        samples.chunks_exact(LANES),
    );
    let rest = now.remainder();
    for (now, then) in now.zip(then) {
        for lane in 0..LANES {
            let step = now[lane] - then[lane];
            squares[lane] += now[lane] * now[lane];
            steps[lane] += step * step;
        }
    }
    let mut square = squares.iter().sum::<f32>() + first * first;
    let mut step = steps.iter().sum::<f32>() + (first - before) * (first - before);
    let from = samples.len() - rest.len();
    for index in from..samples.len() {
        let change = samples[index] - samples[index - 1];
        square += samples[index] * samples[index];
        step += change * change;
    }
    (square, step)
}
