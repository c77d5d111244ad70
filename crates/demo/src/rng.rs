//! The source of chance: xoshiro256++ seeded by SplitMix64.
//!
//! Source: D. Blackman and S. Vigna, "Scrambled Linear Pseudorandom Number
//! Generators", ACM TOMS 47(4), 2021 (xoshiro256++); G. Steele et al., "Fast
//! Splittable Pseudorandom Number Generators", OOPSLA 2014 (SplitMix64).

/// One stream of numbers. Each part of a song has its own, so that neither
/// threads nor a change in one part move another.
#[derive(Clone, Debug)]
pub(crate) struct Rng {
    state: [u64; 4],
}

impl Rng {
    /// A stream from a seed.
    pub(crate) fn new(seed: u64) -> Self {
        let mut counter = seed;
        let state = std::array::from_fn(|_| split_mix(&mut counter));
        Self { state }
    }

    /// A stream for one purpose under a seed; other labels give other streams.
    pub(crate) fn labelled(seed: u64, label: &str) -> Self {
        // FNV-1a, 64 bits.
        let hash = label.bytes().fold(0xcbf2_9ce4_8422_2325u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        Self::new(seed ^ hash)
    }

    /// The next 64 bits.
    pub(crate) fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let result = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// A number in 0..1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// A number in -1..1; a run of them is white noise.
    pub(crate) fn bipolar(&mut self) -> f64 {
        2.0 * self.unit() - 1.0
    }

    /// A number in `low..high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number in `0..count`; `count` is at least 1.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    /// True with the given probability.
    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// One item of a list that is not empty.
    pub(crate) fn pick<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[self.below(items.len())]
    }

    /// A normal draw of mean 0 and s.d. 1 (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        radius * libm::cos(std::f64::consts::TAU * self.unit())
    }
}

fn split_mix(counter: &mut u64) -> u64 {
    *counter = counter.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *counter;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs of SplitMix64 for the seed 1234567, as printed with the
    /// public C code (value from memory of the widely copied test vector).
    #[test]
    fn split_mix_test_vector() {
        let mut counter = 1_234_567;
        assert_eq!(split_mix(&mut counter), 6_457_827_717_110_365_317);
        assert_eq!(split_mix(&mut counter), 3_203_168_211_198_807_973);
    }

    #[test]
    fn moments_of_the_normal_draw() {
        let mut rng = Rng::new(5);
        let draws: Vec<f64> = (0..20_000).map(|_| rng.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 0.03, "{mean}");
        assert!((variance - 1.0).abs() < 0.05, "{variance}");
    }

    #[test]
    fn labels_part_the_streams() {
        let (mut a, mut b) = (Rng::labelled(1, "kick"), Rng::labelled(1, "clap"));
        assert_ne!(a.bits(), b.bits());
    }
}
