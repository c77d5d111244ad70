//! One band of the vocoder: its frames, how they are turned, and what they add up to.

use std::f64::consts::TAU;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use crate::parts::Part;

/// A tone goes on across an onset where it was at least this strong before it, as a
/// part of the power after it.
const GOES_ON: f64 = 0.5;

/// How far a turn goes back in one frame, in radians, once the hit is over.
const BACK: f64 = 0.2;

/// A middle of a frame: place in the passage, place in the output.
pub(crate) type Middle = (i64, i64);

/// A band of `channels`, part by part.
pub(crate) struct Layer<'a> {
    channels: &'a [Vec<f64>],
    /// One a bin; frames are `2 * (gains.len() - 1)` long.
    gains: &'a [f64],
    window: Vec<f64>,
    forward: Arc<dyn RealToComplex<f64>>,
    inverse: Arc<dyn ComplexToReal<f64>>,
    spectra: Vec<Vec<Complex<f64>>>,
    before: Vec<Vec<Complex<f64>>>,
    power: Vec<f64>,
    power_before: Vec<f64>,
    /// By how much each bin is turned, in radians.
    pub turn: Vec<f64>,
    /// What the turn would be, had no hit begun anew: a tone goes back there.
    free: Vec<f64>,
    /// Power by bin just before the last hit that began anew; 0 where there is no way back.
    tone: Vec<f64>,
    frame: Vec<f64>,
    last: Option<Middle>,
    part: Part,
    /// What the part has added up to, by channel, and the weight of its frames.
    sound: Vec<Vec<f64>>,
    weight: Vec<f64>,
}

impl<'a> Layer<'a> {
    /// A layer that has heard nothing yet.
    pub fn new(channels: &'a [Vec<f64>], gains: &'a [f64]) -> Self {
        let bins = gains.len().max(2);
        let length = 2 * (bins - 1);
        let mut planner = RealFftPlanner::new();
        let silent = vec![vec![Complex::new(0.0, 0.0); bins]; channels.len()];
        Self {
            channels,
            gains,
            window: (0..length)
                .map(|n| 0.5 - 0.5 * libm::cos(TAU * n as f64 / length as f64))
                .collect(),
            forward: planner.plan_fft_forward(length),
            inverse: planner.plan_fft_inverse(length),
            spectra: silent.clone(),
            before: silent,
            power: vec![0.0; bins],
            power_before: vec![0.0; bins],
            turn: vec![0.0; bins],
            free: vec![0.0; bins],
            tone: vec![0.0; bins],
            frame: vec![0.0; length],
            last: None,
            part: Part::default(),
            sound: Vec::new(),
            weight: Vec::new(),
        }
    }

    /// Starts a part with its first frame: what goes on keeps its turn, what begins
    /// passes as it is.
    pub fn begin(&mut self, part: Part) {
        let length = (part.output.1 - part.output.0 + part.fade_in).max(0) as usize;
        self.part = part;
        self.sound = vec![vec![0.0; length]; self.channels.len()];
        self.weight = vec![0.0; length];
        self.analyse(part.input.0);
        if self.last.is_some() {
            self.turn_peaks(Self::begun);
        }
        self.last = Some((part.input.0, part.output.0));
    }

    /// Takes the next frame of the part, turned so that it goes on from the one before.
    pub fn proceed(&mut self, middle: Middle) {
        self.analyse(middle.0);
        let last = self.last.unwrap_or(middle);
        let (input, output) = ((middle.0 - last.0) as f64, (middle.1 - last.1) as f64);
        self.turn_peaks(|layer, peak| layer.proceeded(peak, input, output));
        self.last = Some(middle);
    }

    /// Adds the turned frame to the part.
    pub fn add(&mut self) {
        let Some(middle) = self.last else { return };
        let half = (self.window.len() / 2) as i64;
        let scale = 1.0 / self.window.len() as f64;
        let from = self.part.output.0 - self.part.fade_in;
        let first = middle.1 - half;
        let skip = (from - first).max(0) as usize;
        let start = (first - from).max(0) as usize;
        // What a turned frame spills past the sound of its part is cut off.
        let gates: Vec<f64> = self
            .window
            .iter()
            .enumerate()
            .map(|(n, window)| window * self.part.heard(middle.0 - half + n as i64))
            .collect();
        let factors: Vec<Complex<f64>> = self
            .turn
            .iter()
            .zip(self.gains)
            .map(|(&turn, gain)| {
                let (sine, cosine) = libm::sincos(turn);
                Complex::new(cosine, sine) * (gain * scale)
            })
            .collect();
        for (spectrum, sound) in self.spectra.iter().zip(&mut self.sound) {
            let mut turned: Vec<Complex<f64>> = spectrum
                .iter()
                .zip(&factors)
                .map(|(value, factor)| value * factor)
                .collect();
            // A real signal has no phase at 0 Hz and at Nyquist.
            for (bin, gain) in [
                (0, self.gains.first()),
                (turned.len() - 1, self.gains.last()),
            ] {
                if let (Some(turned), Some(value)) = (turned.get_mut(bin), spectrum.get(bin)) {
                    *turned = Complex::new(value.re * scale * gain.unwrap_or(&1.0), 0.0);
                }
            }
            let _ = self.inverse.process(&mut turned, &mut self.frame);
            let values = rotated(&self.frame).zip(&gates).skip(skip);
            for (out, (value, gate)) in sound.iter_mut().skip(start).zip(values) {
                *out += value * gate;
            }
        }
        for (out, gate) in self
            .weight
            .iter_mut()
            .skip(start)
            .zip(gates.iter().skip(skip))
        {
            *out += gate * gate;
        }
    }

    /// Lays the part into the loop; places past its ends go round.
    pub fn end(&mut self, output: &mut [Vec<f64>]) {
        let from = self.part.output.0 - self.part.fade_in;
        for (channel, sound) in output.iter_mut().zip(&self.sound) {
            let frames = channel.len() as i64;
            for (n, (value, weight)) in sound.iter().zip(&self.weight).enumerate() {
                let place = from + n as i64;
                if let Some(out) = channel.get_mut(place.rem_euclid(frames) as usize) {
                    *out += self.part.sounds(place) * value / weight.max(1e-6);
                }
            }
        }
    }

    /// Spectra of a frame around `place`, of the part's own sound alone.
    fn analyse(&mut self, place: i64) {
        std::mem::swap(&mut self.spectra, &mut self.before);
        std::mem::swap(&mut self.power, &mut self.power_before);
        self.power.fill(0.0);
        let half = (self.window.len() / 2) as i64;
        // The middle of the frame comes first: phases are those at `place`.
        let places = || (place..place + half).chain(place - half..place);
        let gates: Vec<f64> = rotated(&self.window)
            .zip(places())
            .map(|(window, place)| window * self.part.heard(place))
            .collect();
        // A steady tone has the same power in a frame that is cut short.
        let heard = gates.iter().sum::<f64>().powi(2).max(1e-9);
        for (channel, spectrum) in self.channels.iter().zip(&mut self.spectra) {
            for ((value, gate), place) in self.frame.iter_mut().zip(&gates).zip(places()) {
                let index = usize::try_from(place).ok();
                *value = index.and_then(|index| channel.get(index)).unwrap_or(&0.0) * gate;
            }
            // The lengths are the plan's own, so this cannot fail.
            let _ = self.forward.process(&mut self.frame, spectrum);
            for (power, value) in self.power.iter_mut().zip(spectrum.iter()) {
                *power += value.norm_sqr() / heard;
            }
        }
    }

    /// Turns each peak with all bins around it as `turn` says: turn, free turn, and the
    /// bin whose tone it goes back to, where there is one.
    fn turn_peaks(&mut self, turn: impl Fn(&Self, usize) -> Turned) {
        let bins = self.turn.len();
        let (mut turns, mut frees) = (Vec::with_capacity(bins), Vec::with_capacity(bins));
        let mut tones = self.tone.clone();
        let peaks = peaks(&self.power);
        for (index, &peak) in peaks.iter().enumerate() {
            let to = match peaks.get(index + 1) {
                Some(&next) => lowest(&self.power, peak, next),
                None => bins,
            };
            let turned = turn(self, peak);
            let region = turns.len()..to;
            match turned.way {
                Way::Same => {}
                Way::Lost => tones
                    .get_mut(region)
                    .into_iter()
                    .for_each(|tones| tones.fill(0.0)),
                Way::Back => {
                    for (tone, power) in tones
                        .iter_mut()
                        .zip(&self.power_before)
                        .take(to)
                        .skip(region.start)
                    {
                        *tone = *power;
                    }
                }
            }
            turns.resize(to, turned.turn);
            frees.resize(to, turned.free);
        }
        (self.turn, self.free, self.tone) = (turns, frees, tones);
    }

    /// The turn of a peak in the first frame of a part.
    fn begun(&self, peak: usize) -> Turned {
        let at = |values: &[f64]| values.get(peak).copied().unwrap_or(0.0);
        let (turn, tone) = (at(&self.turn), at(&self.tone));
        let free = if tone > 0.0 { at(&self.free) } else { turn };
        if self.goes_on(peak) {
            Turned {
                turn,
                free,
                way: Way::Same,
            }
        } else {
            Turned {
                turn: 0.0,
                free,
                way: Way::Back,
            }
        }
    }

    /// The turn of a peak after `input` frames of the passage became `output`.
    fn proceeded(&self, peak: usize, input: f64, output: f64) -> Turned {
        let at = |values: &[f64]| values.get(peak).copied().unwrap_or(0.0);
        let more = match input == output {
            true => 0.0,
            false => self.frequency(peak, input) * (output - input),
        };
        let (turn, free) = (at(&self.turn) + more, at(&self.free) + more);
        let tone = near(&self.tone, peak);
        if tone <= 0.0 || tone < GOES_ON * at(&self.power) {
            return Turned {
                turn,
                free,
                way: Way::Same,
            };
        }
        // The tone is what sounds again: it goes back to where it would have been.
        let off = (free - turn) - TAU * ((free - turn) / TAU).round();
        if off.abs() <= BACK {
            Turned {
                turn: turn + off,
                free: turn + off,
                way: Way::Lost,
            }
        } else {
            Turned {
                turn: turn + BACK * off.signum(),
                free,
                way: Way::Same,
            }
        }
    }

    /// Whether what sounds at a peak sounded before the onset.
    fn goes_on(&self, peak: usize) -> bool {
        near(&self.power_before, peak) >= GOES_ON * self.power.get(peak).copied().unwrap_or(0.0)
    }

    /// The frequency at a peak in radians a frame, from how its phase moved in all
    /// channels since the last frame, `hop` frames before.
    fn frequency(&self, peak: usize, hop: f64) -> f64 {
        let middle = TAU * peak as f64 / self.window.len() as f64;
        if hop < 1.0 {
            return middle;
        }
        let moved: Complex<f64> = self
            .spectra
            .iter()
            .zip(&self.before)
            .filter_map(|(now, before)| Some(now.get(peak)? * before.get(peak)?.conj()))
            .sum();
        let off = libm::atan2(moved.im, moved.re) - middle * hop;
        middle + (off - TAU * (off / TAU).round()) / hop
    }
}

/// How a peak is turned.
struct Turned {
    turn: f64,
    free: f64,
    way: Way,
}

/// Whether a tone has a way back to its free turn.
enum Way {
    /// As it was.
    Same,
    /// From now on, to the tone of the frame before.
    Back,
    /// It is there.
    Lost,
}

/// The highest of a bin and its neighbours.
fn near(power: &[f64], bin: usize) -> f64 {
    let around = bin.saturating_sub(1)..(bin + 2).min(power.len());
    power
        .get(around)
        .unwrap_or(&[])
        .iter()
        .copied()
        .fold(0.0, f64::max)
}

/// The second half first.
fn rotated(values: &[f64]) -> impl Iterator<Item = &f64> {
    let (first, second) = values.split_at(values.len() / 2);
    second.iter().chain(first)
}

/// Bins higher than two neighbours to each side; at least one.
fn peaks(power: &[f64]) -> Vec<usize> {
    let found: Vec<usize> = power
        .windows(5)
        .enumerate()
        .filter(|(_, near)| match near {
            [a, b, peak, c, d] => peak > a && peak > b && peak >= c && peak >= d,
            _ => false,
        })
        .map(|(index, _)| index + 2)
        .collect();
    if found.is_empty() {
        vec![power.len() / 2]
    } else {
        found
    }
}

/// The lowest bin between two peaks.
fn lowest(power: &[f64], low: usize, high: usize) -> usize {
    let between = power.iter().enumerate().take(high).skip(low + 1);
    between
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(high, |(bin, _)| bin)
}
