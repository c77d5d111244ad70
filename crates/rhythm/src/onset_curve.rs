//! Onsets of a file as they are kept: a byte a value.
//!
//! A fresh curve holds the same codes as a stored one, so both give the same
//! grid bit for bit.

use serde::{Deserialize, Serialize};

use crate::low_spectrum::{LowSpectrum, NOTES, NoteSums};
use crate::onset_bands::BANDS;
use crate::onset_hits::Hit;
use crate::warp::Warp;

/// Steepest rise that counts, in nepers of power.
const STEEPEST: f32 = 3.0;
/// Unit of the times of hits.
const TICK_S: f64 = 1e-5;
/// Codes of a power step by 0.375 dB, from 95 dB below the band's highest.
const CODES_PER_DECADE: f32 = 10.0 / 0.375;

/// Onsets of a whole file, input of [`find_grid`](crate::find_grid): how the
/// power of four bands moves, and when strong hits start. About 0.8 MB for five
/// minutes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OnsetCurve {
    /// Time from one value of the curves to the next.
    pub(crate) hop_s: f64,
    /// Length of the file.
    pub(crate) seconds: f64,
    pub(crate) edges_hz: [(f32, f32); BANDS],
    /// Mean square by band and hop.
    pub(crate) powers: [LogCodes; BANDS],
    /// Rise of the logarithm of power by band and hop, never negative.
    pub(crate) rises: [Vec<u8>; BANDS],
    /// Strong hits in order of time.
    pub(crate) hits: Vec<StoredHit>,
    /// Spectrum of the lower octaves over time.
    pub(crate) harmony: LowSpectrum,
}

impl OnsetCurve {
    /// Length of the file in seconds.
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Time in seconds from one hop to the next, 5 ms or so.
    pub fn hop_s(&self) -> f64 {
        self.hop_s
    }

    /// Number of hops.
    pub fn hops(&self) -> usize {
        self.rises[0].len()
    }

    /// Number of bands.
    pub fn band_count(&self) -> usize {
        BANDS
    }

    /// Lower and upper edge in Hz of a band, `None` beyond the last; at 48 kHz
    /// 0-120, 375-1500, 1500-6000 and 6000-24000. Skirts are gentle: a tone an
    /// octave outside is some 10 dB down.
    pub fn band_edges_hz(&self, band: usize) -> Option<(f64, f64)> {
        let (low, high) = *self.edges_hz.get(band)?;
        Some((f64::from(low), f64::from(high)))
    }

    /// Mean square of a band in a hop, 1.0 = full scale, in steps of 0.375 dB;
    /// 0 outside the file or more than 95 dB below the band's highest.
    pub fn power(&self, band: usize, hop: usize) -> f64 {
        let Some(codes) = self.powers.get(band) else {
            return 0.0;
        };
        codes.at(hop).into()
    }

    /// Rise of a band's power in a hop, in nepers, 0 to 3; 0 outside.
    pub fn rise(&self, band: usize, hop: usize) -> f64 {
        let code = self.rises.get(band).and_then(|codes| codes.get(hop));
        code.map_or(0.0, |&code| rise_of(code).into())
    }

    /// Strong hits in order of time, one for each band a sound starts in.
    pub fn hits(&self) -> impl Iterator<Item = Hit> + '_ {
        let mut ticks = 0u64;
        self.hits.iter().map(move |stored| {
            ticks += u64::from(stored.gap_ticks);
            Hit {
                time_s: ticks as f64 * TICK_S,
                strength: rise_of(stored.rise),
                band: usize::from(stored.band).min(BANDS - 1),
            }
        })
    }

    /// Starts of the strong hits in seconds, in order, to about 1 ms.
    pub fn hit_times_s(&self) -> impl Iterator<Item = f64> + '_ {
        self.hits().map(|hit| hit.time_s)
    }
}

/// A hit as it is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct StoredHit {
    /// Time since the hit before.
    gap_ticks: u32,
    rise: u8,
    band: u8,
}

impl StoredHit {
    /// Hits in order of time.
    pub(crate) fn all(hits: &[Hit]) -> Vec<Self> {
        let mut before = 0;
        hits.iter()
            .map(|hit| {
                let now = (hit.time_s / TICK_S).round() as u64;
                let gap_ticks = u32::try_from(now.saturating_sub(before)).unwrap_or(u32::MAX);
                before += u64::from(gap_ticks);
                Self {
                    gap_ticks,
                    rise: rise_code(hit.strength),
                    band: hit.band as u8,
                }
            })
            .collect()
    }
}

/// Code of a rise in nepers; steeper than [`STEEPEST`] is as steep.
pub(crate) fn rise_code(rise: f32) -> u8 {
    (rise.min(STEEPEST) * (255.0 / STEEPEST)).round() as u8
}

fn rise_of(code: u8) -> f32 {
    f32::from(code) * (STEEPEST / 255.0)
}

/// Powers as logarithms against the highest, a byte each; 0 is silence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct LogCodes {
    highest: f32,
    codes: Vec<u8>,
}

impl LogCodes {
    pub(crate) fn of(powers: &[f32]) -> Self {
        let highest = powers.iter().copied().fold(0.0, f32::max);
        let codes = powers
            .iter()
            .map(|&power| {
                if power <= 0.0 {
                    return 0;
                }
                (255.0 + CODES_PER_DECADE * (power / highest).log10()).round() as u8
            })
            .collect();
        Self { highest, codes }
    }

    fn table(&self) -> [f32; 256] {
        std::array::from_fn(|code| self.decode(code as u8))
    }

    fn decode(&self, code: u8) -> f32 {
        if code == 0 {
            return 0.0;
        }
        self.highest * 10f32.powf((f32::from(code) - 255.0) / CODES_PER_DECADE)
    }

    fn at(&self, index: usize) -> f32 {
        self.codes.get(index).map_or(0.0, |&code| self.decode(code))
    }

    fn decoded(&self) -> Vec<f32> {
        let table = self.table();
        self.codes
            .iter()
            .map(|&code| table[usize::from(code)])
            .collect()
    }
}

/// A curve unpacked for work.
#[derive(Clone, Debug)]
pub(crate) struct Onsets<'a> {
    pub(crate) hop_s: f64,
    pub(crate) seconds: f64,
    pub(crate) rises: [Vec<f32>; BANDS],
    pub(crate) powers: [Vec<f32>; BANDS],
    /// Mean of the powers by band.
    pub(crate) means: [f64; BANDS],
    pub(crate) hits: Vec<Hit>,
    pub(crate) harmony: NoteSums<'a>,
    /// How times of this curve lie in the file, where they were bent.
    pub(crate) warp: Option<Warp>,
}

impl<'a> Onsets<'a> {
    pub(crate) fn of(curve: &'a OnsetCurve) -> Self {
        let rises: [f32; 256] = std::array::from_fn(|code| rise_of(code as u8));
        let powers: [Vec<f32>; BANDS] = std::array::from_fn(|band| curve.powers[band].decoded());
        Self {
            hop_s: curve.hop_s,
            seconds: curve.seconds,
            rises: std::array::from_fn(|band| {
                let codes = curve.rises[band].iter();
                codes.map(|&code| rises[usize::from(code)]).collect()
            }),
            means: std::array::from_fn(|band| {
                let sum: f64 = powers[band].iter().map(|&p| f64::from(p)).sum();
                sum / powers[band].len().max(1) as f64
            }),
            powers,
            hits: curve.hits().collect(),
            harmony: NoteSums::of(&curve.harmony),
            warp: None,
        }
    }

    /// Notes between two times, scaled to length 1; zeros for silence.
    pub(crate) fn notes_between(&self, from_s: f64, to_s: f64) -> [f32; NOTES] {
        match &self.warp {
            Some(warp) => self
                .harmony
                .between(warp.to_file(from_s), warp.to_file(to_s)),
            None => self.harmony.between(from_s, to_s),
        }
    }
}
