//! Lows that sound on, whatever is played.
//!
//! A struck or played low comes and goes with the rest of the sound: it is part of
//! it. What a room, a stand or a low layer brings goes on in the gaps. Where the rest
//! of a track is soft, its lows are laid beside those where it is loud; only where
//! they stay as they are, and never go away, are they steady.

use cupel_measure::BandFrames;

/// The lowest band, up to 100 Hz.
const LOW_BAND: usize = 0;
/// The rest starts with this band, at 300 Hz.
const REST_BANDS: std::ops::Range<usize> = 3..cupel_measure::CRITICAL_BANDS;
/// Frames this far below the loudest hold nothing, as a power.
const NOTHING: f64 = 1e-7;
/// The rest is loud so near to its loudest, dB, for this many frames at least, and soft
/// in its softest quarter; both stand apart by this at least, dB.
const LOUD_DB: f64 = 15.0;
const FEWEST_LOUD: usize = 16;
const QUARTER: f64 = 0.25;
const GAP_DB: f64 = 10.0;
/// Steady lows differ by no more between both, dB.
const SAME_DB: f64 = 3.0;
/// Nor do they go below this under their middle, but for a tenth of the time, dB:
/// filtered noise flutters.
const AWAY_DB: f64 = 12.0;
const AWAY_PART: f64 = 0.1;
/// Fewest frames: about a second and a half.
const FEWEST: usize = 64;

/// Whether a track's lows sound on through the gaps of the rest.
pub(crate) fn are_steady(bands: &BandFrames) -> bool {
    let mut frames: Vec<(f64, f64)> = (0..bands.frames)
        .map(|frame| {
            let rest = REST_BANDS.map(|band| bands.power(frame, band)).sum();
            (rest, bands.power(frame, LOW_BAND))
        })
        .collect();
    let loudest = frames
        .iter()
        .fold(0.0f64, |most, (rest, low)| most.max(rest + low));
    frames.retain(|(rest, low)| rest + low > NOTHING * loudest);
    if frames.len() < FEWEST {
        return false;
    }
    frames.sort_by(|a, b| a.0.total_cmp(&b.0));
    let part = (QUARTER * frames.len() as f64) as usize;
    let highest = frames[frames.len() - 1].0;
    let first_loud = frames.partition_point(|(rest, _)| apart_db(highest, *rest) > LOUD_DB);
    let (soft, loud) = (&frames[..part], &frames[first_loud..]);
    if loud.len() < FEWEST_LOUD {
        return false;
    }
    let middle = |some: &[(f64, f64)]| {
        let mut lows: Vec<f64> = some.iter().map(|(_, low)| *low).collect();
        lows.sort_by(f64::total_cmp);
        lows[lows.len() / 2]
    };
    let rest_db = apart_db(loud[loud.len() / 2].0, soft[part / 2].0);
    let lows_db = apart_db(middle(loud), middle(soft));
    let all = middle(&frames);
    let away = frames
        .iter()
        .filter(|(_, low)| apart_db(all, *low) > AWAY_DB)
        .count();
    rest_db >= GAP_DB
        && lows_db.abs() <= SAME_DB
        && (away as f64) <= AWAY_PART * frames.len() as f64
}

/// One power over another, dB, silence held far below.
fn apart_db(power: f64, other: f64) -> f64 {
    10.0 * (power.max(1e-20) / other.max(1e-20)).log10()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::sound::figures_tests::{hits_of_noise, kicks};
    use cupel_measure::{Meter, MeterSettings};
    use std::f64::consts::TAU;

    const RATE: f64 = 48_000.0;

    fn steady(samples: &[f64]) -> bool {
        let settings = MeterSettings {
            sample_rate_hz: RATE as u32,
            channels: 1,
        };
        let mut meter = Meter::new(settings).unwrap();
        meter.push(&[samples]);
        are_steady(&meter.finish().bands)
    }

    /// Noise about 20 to 50 Hz.
    fn rumble(seconds: f64, height: f64) -> Vec<f64> {
        let mut seed = 7u64;
        let mut state = [0.0; 2];
        (0..(seconds * RATE) as usize)
            .map(|_| {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                let noise = (seed >> 33) as f64 / f64::from(1u32 << 31) - 0.5;
                // a resonance at 35 Hz, half as wide
                let turn = TAU * 35.0 / RATE;
                let kept: f64 = 1.0 - 0.25 * turn;
                let next = 2.0 * kept * turn.cos() * state[0] - kept * kept * state[1] + noise;
                state = [next, state[0]];
                next
            })
            .map(|x| height * 1e-4 * x)
            .collect()
    }

    fn sum(a: &[f64], b: &[f64]) -> Vec<f64> {
        a.iter().zip(b).map(|(a, b)| a + b).collect()
    }

    #[test]
    fn what_goes_on_in_the_gaps_is_steady() {
        let hits = hits_of_noise(12.0, 0.5);
        for height in [0.03, 0.3, 3.0] {
            assert!(steady(&sum(&hits, &rumble(12.0, height))), "{height}");
        }
        // a voice that sings now and then
        let mut seldom = hits_of_noise(12.0, 0.1);
        seldom[(0.8 * RATE) as usize..].fill(0.0);
        assert!(steady(&sum(&seldom, &rumble(12.0, 0.3))));
        assert!(!steady(&hits));
        assert!(!steady(&rumble(12.0, 1.0)), "nothing but lows");
    }

    #[test]
    fn what_is_struck_or_played_is_not() {
        assert!(!steady(&kicks(12.0)));
        // a bass with overtones that plays every other half second
        let bass: Vec<f64> = (0..(12.0 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                let on = (t % 1.0 < 0.5) as u8 as f64;
                let saw = |k: u32| (TAU * 55.0 * f64::from(k) * t).sin() / f64::from(k);
                0.3 * on * (1..30).map(saw).sum::<f64>()
            })
            .collect();
        assert!(!steady(&bass));
        // kicks under hits
        assert!(!steady(&sum(&kicks(12.0), &hits_of_noise(12.0, 0.25))));
    }
}
