//! Starts of files that were trimmed to their first clip.
//!
//! What it measures: excerpts of the file are looked for in what the other
//! tracks leave of the bounce; places on which several excerpts agree are then
//! tried in full, at the sample.
//! Why it matters: a file without a time stamp would play from the beginning.
//! Threshold and source: the caller's least correlation, and [`CLEARLY`].
//! How to mend: export every track from the common start.
//! When it is wrong: a loop that repeats exactly, and whose first and last
//! repeats are covered by something else, has several equally good places; then
//! no start is given.

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::TrustError;
use crate::correlate::{correlate, energy, largest, local_energy};
use crate::feed::{Feed, Placed, PlacedStream};
use crate::gram::BLOCK_FRAMES;
use crate::pairs::read_sides;
use crate::windows::{Curve, SLOT_S, pick_slots};

/// Excerpts of one file.
const EXCERPTS: usize = 5;
/// Rate at which places are looked for, about.
const SEARCH_RATE_HZ: u32 = 12_000;
/// Transform of the search.
const SEARCH_SIZE: usize = 1 << 15;
/// Files looked for at once, so that memory stays small.
const FILES_AT_ONCE: usize = 6;
/// Share of the energy that thinning must keep for one phase to do.
const BRIGHT: f64 = 0.6;
/// Peaks kept of one excerpt, and places tried in full.
const PEAKS_KEPT: usize = 300;
const PLACES_TRIED: usize = 12;
/// The best place must explain this much more than the next, relative (common
/// practice, no source).
const CLEARLY: f64 = 0.02;

/// What was found for one file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Found {
    /// It plays from this frame.
    At(u64),
    /// Several places fit alike.
    CannotTell,
    /// It is not heard in the bounce.
    Nowhere,
}

/// What the search works on.
pub(crate) struct Search<'a> {
    /// Tracks whose place is known, then the bounce.
    pub known: &'a [Placed<'a>],
    /// Factors that leave of them what is not explained: minus the gains, then
    /// the sign of the bounce.
    pub factors: &'a [f64],
    /// Where the bounce lies on the common clock.
    pub range: std::ops::Range<u64>,
    pub rate_hz: u32,
    /// Least correlation with what is left for a place to count.
    pub least: f64,
}

/// A file to be found, with its momentary curve.
pub(crate) struct Wanted<'a> {
    pub source: Placed<'a>,
    pub momentary_lufs: &'a [f32],
}

struct Template {
    file: usize,
    excerpt: usize,
    /// Place in the file, in frames.
    at: i64,
    spectrum: Vec<Complex<f32>>,
    energy: f64,
    peaks: Vec<(f64, i64)>,
}

impl Search<'_> {
    /// Looks for every file of `wanted`.
    pub fn find(&self, wanted: &[Wanted]) -> Result<Vec<Found>, TrustError> {
        let mut found = Vec::with_capacity(wanted.len());
        for group in wanted.chunks(FILES_AT_ONCE) {
            let mut templates = self.templates(group)?;
            self.scan(&mut templates)?;
            for (file, sought) in group.iter().enumerate() {
                let places = self.places(&templates, file);
                found.push(self.decide(sought, &places)?);
            }
        }
        Ok(found)
    }

    fn step(&self) -> usize {
        (self.rate_hz / SEARCH_RATE_HZ).max(1) as usize
    }

    /// Places nearer than this are one until they are refined: a sustained tone
    /// fits at every period.
    fn near_frames(&self) -> i64 {
        i64::from(self.rate_hz / 20)
    }

    fn template_frames(&self) -> usize {
        self.rate_hz as usize / self.step() * self.step()
    }

    /// Phases of thinning to look at: all where much lies above what the search
    /// rate can hold, else one.
    fn phases(&self, middle: &[f64]) -> usize {
        let mut samples = Vec::new();
        thin(middle, self.step(), &mut samples);
        let kept = energy(&samples) * self.step() as f64;
        if kept < BRIGHT * energy(middle) {
            self.step()
        } else {
            1
        }
    }

    fn templates(&self, group: &[Wanted]) -> Result<Vec<Template>, TrustError> {
        let transform = RealFftPlanner::<f32>::new().plan_fft_forward(SEARCH_SIZE);
        let mut templates = Vec::new();
        for (file, sought) in group.iter().enumerate() {
            let mut stream = PlacedStream::open(&sought.source)?;
            for (excerpt, slot) in excerpt_slots(sought, self.rate_hz).into_iter().enumerate() {
                let start = slot * (SLOT_S * f64::from(self.rate_hz)) as usize;
                let frames = self.template_frames() + self.step();
                let sides = read_sides(&mut stream, start as i64, frames)?;
                let middle: Vec<f64> = sides[0].iter().zip(&sides[1]).map(|(l, r)| l + r).collect();
                for phase in 0..self.phases(&middle) {
                    let mut samples = Vec::new();
                    let part = &middle[phase..phase + self.template_frames()];
                    thin(part, self.step(), &mut samples);
                    let energy = energy(&samples);
                    if energy > 0.0 {
                        templates.push(Template {
                            file,
                            excerpt,
                            at: (start + phase) as i64,
                            spectrum: spectrum(&*transform, &samples),
                            energy,
                            peaks: Vec::new(),
                        });
                    }
                }
            }
        }
        Ok(templates)
    }

    /// Streams what is left of the bounce past all templates.
    fn scan(&self, templates: &mut [Template]) -> Result<(), TrustError> {
        let step = self.step();
        let length = self.template_frames() / step;
        let valid = SEARCH_SIZE - length + 1;
        let mut planner = RealFftPlanner::<f32>::new();
        let forward = planner.plan_fft_forward(SEARCH_SIZE);
        let inverse = planner.plan_fft_inverse(SEARCH_SIZE);
        let mut feed = Feed::open(self.known, BLOCK_FRAMES)?;
        let mut left: Vec<f64> = Vec::with_capacity(SEARCH_SIZE + BLOCK_FRAMES);
        let mut pending: Vec<f64> = Vec::new();
        // Thinned place of `left[0]`, and next frame to read.
        let mut origin = (self.range.start / step as u64) as i64;
        let mut at = origin as u64 * step as u64;
        let mut mean_energy = 0.0;
        let mut time = vec![0.0f32; SEARCH_SIZE];
        while at < self.range.end {
            while left.len() < SEARCH_SIZE && at < self.range.end {
                pending.extend(self.read_middle(&mut feed, at)?);
                at += BLOCK_FRAMES as u64;
                let before = left.len();
                thin(&pending, step, &mut left);
                pending.drain(..(left.len() - before) * step);
            }
            left.resize(SEARCH_SIZE.max(left.len()), 0.0);
            let chunk = spectrum(&*forward, &left[..SEARCH_SIZE]);
            let energies = local_energy(&left[..SEARCH_SIZE], length);
            let mean = energies.iter().sum::<f64>() / energies.len() as f64;
            mean_energy = f64::max(mean_energy * 0.9, mean);
            for template in templates.iter_mut() {
                let mut product: Vec<Complex<f32>> = chunk
                    .iter()
                    .zip(&template.spectrum)
                    .map(|(a, b)| a * b.conj())
                    .collect();
                product[0].im = 0.0;
                product[SEARCH_SIZE / 2].im = 0.0;
                // Lengths match by construction.
                let _ = inverse.process(&mut product, &mut time);
                let scores = time[..valid].iter().zip(&energies).map(|(value, energy)| {
                    let energy = energy.max(0.02 * mean_energy) * template.energy;
                    f64::from(*value) / SEARCH_SIZE as f64 / energy.sqrt().max(f64::MIN_POSITIVE)
                });
                keep_peaks(&mut template.peaks, scores, origin, length / 20);
            }
            left.drain(..valid);
            origin += valid as i64;
        }
        Ok(())
    }

    /// Middle channel of what is left, one block from `at`.
    fn read_middle(&self, feed: &mut Feed, at: u64) -> Result<Vec<f64>, TrustError> {
        feed.read(at, BLOCK_FRAMES)?;
        let mut mixed = vec![0.0; 2 * BLOCK_FRAMES];
        feed.mix(self.factors, &mut mixed);
        let (left, right) = mixed.split_at(BLOCK_FRAMES);
        Ok(left.iter().zip(right).map(|(l, r)| l + r).collect())
    }

    /// Starts (in frames) on which the excerpts of a file agree best.
    fn places(&self, templates: &[Template], file: usize) -> Vec<i64> {
        let own: Vec<&Template> = templates.iter().filter(|t| t.file == file).collect();
        let step = self.step() as i64;
        let near = self.near_frames();
        // By excerpt: (start in frames, score), in order of start.
        let mut starts: Vec<Vec<(i64, f64)>> = vec![Vec::new(); EXCERPTS];
        for template in &own {
            let of_excerpt = template.peaks.iter();
            starts[template.excerpt]
                .extend(of_excerpt.map(|(score, at)| (at * step - template.at, *score)));
        }
        for excerpt in &mut starts {
            excerpt.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
        }
        let vote = |excerpt: &[(i64, f64)], start: i64| -> f64 {
            let from = excerpt.partition_point(|(other, _)| *other < start - near);
            excerpt[from..]
                .iter()
                .take_while(|(other, _)| *other <= start + near)
                .map(|(_, score)| *score)
                .fold(0.0, f64::max)
        };
        // The better the own peak, the nearer the start: it breaks ties.
        let mut votes: Vec<(f64, f64, i64)> = starts
            .iter()
            .flatten()
            .map(|&(start, score)| (starts.iter().map(|e| vote(e, start)).sum(), score, start))
            .collect();
        votes.sort_by(|a, b| {
            b.0.total_cmp(&a.0)
                .then(b.1.total_cmp(&a.1))
                .then(a.2.cmp(&b.2))
        });
        let mut places: Vec<i64> = Vec::new();
        for (_, _, start) in votes {
            let new = places.iter().all(|place| (place - start).abs() > near);
            if new && places.len() < PLACES_TRIED {
                places.push(start);
            }
        }
        places
    }

    /// Tries the places in full and takes the best, if it is clearly that.
    fn decide(&self, sought: &Wanted, places: &[i64]) -> Result<Found, TrustError> {
        let mut rough: Vec<i64> = places.to_vec();
        rough.push(0);
        let mut exact = Vec::new();
        for place in rough {
            if let Some(start) = self.refine(sought, place)?
                && !exact.contains(&start)
            {
                exact.push(start);
            }
        }
        let windows = self.windows(sought, &exact);
        let left = self.read_windows(&windows)?;
        let mut stream = PlacedStream::open(&sought.source)?;
        let mut scored = Vec::new();
        for &start in &exact {
            let explained = self.explained(&mut stream, start, &windows, &left)?;
            scored.push((explained, start));
        }
        scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        Ok(match scored.as_slice() {
            [] => Found::Nowhere,
            [(best, _), ..] if best.max(0.0).sqrt() < self.least => Found::Nowhere,
            [(best, start), rest @ ..] => {
                let next = rest.first().map_or(0.0, |(explained, _)| *explained);
                if best - next > CLEARLY * best {
                    Found::At(*start as u64)
                } else {
                    Found::CannotTell
                }
            }
        })
    }

    /// Share of what is left that the file explains at `start`, round its ends
    /// and in it.
    pub fn share_at(&self, sought: &Wanted, start: i64) -> Result<f64, TrustError> {
        let windows = self.windows(sought, &[start]);
        let left = self.read_windows(&windows)?;
        let mut stream = PlacedStream::open(&sought.source)?;
        self.explained(&mut stream, start, &windows, &left)
    }

    /// The start to the sample, near a rough one; `None` before the beginning.
    pub fn refine(&self, sought: &Wanted, rough: i64) -> Result<Option<i64>, TrustError> {
        let start = self.nearby(sought, rough)?;
        Ok((start >= 0).then_some(start))
    }

    /// The start to the sample, near a rough one, also before the beginning.
    pub fn nearby(&self, sought: &Wanted, rough: i64) -> Result<i64, TrustError> {
        let reach = self.near_frames() + 3 * self.step() as i64;
        let frames = (SLOT_S * f64::from(self.rate_hz)) as usize;
        let mut stream = PlacedStream::open(&sought.source)?;
        let mut feed = Feed::open(self.known, BLOCK_FRAMES)?;
        let mut products = vec![0.0; 2 * reach as usize + 1];
        let mut energies = vec![0.0; products.len()];
        for slot in loud_slots(sought, self.rate_hz) {
            let template = read_sides(&mut stream, (slot * frames) as i64, frames)?;
            let from = rough + (slot * frames) as i64 - reach;
            let sides = self.read_left(&mut feed, from, frames + 2 * reach as usize)?;
            for (side, part) in template.iter().zip(&sides) {
                let pairs = products.iter_mut().zip(&mut energies);
                let values = correlate(side, part)
                    .into_iter()
                    .zip(local_energy(part, frames));
                for ((sum, total), (product, energy)) in pairs.zip(values) {
                    *sum += product;
                    *total += energy;
                }
            }
        }
        let loudest = energies.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let scores: Vec<f64> = products
            .iter()
            .zip(&energies)
            .map(|(product, energy)| product.max(0.0) / energy.max(0.01 * loudest).sqrt())
            .collect();
        Ok(largest(&scores).map_or(rough, |best| rough + best as i64 - reach))
    }

    /// What the known tracks leave of the bounce, both sides.
    fn read_left(
        &self,
        feed: &mut Feed,
        start: i64,
        frames: usize,
    ) -> Result<[Vec<f64>; 2], TrustError> {
        let before = ((-start).max(0) as usize).min(frames);
        let start = start.max(0) as u64;
        let mut sides = [vec![0.0; before], vec![0.0; before]];
        let mut mixed = vec![0.0; 2 * BLOCK_FRAMES];
        while sides[0].len() < frames {
            let now = BLOCK_FRAMES.min(frames - sides[0].len());
            feed.read(start + (sides[0].len() - before) as u64, now)?;
            feed.mix(self.factors, &mut mixed);
            let (left, right) = mixed.split_at(BLOCK_FRAMES);
            sides[0].extend_from_slice(&left[..now]);
            sides[1].extend_from_slice(&right[..now]);
        }
        Ok(sides)
    }

    /// Places to compare at: inside the file, and round its ends, for every
    /// start that is tried; the same for all of them.
    fn windows(&self, sought: &Wanted, starts: &[i64]) -> Vec<u64> {
        let frames = (SLOT_S * f64::from(self.rate_hz)) as i64;
        let length = sought.source.source.frames() as i64;
        let inside = excerpt_slots(sought, self.rate_hz);
        let mut windows: Vec<i64> = starts
            .iter()
            .flat_map(|&start| {
                let ends = [
                    start - frames,
                    start,
                    start + frames,
                    start + length - 2 * frames,
                    start + length - frames,
                    start + length,
                ];
                let inside = inside.iter().map(move |&slot| start + slot as i64 * frames);
                ends.into_iter().chain(inside).collect::<Vec<_>>()
            })
            .filter(|at| *at >= self.range.start as i64 && at + frames <= self.range.end as i64)
            .collect();
        windows.sort_unstable();
        let mut last = i64::MIN / 2;
        windows.retain(|at| {
            let apart = at - last >= frames;
            if apart {
                last = *at;
            }
            apart
        });
        windows.into_iter().map(|at| at as u64).collect()
    }

    fn read_windows(&self, windows: &[u64]) -> Result<Vec<[Vec<f32>; 2]>, TrustError> {
        let frames = (SLOT_S * f64::from(self.rate_hz)) as usize;
        let mut feed = Feed::open(self.known, BLOCK_FRAMES)?;
        let mut read = Vec::with_capacity(windows.len());
        for &start in windows {
            let sides = self.read_left(&mut feed, start as i64, frames)?;
            read.push(sides.map(|side| side.iter().map(|sample| *sample as f32).collect()));
        }
        Ok(read)
    }

    /// Share of what is left in the windows that the file explains at `start`.
    fn explained(
        &self,
        stream: &mut PlacedStream,
        start: i64,
        windows: &[u64],
        left: &[[Vec<f32>; 2]],
    ) -> Result<f64, TrustError> {
        let frames = (SLOT_S * f64::from(self.rate_hz)) as usize;
        let (mut own, mut total, mut product) = (0.0, 0.0, 0.0);
        for (&at, sides) in windows.iter().zip(left) {
            let file = read_sides(stream, at as i64 - start, frames)?;
            for (side, part) in file.iter().zip(sides) {
                for (a, b) in side.iter().zip(part) {
                    let b = f64::from(*b);
                    own += a * a;
                    total += b * b;
                    product += a * b;
                }
            }
        }
        if own <= 0.0 || total <= 0.0 || product <= 0.0 {
            return Ok(0.0);
        }
        Ok(product * product / (own * total))
    }
}

/// Slots of a file to look for: its first and its last, which tell one repeat
/// of a loop from the next, and loud ones spread between.
fn excerpt_slots(sought: &Wanted, rate_hz: u32) -> Vec<usize> {
    let frames = (SLOT_S * f64::from(rate_hz)) as u64;
    let slots = ((sought.source.source.frames() / frames) as usize).max(1);
    let pick = |range: std::ops::Range<usize>| {
        let curve = Curve {
            momentary_lufs: sought.momentary_lufs,
            shift_values: 0,
        };
        pick_slots(&[curve], range, 1).first().copied()
    };
    let between = EXCERPTS - 2;
    let spread =
        (0..between).filter_map(|part| pick(part * slots / between..(part + 1) * slots / between));
    let mut chosen: Vec<usize> = spread.collect();
    chosen.push(0);
    chosen.push(slots.saturating_sub(2));
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}

/// Three loud slots, for finding the exact sample.
fn loud_slots(sought: &Wanted, rate_hz: u32) -> Vec<usize> {
    let frames = (SLOT_S * f64::from(rate_hz)) as u64;
    let slots = ((sought.source.source.frames() / frames) as usize).max(1);
    let curve = Curve {
        momentary_lufs: sought.momentary_lufs,
        shift_values: 0,
    };
    pick_slots(&[curve], 0..slots, 3)
}

fn spectrum(transform: &dyn RealToComplex<f32>, samples: &[f64]) -> Vec<Complex<f32>> {
    let mut time = vec![0.0f32; SEARCH_SIZE];
    for (out, sample) in time.iter_mut().zip(samples) {
        *out = *sample as f32;
    }
    let mut bins = transform.make_output_vec();
    // Lengths match by construction.
    let _ = transform.process(&mut time, &mut bins);
    bins
}

/// Means of `step` samples each. What folds back is kept on purpose: hats are
/// found by it, at the right phase.
fn thin(samples: &[f64], step: usize, out: &mut Vec<f64>) {
    out.extend(
        samples
            .chunks_exact(step)
            .map(|part| part.iter().sum::<f64>() / step as f64),
    );
}

/// Keeps the highest peaks, `apart` or more from one another within a chunk.
fn keep_peaks(
    peaks: &mut Vec<(f64, i64)>,
    scores: impl Iterator<Item = f64>,
    origin: i64,
    apart: usize,
) {
    let scores: Vec<f64> = scores.collect();
    let least = if peaks.len() < PEAKS_KEPT {
        0.05
    } else {
        peaks.last().map_or(0.05, |(score, _)| *score)
    };
    for (part, values) in scores.chunks(apart.max(1)).enumerate() {
        let (mut best, mut at) = (least, None);
        for (index, &value) in values.iter().enumerate() {
            if value > best {
                (best, at) = (value, Some(index));
            }
        }
        if let Some(index) = at {
            peaks.push((best, origin + (part * apart.max(1) + index) as i64));
        }
    }
    peaks.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    peaks.truncate(PEAKS_KEPT);
}
