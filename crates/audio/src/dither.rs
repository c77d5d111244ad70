//! Triangular dither from a generator of fixed seed.
//!
//! TPDF dither is the sum of two independent uniform values of one step each; with
//! it the error's mean and variance do not depend on the signal (S. P. Lipshitz,
//! R. A. Wannamaker, J. Vanderkooy, "Quantization and Dither: A Theoretical
//! Survey", JAES 40(5), 1992). The generator is splitmix64 (G. L. Steele, D. Lea,
//! C. H. Flood, "Fast Splittable Pseudorandom Number Generators", OOPSLA 2014).

/// A source of triangular dither; equal seeds give equal values on every machine.
#[derive(Clone, Debug)]
pub struct Dither {
    state: u64,
}

impl Dither {
    /// A source that starts at `seed`.
    pub fn new(seed: u64) -> Self {
        Dither { state: seed }
    }

    /// The next value, in steps of the quantiser: triangular between -1 and 1.
    pub fn next_steps(&mut self) -> f64 {
        let bits = self.next_u64();
        uniform((bits >> 32) as u32) + uniform(bits as u32)
    }

    fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }
}

/// 32 random bits as a uniform value between -0.5 and 0.5, both left out.
fn uniform(bits: u32) -> f64 {
    (f64::from(bits) + 0.5) * (1.0 / 4_294_967_296.0) - 0.5
}

/// Rounds to a signed integer of `bits` bits (at most 32), dithered; stops at both
/// ends. The flag says whether it was stopped. NaN becomes 0.
pub(crate) fn quantise(sample: f64, bits: u32, dither: &mut Dither) -> (i32, bool) {
    let scale = f64::from(1u32 << (bits - 1));
    let steps = libm::floor(sample * scale + dither.next_steps() + 0.5);
    let limited = steps.max(-scale).min(scale - 1.0);
    (limited as i32, limited != steps && !sample.is_nan())
}
