//! Sessions in memory, and what is done to them.

use std::sync::Arc;

use cupel_trust::{Source, Stream, TrackInput, Trust, TrustError, TrustInput, judge};

/// A stereo recording in memory.
#[derive(Clone, Default)]
pub struct Sound {
    pub left: Arc<Vec<f32>>,
    pub right: Arc<Vec<f32>>,
}

struct Reading {
    left: Arc<Vec<f32>>,
    right: Arc<Vec<f32>>,
    at: usize,
}

impl Source for Sound {
    fn open(&self) -> Result<Box<dyn Stream>, TrustError> {
        Ok(Box::new(Reading {
            left: self.left.clone(),
            right: self.right.clone(),
            at: 0,
        }))
    }

    fn frames(&self) -> u64 {
        self.left.len() as u64
    }
}

impl Stream for Reading {
    fn read(&mut self, left: &mut [f64], right: &mut [f64]) -> Result<usize, TrustError> {
        // Odd portions, so that nothing rests on whole blocks.
        let count = left
            .len()
            .min(self.left.len().saturating_sub(self.at))
            .min(1777);
        for index in 0..count {
            left[index] = f64::from(self.left[self.at + index]);
            right[index] = f64::from(self.right[self.at + index]);
        }
        self.at += count;
        Ok(count)
    }

    fn seek(&mut self, frame: u64) -> Result<(), TrustError> {
        self.at = frame as usize;
        Ok(())
    }
}

impl Sound {
    pub fn new(left: Vec<f32>, right: Vec<f32>) -> Self {
        Self {
            left: Arc::new(left),
            right: Arc::new(right),
        }
    }

    pub fn silence(frames: usize) -> Self {
        Self::new(vec![0.0; frames], vec![0.0; frames])
    }

    pub fn len(&self) -> usize {
        self.left.len()
    }

    pub fn scaled(&self, gain: f32) -> Self {
        self.map(|sample| gain * sample)
    }

    pub fn map(&self, change: impl Fn(f32) -> f32) -> Self {
        Self::new(
            self.left.iter().map(|s| change(*s)).collect(),
            self.right.iter().map(|s| change(*s)).collect(),
        )
    }

    /// Adds `other`, `at` frames in, growing where needed.
    pub fn add(&mut self, other: &Sound, gain: f32, at: usize) {
        let frames = self.len().max(other.len() + at);
        for (side, added) in [
            (&mut self.left, &other.left),
            (&mut self.right, &other.right),
        ] {
            let side = Arc::make_mut(side);
            side.resize(frames, 0.0);
            for (sum, sample) in side[at..].iter_mut().zip(added.iter()) {
                *sum += gain * sample;
            }
        }
    }

    /// The part from `start` on, `frames` long at most.
    pub fn cut(&self, start: usize, frames: usize) -> Self {
        let end = (start + frames).min(self.len());
        Self::new(
            self.left[start..end].to_vec(),
            self.right[start..end].to_vec(),
        )
    }

    pub fn peak(&self) -> f32 {
        let largest = |side: &[f32]| side.iter().fold(0.0f32, |peak, s| peak.max(s.abs()));
        largest(&self.left).max(largest(&self.right))
    }

    /// First and last frame that are not silent.
    pub fn sounding(&self) -> (usize, usize) {
        let loud = |index: &usize| self.left[*index].abs().max(self.right[*index].abs()) > 1e-4;
        let first = (0..self.len()).find(loud).unwrap_or(0);
        let last = (0..self.len()).rev().find(loud).unwrap_or(0);
        (first, last + 1)
    }

    /// Level of windows of 400 ms, ten times a second. Not K-weighted, which the
    /// choice of windows does not need.
    pub fn momentary(&self, rate_hz: u32) -> Vec<f32> {
        let step = rate_hz as usize / 10;
        let powers: Vec<f64> = self
            .left
            .chunks(step)
            .zip(self.right.chunks(step))
            .map(|(left, right)| {
                let sum = |side: &[f32]| side.iter().map(|s| f64::from(s * s)).sum::<f64>();
                (sum(left) + sum(right)) / step as f64
            })
            .collect();
        (0..powers.len())
            .map(|index| {
                let sum: f64 = powers[index.saturating_sub(3)..=index].iter().sum();
                (-0.691 + 10.0 * (sum / 4.0).log10()) as f32
            })
            .collect()
    }
}

/// A track of a session in memory.
#[derive(Clone)]
pub struct Track {
    pub name: String,
    pub sound: Sound,
    pub start_known: bool,
    pub ceiling_dbfs: Option<f64>,
}

impl Track {
    pub fn new(name: &str, sound: Sound) -> Self {
        Self {
            name: name.to_owned(),
            sound,
            start_known: false,
            ceiling_dbfs: None,
        }
    }
}

pub fn sum(tracks: &[Track]) -> Sound {
    mix(tracks, &vec![0.0; tracks.len()])
}

pub fn mix(tracks: &[Track], gains_db: &[f64]) -> Sound {
    let mut mixed = Sound::default();
    for (track, gain_db) in tracks.iter().zip(gains_db) {
        mixed.add(&track.sound, 10f64.powf(gain_db / 20.0) as f32, 0);
    }
    mixed
}

pub fn judged(tracks: &[Track], rough: Option<&Sound>, rate_hz: u32) -> Trust {
    let curves: Vec<Vec<f32>> = tracks.iter().map(|t| t.sound.momentary(rate_hz)).collect();
    let inputs: Vec<TrackInput> = tracks
        .iter()
        .zip(&curves)
        .map(|(track, curve)| {
            let loudest = curve.iter().copied().fold(f32::NEG_INFINITY, f32::max);
            let peak = track.sound.peak();
            TrackInput {
                id: &track.name,
                file: &track.name,
                source: &track.sound,
                mono: false,
                start_known: track.start_known,
                max_momentary_lufs: loudest.is_finite().then_some(f64::from(loudest)),
                momentary_lufs: curve,
                sample_peak_dbfs: (peak > 0.0).then(|| 20.0 * f64::from(peak).log10()),
                ceiling_dbfs: track.ceiling_dbfs,
            }
        })
        .collect();
    let input = TrustInput {
        sample_rate_hz: rate_hz,
        tracks: &inputs,
        rough: rough.map(|sound| sound as &dyn Source),
    };
    judge(&input, &|_| ()).expect("sources in memory do not fail")
}
