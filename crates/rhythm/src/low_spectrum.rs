//! Semitone spectrum of the lower octaves over time, small enough to keep.

use realfft::RealFftPlanner;
use serde::{Deserialize, Serialize};

/// Semitone bands from 55 Hz, A1 to the next but two.
pub(crate) const NOTES: usize = 40;
const LOWEST_HZ: f64 = 55.0;
const SIZE: usize = 256;
const HOP: usize = 128;

/// Root of the amplitude of semitone bands by frame, in shares of the greatest.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct LowSpectrum {
    /// Frame after frame, [`NOTES`] codes each.
    codes: Vec<u8>,
    /// Time from frame to frame.
    hop_s: f64,
    /// Time of the middle of the first frame.
    first_s: f64,
}

impl LowSpectrum {
    /// Spectrum of `signal`, which has about 1 to 2 kHz.
    pub(crate) fn of(signal: &[f32], rate_hz: f64) -> Self {
        let fft = RealFftPlanner::<f32>::new().plan_fft_forward(SIZE);
        let window: Vec<f32> = (0..SIZE)
            .map(|n| {
                (std::f32::consts::PI * (n as f32 + 0.5) / SIZE as f32)
                    .sin()
                    .powi(2)
            })
            .collect();
        let note_of: Vec<Option<usize>> = (0..=SIZE / 2)
            .map(|bin| {
                let hz = bin as f64 * rate_hz / SIZE as f64;
                let note = (12.0 * (hz / LOWEST_HZ).log2()).round();
                (note >= 0.0 && note < NOTES as f64).then_some(note as usize)
            })
            .collect();
        let (mut input, mut bins) = (fft.make_input_vec(), fft.make_output_vec());
        let mut scratch = fft.make_scratch_vec();
        let mut frames: Vec<f32> = Vec::new();
        for start in (0..signal.len().saturating_sub(SIZE)).step_by(HOP) {
            for ((x, y), w) in input.iter_mut().zip(&signal[start..]).zip(&window) {
                *x = y * w;
            }
            let mut notes = [0.0; NOTES];
            if fft
                .process_with_scratch(&mut input, &mut bins, &mut scratch)
                .is_ok()
            {
                for (bin, note) in bins.iter().zip(&note_of) {
                    if let Some(note) = note {
                        notes[*note] += bin.norm_sqr();
                    }
                }
            }
            frames.extend(notes.map(|power| power.sqrt().sqrt()));
        }
        let highest = frames.iter().copied().fold(f32::MIN_POSITIVE, f32::max);
        let codes = frames
            .iter()
            .map(|root| (255.0 * root / highest).round() as u8)
            .collect();
        Self {
            codes,
            hop_s: HOP as f64 / rate_hz,
            first_s: 0.5 * SIZE as f64 / rate_hz,
        }
    }
}

/// Running sums of a spectrum, for means over any stretch.
#[derive(Clone, Debug)]
pub(crate) struct NoteSums<'a> {
    spectrum: &'a LowSpectrum,
    /// Sums of the frames before each, [`NOTES`] values a frame.
    sums: std::sync::Arc<[u32]>,
}

impl<'a> NoteSums<'a> {
    pub(crate) fn of(spectrum: &'a LowSpectrum) -> Self {
        let mut sums = Vec::with_capacity(spectrum.codes.len() + NOTES);
        let mut running = [0u32; NOTES];
        sums.extend(running);
        for notes in spectrum.codes.chunks_exact(NOTES) {
            running
                .iter_mut()
                .zip(notes)
                .for_each(|(sum, &code)| *sum += u32::from(code));
            sums.extend(running);
        }
        Self {
            spectrum,
            sums: sums.into(),
        }
    }

    /// Sum of the frames between two times, scaled to length 1; zeros for silence.
    pub(crate) fn between(&self, from_s: f64, to_s: f64) -> [f32; NOTES] {
        let LowSpectrum { first_s, hop_s, .. } = *self.spectrum;
        let count = self.sums.len() / NOTES - 1;
        let frame = |time_s: f64| {
            let place = ((time_s - first_s) / hop_s).ceil().max(0.0);
            (place as usize).min(count)
        };
        let (from, to) = (frame(from_s), frame(to_s));
        let (before, after) = (NOTES * from.min(to), NOTES * to);
        let mut sum: [f32; NOTES] =
            std::array::from_fn(|note| (self.sums[after + note] - self.sums[before + note]) as f32);
        let length = sum.iter().map(|x| x * x).sum::<f32>().sqrt();
        if length > 1e-9 {
            sum.iter_mut().for_each(|x| *x /= length);
        }
        sum
    }
}
