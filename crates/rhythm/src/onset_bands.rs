//! Power in four bands every 1 to 2 ms: a chain of half-rate steps, each with
//! the octave it drops.
//!
//! The low-pass is `[1 3 3 1] / 8`, the high-pass `[-1 2 -1] / 4`. Both leak;
//! for rises of power by several dB that does no harm, and the chain costs a
//! few operations a frame.

/// Bands of an onset curve: below 120 Hz, 375-1500 Hz, 1.5-6 kHz, above 6 kHz
/// (at 48 kHz; the edges above the first scale by less than an octave at other
/// rates).
pub(crate) const BANDS: usize = 4;

/// Frames worked on at a time; a multiple of every fine hop.
const CHUNK: usize = 4096;
/// Sums kept side by side.
const LANES: usize = 4;
/// Rate of the slowest signal of the chain lies in this and its double.
const SLOWEST_RATE_HZ: f64 = 875.0;
/// Faster signals are halved before anything is measured.
const FASTEST_RATE_HZ: f64 = 56_000.0;
/// Upper edge of the low band.
const LOW_EDGE_HZ: f64 = 120.0;

/// One halving: what comes in, with three frames of history.
#[derive(Clone, Debug)]
struct Level {
    input: Vec<f32>,
    band: Option<usize>,
}

/// Streaming band powers of one mixed channel.
#[derive(Clone, Debug)]
pub(crate) struct OnsetBands {
    levels: Vec<Level>,
    low: [Biquad; 2],
    slow_last: [f32; 2],
    slow_rate_hz: f64,
    pending: Vec<f32>,
    /// Frames of the first level in a fine hop.
    fine_hop: usize,
    slow: Vec<f32>,
    /// Mean square by band and fine hop.
    pub(crate) powers: [Vec<f32>; BANDS],
    /// The slowest signal, for harmony.
    pub(crate) slow_signal: Vec<f32>,
}

impl OnsetBands {
    pub(crate) fn new(sample_rate_hz: f64) -> Self {
        let mut levels = Vec::new();
        let mut rate_hz = sample_rate_hz;
        while rate_hz >= 2.0 * SLOWEST_RATE_HZ {
            let band = (rate_hz <= FASTEST_RATE_HZ).then(|| band_of(0.375 * rate_hz));
            levels.push(Level {
                input: vec![0.0; 3],
                band,
            });
            rate_hz *= 0.5;
        }
        Self {
            fine_hop: 2 << levels.len(),
            levels,
            low: [
                Biquad::low_pass(LOW_EDGE_HZ, 0.54, rate_hz),
                Biquad::low_pass(LOW_EDGE_HZ, 1.31, rate_hz),
            ],
            slow_last: [0.0; 2],
            slow_rate_hz: rate_hz,
            pending: Vec::with_capacity(CHUNK),
            slow: Vec::new(),
            powers: Default::default(),
            slow_signal: Vec::new(),
        }
    }

    /// Frames at the file's rate in a fine hop.
    pub(crate) fn fine_hop(&self) -> usize {
        self.fine_hop
    }

    /// Lower and upper edge of every band in Hz.
    pub(crate) fn edges_hz(&self) -> [(f32, f32); BANDS] {
        let mut edges = [(0.0, 0.0); BANDS];
        let mut rate_hz = self.slow_rate_hz as f32;
        edges[0].1 = LOW_EDGE_HZ as f32;
        edges[1] = (0.25 * rate_hz, 0.5 * rate_hz);
        for level in self.levels.iter().rev() {
            rate_hz *= 2.0;
            if let Some(band) = level.band {
                if edges[band].1 == 0.0 {
                    edges[band].0 = 0.25 * rate_hz;
                }
                edges[band].1 = 0.5 * rate_hz;
            }
        }
        edges
    }

    /// Rate of [`Self::slow_signal`].
    pub(crate) fn slow_rate_hz(&self) -> f64 {
        self.slow_rate_hz
    }

    /// Adds frames mixed from `left` and `right` with unequal weights, so that
    /// no sound cancels itself.
    pub(crate) fn push(&mut self, left: &[f64], right: &[f64]) {
        let (mut left, mut right) = (left, right);
        while !left.is_empty() {
            let take = (CHUNK - self.pending.len()).min(left.len());
            let (now_left, later_left) = left.split_at(take);
            let (now_right, later_right) = right.split_at(take);
            self.pending.extend(
                now_left
                    .iter()
                    .zip(now_right)
                    .map(|(l, r)| (0.6 * l + 0.4 * r) as f32),
            );
            (left, right) = (later_left, later_right);
            if self.pending.len() == CHUNK {
                self.work();
            }
        }
    }

    /// Works on what is left, filled up with silence to a whole fine hop.
    pub(crate) fn finish(&mut self) {
        let whole = self.pending.len().div_ceil(self.fine_hop) * self.fine_hop;
        self.pending.resize(whole, 0.0);
        if whole > 0 {
            self.work();
        }
    }

    fn work(&mut self) {
        let hops = self.pending.len() / self.fine_hop;
        let first = self.powers[0].len();
        for powers in &mut self.powers {
            powers.resize(first + hops, 0.0);
        }
        let mut signal = std::mem::take(&mut self.pending);
        // An "or" needs no order, so many samples are looked at at a time.
        if signal.iter().fold(false, |odd, x| odd | !x.is_finite()) {
            signal
                .iter_mut()
                .filter(|x| !x.is_finite())
                .for_each(|x| *x = 0.0);
        }
        for level in &mut self.levels {
            level.input.extend_from_slice(&signal);
            let half = signal.len() / 2;
            if let Some(band) = level.band {
                let each = half / hops;
                for (hop, power) in self.powers[band][first..].iter_mut().enumerate() {
                    *power += detail_power(&level.input[2 * hop * each..], each);
                }
            }
            halve(&level.input, half, &mut self.slow);
            std::mem::swap(&mut signal, &mut self.slow);
            let kept = level.input.len() - 3;
            level.input.copy_within(kept.., 0);
            level.input.truncate(3);
        }
        self.slowest(&signal, first);
        self.slow_signal.extend_from_slice(&signal);
        signal.clear();
        self.pending = signal;
    }

    fn slowest(&mut self, signal: &[f32], first: usize) {
        for (hop, pair) in signal.chunks(2).enumerate() {
            let (mut low_power, mut mid_power) = (0.0, 0.0);
            for &x in pair {
                let detail = 0.25 * (2.0 * self.slow_last[0] - self.slow_last[1] - x);
                self.slow_last = [x, self.slow_last[0]];
                let once = self.low[0].process(f64::from(x));
                let low = self.low[1].process(once) as f32;
                low_power += 0.5 * low * low;
                mid_power += 0.5 * detail * detail;
            }
            self.powers[0][first + hop] += low_power;
            self.powers[1][first + hop] += mid_power;
        }
    }
}

fn band_of(centre_hz: f64) -> usize {
    if centre_hz > 5_500.0 {
        3
    } else if centre_hz > 1_400.0 {
        2
    } else {
        1
    }
}

/// Mean square of the high-passed signal, every second frame.
fn detail_power(input: &[f32], count: usize) -> f32 {
    let mut sums = [0.0f32; LANES];
    let whole = count / LANES * LANES;
    // In lanes, so that several are worked out at a time.
    for from in (0..2 * whole).step_by(2 * LANES) {
        let part = &input[from..=from + 2 * LANES];
        for (lane, sum) in sums.iter_mut().enumerate() {
            let detail = 2.0 * part[2 * lane + 1] - part[2 * lane] - part[2 * lane + 2];
            *sum += detail * detail;
        }
    }
    for (lane, sum) in sums.iter_mut().enumerate().take(count - whole) {
        let at = 2 * (whole + lane);
        let detail = 2.0 * input[at + 1] - input[at] - input[at + 2];
        *sum += detail * detail;
    }
    (sums[0] + sums[1] + sums[2] + sums[3]) / (16.0 * count as f32)
}

fn halve(input: &[f32], half: usize, out: &mut Vec<f32>) {
    out.clear();
    out.extend((0..half).map(|n| {
        let four = &input[2 * n..2 * n + 4];
        0.125 * (four[0] + four[3]) + 0.375 * (four[1] + four[2])
    }));
}

/// Second-order low-pass in transposed direct form II.
#[derive(Clone, Debug)]
struct Biquad {
    gains: [f64; 5],
    state: [f64; 2],
}

impl Biquad {
    /// Source: R. Bristow-Johnson, Audio EQ Cookbook, "LPF".
    fn low_pass(cutoff_hz: f64, q: f64, rate_hz: f64) -> Self {
        let w0 = std::f64::consts::TAU * cutoff_hz / rate_hz;
        let alpha = w0.sin() / (2.0 * q);
        let a0 = 1.0 + alpha;
        let b1 = (1.0 - w0.cos()) / a0;
        Self {
            gains: [
                0.5 * b1,
                b1,
                0.5 * b1,
                -2.0 * w0.cos() / a0,
                (1.0 - alpha) / a0,
            ],
            state: [0.0; 2],
        }
    }

    fn process(&mut self, x: f64) -> f64 {
        let [b0, b1, b2, a1, a2] = self.gains;
        let y = b0 * x + self.state[0];
        self.state[0] = b1 * x - a1 * y + self.state[1];
        self.state[1] = b2 * x - a2 * y + 1e-30;
        y
    }
}
