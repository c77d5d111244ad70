//! How one hit starts and dies away.

use crate::hop_levels::Level;

/// Hops over which power is smoothed, 11 ms.
const SMOOTH: usize = 4;
/// Hops in which a hit reaches its height, 300 ms.
const RISE: usize = 112;
/// Hops in which bursts are counted, 48 ms.
const BURSTS: usize = 18;

/// The shape of a hit; times in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct HitShape {
    /// Highest power, mean square over 11 ms.
    pub peak: f64,
    /// From the start until half the highest power is reached.
    pub attack_s: f64,
    /// From the highest power until 10, 20 and 40 dB less; as long as the hit
    /// lasted where that is not reached.
    pub decays_s: [f64; 3],
    /// Until the next hit, or 1.5 s.
    pub lasts_s: f64,
    /// Power at the end below the highest, dB, at most 60.
    pub falls_db: f64,
    /// Middle of the energy in time, after the start.
    pub centre_s: f64,
    /// Share of the energy in the first 40 ms.
    pub first_share: f64,
    /// Brightness (octaves over 1 Hz of the RMS frequency) in the first 11 ms, at
    /// 40 ms and at 120 ms; as before where it is over by then.
    pub bright_oct: [f64; 3],
    /// Bursts of brightness within the first 48 ms.
    pub bursts: f64,
    /// Evenness of the fall: how far power in dB strays from a straight line.
    pub stray_db: f64,
}

/// Describes the hit that starts with `levels` and ends where they end.
pub(crate) fn hit_shape(levels: &[Level], hop_s: f64, sample_rate_hz: f64) -> HitShape {
    let smooth: Vec<f64> = levels
        .windows(SMOOTH.min(levels.len()).max(1))
        .map(|hops| hops.iter().map(|l| f64::from(l.power)).sum::<f64>() / hops.len() as f64)
        .collect();
    let rise = &smooth[..smooth.len().min(RISE)];
    let (top, peak) =
        rise.iter().enumerate().fold(
            (0, 0.0),
            |best, (i, &p)| if p > best.1 { (i, p) } else { best },
        );
    if peak <= 0.0 {
        return HitShape::default();
    }
    let rest = &smooth[top..];
    let lasts_s = levels.len() as f64 * hop_s;
    let falls_to = |ratio: f64| {
        let at = rest.iter().rposition(|&p| p > peak * ratio).unwrap_or(0) + 1;
        at as f64 * hop_s
    };
    let energy: f64 = levels.iter().map(|l| f64::from(l.power)).sum();
    let moment: f64 = levels
        .iter()
        .enumerate()
        .map(|(i, l)| i as f64 * f64::from(l.power))
        .sum();
    let first: f64 = levels.iter().take(15).map(|l| f64::from(l.power)).sum();
    let end = &smooth[smooth.len() - smooth.len().min(4)..];
    let last = end.iter().sum::<f64>() / end.len().max(1) as f64;
    HitShape {
        peak,
        attack_s: smooth.iter().position(|&p| p >= 0.5 * peak).unwrap_or(0) as f64 * hop_s,
        decays_s: [falls_to(0.1), falls_to(0.01), falls_to(1e-4)],
        lasts_s,
        falls_db: (-10.0 * (last / peak).max(1e-6).log10()).clamp(-10.0, 60.0),
        centre_s: moment / energy * hop_s,
        first_share: first / energy,
        bright_oct: brightness(levels, sample_rate_hz),
        bursts: bursts(levels),
        stray_db: stray_db(rest, peak),
    }
}

fn brightness(levels: &[Level], sample_rate_hz: f64) -> [f64; 3] {
    let mut bright = [8.0; 3];
    let mut before = 8.0;
    for (at, value) in [0usize, 15, 45].into_iter().zip(&mut bright) {
        if let Some(hops) = levels.get(at..levels.len().min(at + SMOOTH)) {
            let mono: f64 = hops.iter().map(|l| f64::from(l.mono)).sum();
            let steps: f64 = hops.iter().map(|l| f64::from(l.steps)).sum();
            if mono > 0.0 && steps > 0.0 {
                let hz = sample_rate_hz / std::f64::consts::TAU * (steps / mono).sqrt();
                before = hz.max(16.0).log2();
            }
        }
        *value = before;
    }
    bright
}

/// Peaks of brightness with dips of 3 dB between them.
fn bursts(levels: &[Level]) -> f64 {
    let (mut count, mut low, mut high) = (0.0, f32::MAX, 0.0f32);
    let highest = levels
        .iter()
        .take(BURSTS)
        .map(|l| l.steps)
        .fold(0.0, f32::max);
    let mut rising = true;
    for level in levels.iter().take(BURSTS) {
        let now = level.steps;
        if rising {
            high = high.max(now);
            if now < 0.5 * high && high > 0.05 * highest {
                count += 1.0;
                rising = false;
                low = now;
            }
        } else {
            low = low.min(now);
            if now > 2.0 * low {
                rising = true;
                high = now;
            }
        }
    }
    count
}

/// RMS distance in dB of the fall, over at most 300 ms and 40 dB, from its line.
fn stray_db(rest: &[f64], peak: f64) -> f64 {
    let fall: Vec<f64> = rest
        .iter()
        .take(RISE)
        .step_by(SMOOTH)
        .map(|p| 10.0 * (p / peak).max(1e-12).log10())
        .take_while(|&db| db > -40.0)
        .collect();
    if fall.len() < 3 {
        return 0.0;
    }
    let count = fall.len() as f64;
    let middle = (count - 1.0) / 2.0;
    let mean = fall.iter().sum::<f64>() / count;
    let (mut rise, mut spread) = (0.0, 0.0);
    for (i, db) in fall.iter().enumerate() {
        rise += (i as f64 - middle) * (db - mean);
        spread += (i as f64 - middle).powi(2);
    }
    let slope = rise / spread;
    let square: f64 = fall
        .iter()
        .enumerate()
        .map(|(i, db)| (db - mean - slope * (i as f64 - middle)).powi(2))
        .sum();
    (square / count).sqrt()
}
