//! Pitch, fall, length and click of a kick.

use serde::{Deserialize, Serialize};

use crate::key::note_name;
use crate::kick_average::{AverageKick, average};
use crate::kick_frames::{BEFORE_S, KickFrames, LowHit};

/// The sound of a kick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KickSound {
    /// Pitch at which it comes to rest.
    pub fundamental_hz: f64,
    /// The nearest note on A4 = 440 Hz, as `G1`.
    pub note: String,
    /// Offset from that note in cents.
    pub cents_off: f64,
    /// Pitch of its first wave.
    pub start_hz: f64,
    /// Time until its pitch is within a semitone of the fundamental.
    pub fall_ms: f64,
    /// Time until its lows are 20 dB below their peak.
    pub length_ms: f64,
    /// Highs of the first 10 ms against the lows at their peak.
    pub click_db: f64,
    /// Hits it was read from.
    pub hits: usize,
    /// How likely the fundamental is right, 0 to 1.
    pub sure: f64,
}

/// Hits this near to a beat are on it.
const NEAR_BEAT_S: f64 = 0.035;
/// Shortest half wave that is believed.
const SHORTEST_HALF_S: f64 = 0.0008;
/// What hits have in common ends a kick where it is less than this.
const LEAST_COMMON: f32 = 0.35;
/// A kick is loudest within this time.
const PEAK_S: f64 = 0.15;
/// Lowest pitch of a kick.
const LOWEST_HZ: f64 = 25.0;

/// The sound of the kick of a kick track (`None`), or of a mix at its beats in
/// seconds; `None` where no hit sounds like a kick.
pub fn kick_sound(frames: &KickFrames, beats_s: Option<&[f64]>) -> Option<KickSound> {
    let on_beat = |hit: &&LowHit| {
        let Some(beats) = beats_s else { return true };
        let after = beats.partition_point(|&beat| beat < hit.time_s);
        let near = |index: usize| {
            beats
                .get(index)
                .is_some_and(|beat| (beat - hit.time_s).abs() < NEAR_BEAT_S)
        };
        near(after) || after > 0 && near(after - 1)
    };
    let hits: Vec<&LowHit> = frames.hits.iter().filter(on_beat).collect();
    let kick = average(frames, &hits)?;
    if beats_s.is_some() && kick.hits < 3 {
        return None;
    }
    let waves = HalfWaves::of(&kick, frames.rate_hz)?;
    let fall = Fall::fit(&waves.all)?;
    let midi = 69.0 + 12.0 * (fall.end_hz / 440.0).log2();
    let note = midi.round();
    Some(KickSound {
        fundamental_hz: fall.end_hz,
        note: note_name(note as i32),
        cents_off: 100.0 * (midi - note),
        start_hz: fall.at(waves.all.first().map_or(0.0, |wave| wave.time_s)),
        fall_ms: 1000.0 * fall.semitone_s(),
        length_ms: 1000.0 * waves.length_s,
        click_db: click_db(&kick, frames, waves.peak_power),
        hits: kick.hits,
        sure: sureness(&kick, &fall, beats_s.is_some()),
    })
}

fn sureness(kick: &AverageKick, fall: &Fall, mix: bool) -> f64 {
    let mut sure = 0.97 * ((kick.alike - 0.4) / 0.45).clamp(0.0, 1.0);
    sure *= 1.0 - fall.spread.min(0.5);
    if mix {
        sure *= (0.4 + 0.6 * kick.share) * (kick.hits as f64 / 8.0).min(1.0);
    }
    sure.clamp(0.0, 1.0)
}

/// One half wave of the average.
#[derive(Clone, Copy, Debug)]
struct HalfWave {
    /// Its middle, from the start of the hit.
    time_s: f64,
    hz: f64,
    weight: f64,
}

struct HalfWaves {
    all: Vec<HalfWave>,
    length_s: f64,
    peak_power: f64,
}

impl HalfWaves {
    fn of(kick: &AverageKick, rate_hz: f64) -> Option<Self> {
        let wave = smooth(&kick.wave, (0.004 * rate_hz).round() as usize);
        let reach = (0.012 * rate_hz).round() as usize;
        let envelope = envelope(&wave, reach);
        let near = ((BEFORE_S + PEAK_S) * rate_hz) as usize;
        let peak_at =
            (0..envelope.len().min(near)).max_by(|&a, &b| envelope[a].total_cmp(&envelope[b]))?;
        let peak = envelope[peak_at];
        if peak <= 1e-5 {
            return None;
        }
        let start = (0..=peak_at)
            .rev()
            .find(|&n| envelope[n] < 0.1 * peak)
            .map_or(0, |n| n + reach);
        let end = (peak_at..envelope.len())
            .find(|&n| envelope[n] < 0.1 * peak || kick.common[n] < LEAST_COMMON)
            .unwrap_or(envelope.len());
        let length_s = end.saturating_sub(reach + start) as f64 / rate_hz;
        let mut crossings = Vec::new();
        for n in start..end.min(wave.len()).saturating_sub(1) {
            let (a, b) = (wave[n], wave[n + 1]);
            if (a < 0.0) != (b < 0.0) {
                crossings.push((n as f64 + f64::from(a / (a - b))) / rate_hz);
            }
        }
        let all = crossings
            .windows(2)
            .filter_map(|pair| {
                let half_s = pair[1] - pair[0];
                let (from, to) = (
                    (pair[0] * rate_hz) as usize,
                    (pair[1] * rate_hz) as usize + 1,
                );
                let high = wave
                    .get(from..to)?
                    .iter()
                    .fold(0.0f32, |a, x| a.max(x.abs()));
                let hz = 0.5 / half_s;
                (half_s > SHORTEST_HALF_S && hz > LOWEST_HZ).then(|| HalfWave {
                    time_s: 0.5 * (pair[0] + pair[1]) - start as f64 / rate_hz,
                    hz,
                    weight: f64::from(high / peak * kick.common[from].powi(2)) * half_s,
                })
            })
            .collect();
        Some(Self {
            all,
            length_s,
            peak_power: 0.5 * f64::from(peak * peak),
        })
    }
}

/// Hann-shaped average over `reach` frames each way.
fn smooth(wave: &[f32], reach: usize) -> Vec<f32> {
    let taps: Vec<f32> = (0..=2 * reach)
        .map(|n| {
            let phase = std::f64::consts::PI * (n as f64 + 1.0) / (2 * reach + 2) as f64;
            phase.sin().powi(2) as f32
        })
        .collect();
    let sum: f32 = taps.iter().sum();
    (0..wave.len())
        .map(|at| {
            let values = taps.iter().enumerate().filter_map(|(n, tap)| {
                let index = (at + n).checked_sub(reach)?;
                Some(tap * wave.get(index)?)
            });
            values.sum::<f32>() / sum
        })
        .collect()
}

/// Greatest value within `reach` frames each way.
fn envelope(wave: &[f32], reach: usize) -> Vec<f32> {
    (0..wave.len())
        .map(|at| {
            let from = at.saturating_sub(reach);
            let to = (at + reach + 1).min(wave.len());
            wave[from..to].iter().fold(0.0, |a: f32, x| a.max(x.abs()))
        })
        .collect()
}

/// `end + fall * exp(-t / time)`.
#[derive(Clone, Copy, Debug)]
struct Fall {
    end_hz: f64,
    fall_hz: f64,
    time_s: f64,
    /// Relative spread of the half waves around it.
    spread: f64,
}

impl Fall {
    fn at(&self, time_s: f64) -> f64 {
        self.end_hz + self.fall_hz * (-time_s / self.time_s).exp()
    }

    /// When the pitch is within a semitone of its end.
    fn semitone_s(&self) -> f64 {
        let semitone_hz = self.end_hz * ((1.0f64 / 12.0).exp2() - 1.0);
        if self.fall_hz <= semitone_hz {
            return 0.0;
        }
        self.time_s * (self.fall_hz / semitone_hz).ln()
    }

    /// Least squares over a row of times, with weights that forget outliers.
    fn fit(waves: &[HalfWave]) -> Option<Self> {
        if waves.len() < 3 {
            return None;
        }
        let mut trust = vec![1.0; waves.len()];
        let mut best = None;
        for _ in 0..4 {
            best = (0..26)
                .map(|step| 0.004 * 1.16f64.powi(step))
                .filter_map(|time_s| Self::of_time(waves, &trust, time_s))
                .min_by(|a, b| a.spread.total_cmp(&b.spread));
            let fall = best?;
            for (trust, wave) in trust.iter_mut().zip(waves) {
                let off = (wave.hz / fall.at(wave.time_s)).ln().abs();
                *trust = 1.0 / (1.0 + (off / 0.06).powi(2));
            }
        }
        best
    }

    fn of_time(waves: &[HalfWave], trust: &[f64], time_s: f64) -> Option<Self> {
        let [mut s, mut sx, mut sxx, mut sy, mut sxy] = [0.0; 5];
        for (wave, trust) in waves.iter().zip(trust) {
            let x = (-wave.time_s / time_s).exp();
            // relative errors count: high pitches are told less exactly
            let weight = wave.weight * trust / (wave.hz * wave.hz);
            s += weight;
            sx += weight * x;
            sxx += weight * x * x;
            sy += weight * wave.hz;
            sxy += weight * x * wave.hz;
        }
        let det = s * sxx - sx * sx;
        let (mut end_hz, mut fall_hz) = if det > 1e-9 * s * s {
            ((sxx * sy - sx * sxy) / det, (s * sxy - sx * sy) / det)
        } else {
            (sy / s, 0.0)
        };
        let lowest = waves
            .iter()
            .zip(trust)
            .filter(|(_, trust)| **trust > 0.3)
            .map(|(wave, _)| wave.hz)
            .fold(f64::MAX, f64::min);
        if fall_hz < 0.0 {
            (end_hz, fall_hz) = (sy / s, 0.0);
        } else if end_hz < 0.85 * lowest {
            return None;
        }
        if !(end_hz > LOWEST_HZ && end_hz.is_finite()) {
            return None;
        }
        let fall = Self {
            end_hz,
            fall_hz,
            time_s,
            spread: 0.0,
        };
        let error: f64 = waves
            .iter()
            .zip(trust)
            .map(|(wave, trust)| {
                wave.weight * trust / (wave.hz * wave.hz) * (wave.hz - fall.at(wave.time_s)).powi(2)
            })
            .sum();
        Some(Self {
            spread: (error / s).sqrt() / end_hz,
            ..fall
        })
    }
}

/// Highs of the first 10 ms against the lows.
fn click_db(kick: &AverageKick, frames: &KickFrames, peak_power: f64) -> f64 {
    let at = |time_s: f64| ((BEFORE_S + time_s) / frames.click_hop_s).max(0.0) as usize;
    let slice = |from_s: f64, to_s: f64| {
        let to = at(to_s).min(kick.clicks.len());
        &kick.clicks[at(from_s).min(to)..to]
    };
    let highest = slice(-0.012, 0.01).iter().copied().fold(0.0, f32::max);
    10.0 * (f64::from(highest).max(1e-12) / peak_power.max(1e-12)).log10()
}
