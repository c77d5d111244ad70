//! Loops compiled twice: for every x86-64, and for those with AVX2.
//!
//! The two give the same bits: the lanes and the order of every sum are written
//! out in the loop, and nothing is fused. Only the width of the instructions
//! differs.

/// Defines a function whose body is compiled twice; the wider one runs where
/// the processor has AVX2.
macro_rules! wide {
    ($(#[$meta:meta])* $vis:vis fn $name:ident($($arg:ident: $kind:ty),* $(,)?) $(-> $out:ty)? $body:block) => {
        $(#[$meta])*
        $vis fn $name($($arg: $kind),*) $(-> $out)? {
            #[inline(always)]
            fn plain($($arg: $kind),*) $(-> $out)? $body
            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx2")]
                fn wider($($arg: $kind),*) $(-> $out)? {
                    plain($($arg),*)
                }
                if $crate::wide::has_avx2() {
                    // Safe code all through; the call alone must be marked, and
                    // the processor has just been asked.
                    #[allow(unsafe_code)]
                    return unsafe { wider($($arg),*) };
                }
            }
            plain($($arg),*)
        }
    };
}
pub(crate) use wide;

#[cfg(target_arch = "x86_64")]
pub(crate) fn has_avx2() -> bool {
    #[cfg(test)]
    if tests::PLAIN_ONLY.get() {
        return false;
    }
    std::arch::is_x86_feature_detected!("avx2")
}

#[cfg(test)]
mod tests {
    use crate::{Features, Meter, MeterSettings};
    use std::cell::Cell;

    thread_local! {
        pub(super) static PLAIN_ONLY: Cell<bool> = const { Cell::new(false) };
    }

    fn measure(channels: usize) -> Features {
        let settings = MeterSettings {
            sample_rate_hz: 44_100,
            channels,
        };
        let mut seed = 3u64;
        let mut noise = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(1u32 << 31) - 0.5
        };
        let side: Vec<f64> = (0..200_000)
            .map(|n| noise() * f64::from(n % 9_000) / 9_000.0)
            .collect();
        let mut meter = Meter::new(settings).unwrap();
        meter.push(&[&side[..], &side[7..]]);
        meter.finish()
    }

    #[test]
    fn both_widths_give_the_same_bits() {
        for channels in [1, 2] {
            PLAIN_ONLY.set(false);
            let wider = measure(channels);
            PLAIN_ONLY.set(true);
            let plain = measure(channels);
            PLAIN_ONLY.set(false);
            assert!(plain == wider);
        }
    }
}
