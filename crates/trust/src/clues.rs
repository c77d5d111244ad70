//! A closer look at the places where most is left, track by track: does what is
//! left follow a track, outlast its hits, or hold what no track has?

use nalgebra::{Complex, DMatrix, DVector};
use realfft::RealFftPlanner;

use crate::TrustError;
use crate::feed::{Feed, Placed};
use crate::nnls::{left_over, non_negative};
use crate::spectra::FRAME;

/// Places looked at, and the length of each.
const PLACES: usize = 6;
const PLACE_S: f64 = 5.0;

/// Short frames, for decays: about 20 ms at 48 kHz.
const SHORT: usize = 1024;

/// Bands of the decays: octaves from this frequency up.
const LOWEST_BAND_HZ: f64 = 88.4;
const BANDS: usize = 7;

/// Decay times (to 1/e of the power) with which a return is imitated.
const DECAYS_S: [f64; 3] = [0.06, 0.18, 0.55];

/// Decay with which the sound of the tracks is drawn out, before something is
/// called absent from all of them.
const DRAWN_OUT_S: f64 = 0.7;

/// What the closer look found.
#[derive(Debug, Clone)]
pub(crate) struct Clues {
    /// For every track, the share of what is left that an unchanging filter on
    /// it would explain.
    pub follows: Vec<f64>,
    /// How well the levels of what is left are made of the tracks' levels and
    /// their decays, 0 to 1.
    pub imitated: f64,
    /// The part of that made by the decays.
    pub tail: f64,
    /// Shares of each track in the decays, and of the whole.
    pub sends: Vec<f64>,
    /// Share of what is left where no track sounds nor has just sounded.
    pub absent: f64,
}

/// Looks at the worst seconds. `sources` are the tracks in use and the bounce;
/// `factors` as for what is left: minus the gains, then the sign.
pub(crate) fn look(
    sources: &[Placed],
    factors: &[f64],
    worst: &[u64],
    rate_hz: u32,
) -> Result<Clues, TrustError> {
    let count = sources.len() - 1;
    let mut feed = Feed::open(sources, FRAME)?;
    let mut coherence = Coherence::new(count);
    let mut levels = Levels::new(count, rate_hz);
    let mut absent = Absent::new(count, rate_hz);
    let mut left = vec![0.0; 2 * FRAME];
    let frames = (PLACE_S * f64::from(rate_hz)) as u64;
    for &start in worst.iter().take(PLACES) {
        levels.jump();
        absent.jump();
        let mut at = start;
        while at + FRAME as u64 <= start + frames {
            feed.read(at, FRAME)?;
            feed.mix(factors, &mut left);
            coherence.take(&feed, &left);
            absent.take(&coherence, factors);
            levels.take(&feed, factors, &left);
            at += FRAME as u64;
        }
    }
    let (imitated, tail, sends) = levels.imitate();
    Ok(Clues {
        follows: coherence.shares(),
        imitated,
        tail,
        sends,
        absent: absent.share(),
    })
}

/// Cross-spectra of what is left with every track.
struct Coherence {
    transform: std::sync::Arc<dyn realfft::RealToComplex<f64>>,
    window: Vec<f64>,
    scratch: Vec<f64>,
    /// Spectra of this frame: per track left and right, then what is left.
    now: Vec<[Vec<Complex<f64>>; 2]>,
    own: Vec<Vec<f64>>,
    cross: Vec<[Vec<Complex<f64>>; 2]>,
    own_sides: Vec<[Vec<f64>; 2]>,
    left: f64,
}

impl Coherence {
    fn new(count: usize) -> Self {
        let bins = FRAME / 2 + 1;
        let zeros = || vec![Complex::default(); bins];
        Self {
            transform: RealFftPlanner::<f64>::new().plan_fft_forward(FRAME),
            window: (0..FRAME)
                .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / FRAME as f64).cos())
                .collect(),
            scratch: vec![0.0; FRAME],
            now: (0..=count).map(|_| [zeros(), zeros()]).collect(),
            own: vec![vec![0.0; bins]; count + 1],
            cross: (0..count).map(|_| [zeros(), zeros()]).collect(),
            own_sides: (0..count)
                .map(|_| [vec![0.0; bins], vec![0.0; bins]])
                .collect(),
            left: 0.0,
        }
    }

    fn take(&mut self, feed: &Feed, left: &[f64]) {
        let count = self.cross.len();
        for index in 0..=count {
            let column = if index < count {
                feed.column(index)
            } else {
                left
            };
            for (side, samples) in [&column[..FRAME], &column[FRAME..]].into_iter().enumerate() {
                for ((out, sample), window) in
                    self.scratch.iter_mut().zip(samples).zip(&self.window)
                {
                    *out = sample * window;
                }
                // Lengths match by construction.
                let _ = self
                    .transform
                    .process(&mut self.scratch, &mut self.now[index][side]);
            }
            for bin in 0..self.own[index].len() {
                self.own[index][bin] =
                    self.now[index][0][bin].norm_sqr() + self.now[index][1][bin].norm_sqr();
            }
        }
        self.left += self.own[count].iter().sum::<f64>();
        for index in 0..count {
            for side in 0..2 {
                for bin in 0..self.own[index].len() {
                    let track = self.now[index][side][bin];
                    self.own_sides[index][side][bin] += track.norm_sqr();
                    self.cross[index][side][bin] += self.now[count][side][bin] * track.conj();
                }
            }
        }
    }

    fn shares(&self) -> Vec<f64> {
        (0..self.cross.len())
            .map(|index| {
                let mut explained = 0.0;
                for side in 0..2 {
                    for (cross, own) in self.cross[index][side]
                        .iter()
                        .zip(&self.own_sides[index][side])
                    {
                        if *own > 0.0 {
                            explained += cross.norm_sqr() / own;
                        }
                    }
                }
                (explained / self.left.max(f64::MIN_POSITIVE)).min(1.0)
            })
            .collect()
    }
}

/// Sound that is in no track, nor was in one a moment ago, at any frequency.
struct Absent {
    drawn_out: Vec<f64>,
    decay: f64,
    absent: f64,
    total: f64,
}

impl Absent {
    fn new(_count: usize, rate_hz: u32) -> Self {
        let decay = (-(FRAME as f64) / (DRAWN_OUT_S * f64::from(rate_hz))).exp();
        Self {
            drawn_out: vec![0.0; FRAME / 2 + 1],
            decay,
            absent: 0.0,
            total: 0.0,
        }
    }

    fn jump(&mut self) {
        self.drawn_out.fill(0.0);
    }

    fn take(&mut self, spectra: &Coherence, factors: &[f64]) {
        let count = spectra.cross.len();
        let bins = self.drawn_out.len();
        let mut direct = vec![0.0; bins];
        for (factor, own) in factors[..count].iter().zip(&spectra.own) {
            let gain = factor * factor;
            for (sum, power) in direct.iter_mut().zip(own) {
                *sum += gain * power;
            }
        }
        for bin in 0..bins {
            // Neighbouring bins leak into one another.
            let near = direct[bin.saturating_sub(2)..(bin + 3).min(bins)]
                .iter()
                .copied()
                .fold(0.0, f64::max);
            self.drawn_out[bin] = (self.drawn_out[bin] * self.decay).max(near);
            let left = spectra.own[count][bin];
            self.total += left;
            if left > self.drawn_out[bin] {
                self.absent += left;
            }
        }
    }

    fn share(&self) -> f64 {
        self.absent / self.total.max(f64::MIN_POSITIVE)
    }
}

/// Levels over time in octaves: every track, its decays, and what is left.
struct Levels {
    transform: std::sync::Arc<dyn realfft::RealToComplex<f64>>,
    window: Vec<f64>,
    edges: Vec<(usize, usize)>,
    decays: Vec<f64>,
    /// Running decays: `[track][band][decay]`.
    running: Vec<f64>,
    count: usize,
    gram: Vec<DMatrix<f64>>,
    products: Vec<DVector<f64>>,
    targets: Vec<f64>,
}

impl Levels {
    fn new(count: usize, rate_hz: u32) -> Self {
        let bin_hz = f64::from(rate_hz) / SHORT as f64;
        let bin = |index: usize| {
            let hz = LOWEST_BAND_HZ * 2f64.powi(index as i32);
            ((hz / bin_hz).round() as usize).clamp(1, SHORT / 2 + 1)
        };
        let edges: Vec<(usize, usize)> = (0..BANDS)
            .map(|index| (bin(index), bin(index + 1)))
            .filter(|(low, high)| low < high)
            .collect();
        let features = count * (1 + DECAYS_S.len());
        let hop_s = SHORT as f64 / f64::from(rate_hz);
        Self {
            transform: RealFftPlanner::<f64>::new().plan_fft_forward(SHORT),
            window: (0..SHORT)
                .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / SHORT as f64).cos())
                .collect(),
            decays: DECAYS_S
                .iter()
                .map(|decay_s| (-hop_s / decay_s).exp())
                .collect(),
            running: vec![0.0; count * edges.len() * DECAYS_S.len()],
            count,
            gram: vec![DMatrix::zeros(features, features); edges.len()],
            products: vec![DVector::zeros(features); edges.len()],
            targets: vec![0.0; edges.len()],
            edges,
        }
    }

    fn jump(&mut self) {
        self.running.fill(0.0);
    }

    fn take(&mut self, feed: &Feed, factors: &[f64], left: &[f64]) {
        for at in (0..FRAME).step_by(SHORT) {
            let target = self.band_powers(left, at);
            let tracks: Vec<Vec<f64>> = (0..self.count)
                .map(|index| {
                    let gain = factors[index] * factors[index];
                    let mut powers = self.band_powers(feed.column(index), at);
                    powers.iter_mut().for_each(|power| *power *= gain);
                    powers
                })
                .collect();
            for (band, power) in target.iter().enumerate() {
                let features = self.features(&tracks, band);
                // Levels are compared as amplitudes, or the loudest hits would
                // decide alone.
                let scaled = features.map(|power| power.sqrt());
                let value = power.sqrt();
                self.gram[band].ger(1.0, &scaled, &scaled, 1.0);
                self.products[band].axpy(value, &scaled, 1.0);
                self.targets[band] += value * value;
            }
        }
    }

    fn features(&mut self, tracks: &[Vec<f64>], band: usize) -> DVector<f64> {
        let kinds = 1 + self.decays.len();
        let mut features = DVector::zeros(self.count * kinds);
        for (index, powers) in tracks.iter().enumerate() {
            features[index * kinds] = powers[band];
            for (step, decay) in self.decays.iter().enumerate() {
                let place = (index * self.edges.len() + band) * self.decays.len() + step;
                let value = self.running[place] * decay + powers[band] * (1.0 - decay);
                // The decay begins after the sound itself.
                features[index * kinds + 1 + step] = self.running[place] * decay;
                self.running[place] = value;
            }
        }
        features
    }

    fn band_powers(&self, column: &[f64], at: usize) -> Vec<f64> {
        let mut powers = vec![0.0; self.edges.len()];
        let mut bins = self.transform.make_output_vec();
        for side in [&column[..FRAME], &column[FRAME..]] {
            let mut time: Vec<f64> = side[at..at + SHORT]
                .iter()
                .zip(&self.window)
                .map(|(sample, window)| sample * window)
                .collect();
            // Lengths match by construction.
            let _ = self.transform.process(&mut time, &mut bins);
            for (power, (low, high)) in powers.iter_mut().zip(&self.edges) {
                *power += bins[*low..*high].iter().map(Complex::norm_sqr).sum::<f64>();
            }
        }
        powers
    }

    /// Fit over all bands: (how well, part made by decays, decay share by track).
    fn imitate(&self) -> (f64, f64, Vec<f64>) {
        let kinds = 1 + self.decays.len();
        let all: Vec<usize> = (0..self.count * kinds).collect();
        let (mut total, mut left, mut made, mut tail) = (0.0, 0.0, 0.0, 0.0);
        let mut sends = vec![0.0; self.count];
        for band in 0..self.edges.len() {
            let (gram, b) = (&self.gram[band], &self.products[band]);
            let factors = non_negative(gram, b, &all);
            total += self.targets[band];
            left += left_over(gram, b, self.targets[band], &factors);
            for feature in all.iter().copied().filter(|&f| factors[f] > 0.0) {
                let part = factors[feature] * b[feature];
                made += part.max(0.0);
                if feature % kinds > 0 {
                    tail += part.max(0.0);
                    sends[feature / kinds] += part.max(0.0);
                }
            }
        }
        let whole = made.max(f64::MIN_POSITIVE);
        sends.iter_mut().for_each(|send| *send /= whole);
        (
            1.0 - left / total.max(f64::MIN_POSITIVE),
            tail / whole,
            sends,
        )
    }
}
