//! Second-order filter section, transposed direct form II.

use core::array::from_fn;

/// Coefficients of one section, normalised so that a0 is 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BiquadCoefficients {
    /// Feed-forward coefficients b0, b1, b2.
    pub b: [f64; 3],
    /// Feedback coefficients a1, a2.
    pub a: [f64; 2],
}

impl BiquadCoefficients {
    /// A section that changes nothing.
    pub const IDENTITY: Self = Self {
        b: [1.0, 0.0, 0.0],
        a: [0.0, 0.0],
    };

    /// Gain at a frequency in decibels, for checks and drawings.
    pub fn gain_db(&self, frequency_hz: f64, sample_rate_hz: f64) -> f64 {
        let w = core::f64::consts::TAU * frequency_hz / sample_rate_hz;
        let (c1, s1, c2, s2) = (
            libm::cos(w),
            libm::sin(w),
            libm::cos(2.0 * w),
            libm::sin(2.0 * w),
        );
        let power = |x0: f64, x1: f64, x2: f64| {
            let re = x0 + x1 * c1 + x2 * c2;
            let im = x1 * s1 + x2 * s2;
            re * re + im * im
        };
        let [b0, b1, b2] = self.b;
        let [a1, a2] = self.a;
        10.0 * libm::log10(power(b0, b1, b2) / power(1.0, a1, a2))
    }
}

/// Frames after which the memory of a section is looked at, counted from its
/// start, so that the caller's blocks change nothing.
const LOOK_FRAMES: usize = 1024;

/// Memory below this is forgotten: -2400 dBFS. Left to itself it would end among
/// subnormal numbers, where it can stay for ever and arithmetic is slow.
const FORGOTTEN: f64 = 1e-120;

/// Memory of one section for `N` channels side by side.
///
/// The equations are those of transposed direct form II, with the sums arranged
/// so that a sample waits only for one product and one difference of the sample
/// before: `y[n] = (b0 x[n] + due) - a1 y[n-1]`.
#[derive(Clone, Debug)]
struct State<const N: usize> {
    /// `b1 x[n-1] + later` of the sample before.
    due: [f64; N],
    /// `b2 x[n-1] - a2 y[n-1]`.
    later: [f64; N],
    /// `y[n-1]`.
    last: [f64; N],
}

impl<const N: usize> State<N> {
    const REST: Self = Self {
        due: [0.0; N],
        later: [0.0; N],
        last: [0.0; N],
    };

    /// One frame through the section.
    #[inline(always)]
    fn step(&mut self, coefficients: &BiquadCoefficients, x: [f64; N]) -> [f64; N] {
        let BiquadCoefficients {
            b: [b0, b1, b2],
            a: [a1, a2],
        } = *coefficients;
        let y: [f64; N] = from_fn(|k| (b0 * x[k] + self.due[k]) - a1 * self.last[k]);
        self.due = from_fn(|k| b1 * x[k] + self.later[k]);
        self.later = from_fn(|k| b2 * x[k] - a2 * y[k]);
        self.last = y;
        y
    }

    fn forget_traces(&mut self) {
        for part in [&mut self.due, &mut self.later, &mut self.last] {
            for value in part.iter_mut().filter(|value| value.abs() < FORGOTTEN) {
                *value = 0.0;
            }
        }
    }
}

/// One section with its state, one channel.
#[derive(Clone, Debug)]
pub struct Biquad {
    coefficients: BiquadCoefficients,
    state: State<1>,
    frames_to_look: usize,
}

impl Biquad {
    /// A section at rest.
    pub fn new(coefficients: BiquadCoefficients) -> Self {
        Self {
            coefficients,
            state: State::REST,
            frames_to_look: LOOK_FRAMES,
        }
    }

    /// Back to rest.
    pub fn reset(&mut self) {
        *self = Self::new(self.coefficients);
    }

    /// Filters one channel in place, any length.
    pub fn process(&mut self, mut channel: &mut [f64]) {
        while !channel.is_empty() {
            let count = self.frames_to_look.min(channel.len());
            let (now, rest) = channel.split_at_mut(count);
            // Kept in registers for the length of the loop.
            let mut state = self.state.clone();
            for sample in now {
                [*sample] = state.step(&self.coefficients, [*sample]);
            }
            self.state = state;
            look_after(&mut self.state, &mut self.frames_to_look, count);
            channel = rest;
        }
    }
}

/// Two channels through equal sections, side by side: a recursive filter waits
/// for its own result, so the second channel costs next to nothing.
#[derive(Clone, Debug)]
pub struct StereoBiquad {
    coefficients: BiquadCoefficients,
    state: State<2>,
    frames_to_look: usize,
}

impl StereoBiquad {
    /// A pair of sections at rest.
    pub fn new(coefficients: BiquadCoefficients) -> Self {
        Self {
            coefficients,
            state: State::REST,
            frames_to_look: LOOK_FRAMES,
        }
    }

    /// Back to rest.
    pub fn reset(&mut self) {
        *self = Self::new(self.coefficients);
    }

    /// Filters both channels in place. Both slices have the same length.
    pub fn process(&mut self, left: &mut [f64], right: &mut [f64]) {
        let frames = left.len().min(right.len());
        let mut from = 0;
        while from < frames {
            let count = self.frames_to_look.min(frames - from);
            let (l, r) = (
                &mut left[from..from + count],
                &mut right[from..from + count],
            );
            let mut state = self.state.clone();
            for (l, r) in l.iter_mut().zip(r) {
                [*l, *r] = state.step(&self.coefficients, [*l, *r]);
            }
            self.state = state;
            look_after(&mut self.state, &mut self.frames_to_look, count);
            from += count;
        }
    }
}

/// Counts frames, and forgets traces where it is time to look.
fn look_after<const N: usize>(state: &mut State<N>, frames_to_look: &mut usize, count: usize) {
    *frames_to_look -= count;
    if *frames_to_look == 0 {
        *frames_to_look = LOOK_FRAMES;
        state.forget_traces();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECTION: BiquadCoefficients = BiquadCoefficients {
        b: [0.9, -1.7, 0.85],
        a: [-1.6, 0.7],
    };

    fn noise(len: usize) -> Vec<f64> {
        let mut state = 7u64;
        (0..len)
            .map(|_| {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                (state >> 33) as f64 / (1u64 << 31) as f64 - 0.5
            })
            .collect()
    }

    #[test]
    fn pair_equals_two_singles() {
        let (mut l, mut r) = (noise(500), noise(500));
        r.reverse();
        let (mut l2, mut r2) = (l.clone(), r.clone());
        StereoBiquad::new(SECTION).process(&mut l, &mut r);
        Biquad::new(SECTION).process(&mut l2);
        Biquad::new(SECTION).process(&mut r2);
        assert_eq!((l, r), (l2, r2));
    }

    #[test]
    fn blocks_and_reset() {
        let whole = {
            let mut x = noise(300);
            Biquad::new(SECTION).process(&mut x);
            x
        };
        let mut filter = Biquad::new(SECTION);
        let mut x = noise(300);
        filter.process(&mut x[..17]);
        filter.process(&mut x[17..]);
        assert_eq!(x, whole);
        filter.reset();
        let mut again = noise(300);
        filter.process(&mut again);
        assert_eq!(again, whole);
    }

    #[test]
    fn identity_is_exact() {
        let mut x = noise(100);
        Biquad::new(BiquadCoefficients::IDENTITY).process(&mut x);
        assert_eq!(x, noise(100));
    }

    /// The difference equation itself, y[n] = sum b x - sum a y, in direct form I.
    #[test]
    fn equals_the_difference_equation() {
        let x = noise(2_000);
        let mut y = x.clone();
        Biquad::new(SECTION).process(&mut y);
        let at = |values: &[f64], n: usize, back: usize| {
            n.checked_sub(back).map_or(0.0, |index| values[index])
        };
        let mut expected = Vec::new();
        for n in 0..x.len() {
            let forward: f64 = (0..3).map(|k| SECTION.b[k] * at(&x, n, k)).sum();
            let back: f64 = (1..3).map(|k| SECTION.a[k - 1] * at(&expected, n, k)).sum();
            expected.push(forward - back);
        }
        // Poles at a radius of 0.84: roundings of 1e-16 do not add up to more.
        for (got, want) in y.iter().zip(&expected) {
            assert!((got - want).abs() < 1e-13, "{got} {want}");
        }
    }

    /// A slow filter after a click: silence comes back, and no subnormal numbers.
    #[test]
    fn silence_comes_back() {
        // Low cut at 30 Hz of 48 kHz, Q 1/sqrt 2 (cookbook, "HPF").
        let slow = BiquadCoefficients {
            b: [0.997_227, -1.994_454, 0.997_227],
            a: [-1.994_446, 0.994_462],
        };
        let mut filter = StereoBiquad::new(slow);
        let (mut left, mut right) = (vec![0.0; 480_000], vec![0.0; 480_000]);
        (left[0], right[7]) = (1.0, -1.0);
        for (l, r) in left.chunks_mut(1_000).zip(right.chunks_mut(1_000)) {
            filter.process(l, r);
        }
        assert!(left[1_000].abs() > 1e-6);
        assert!(
            left[470_000..].iter().all(|&x| x == 0.0),
            "{:e}",
            left[470_000]
        );
        let tiny = left
            .iter()
            .chain(&right)
            .filter(|x| x.is_subnormal())
            .count();
        assert_eq!(tiny, 0);
    }

    #[test]
    fn looks_at_fixed_frames_only() {
        let x: Vec<f64> = noise(5_000).iter().map(|x| x * 1e-119).collect();
        let mut whole = x.clone();
        Biquad::new(SECTION).process(&mut whole);
        let mut parts = x;
        let mut filter = Biquad::new(SECTION);
        for part in parts.chunks_mut(333) {
            filter.process(part);
        }
        assert_eq!(parts, whole);
    }
}
