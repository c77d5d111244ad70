//! The one pass.

use crate::clicks::{AROUND_S, Clicks};
use crate::decay::Decays;
use crate::hits::{HitCrest, HitFinder, Rise, STEP_HOPS, Step};
use crate::hops::Hop;
use crate::hum::HumFinder;
use crate::intake::Intake;
use crate::low::{LOW_STEP, Lows};
use crate::offset::Offset;
use crate::traits::Traits;

/// Frames of the first lower rate in a hop: 1.3 ms.
const HOP_FRAMES: usize = 16;
/// Hops in a chunk.
const CHUNK_HOPS: usize = 64;
/// A step in a hop is looked at where it is this much above those around.
const STANDS_OUT: f32 = 2.5;
const LEAST_STEP: f32 = 1e-3;

/// Streaming meter of finer traits; opens no files, starts no threads.
///
/// The result does not depend on how the stream is cut.
pub struct TraitMeter {
    intake: Intake,
    work: Work,
}

struct Work {
    sample_rate_hz: f64,
    /// Frames in a hop.
    hop: usize,
    /// Hops that a step is held against, either way.
    around: usize,
    chunks: u64,
    mono: Vec<f32>,
    lows: Lows,
    hops: Vec<Vec<Hop>>,
    finder: HitFinder,
    crest: HitCrest,
    decays: Decays,
    hum: HumFinder,
    clicks: Clicks,
    offsets: Vec<Offset>,
    /// First sample of each channel, and largest step of what follows.
    starts: Vec<(f32, f32)>,
}

impl TraitMeter {
    /// A meter for one file. Of more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        let sample_rate_hz = f64::from(sample_rate_hz.max(1));
        let lows = Lows::new(sample_rate_hz);
        let hop = HOP_FRAMES * lows.step;
        let around = libm::ceil(AROUND_S * sample_rate_hz / hop as f64) as usize;
        let rate_hz = sample_rate_hz / lows.step as f64;
        let step_s = (STEP_HOPS * HOP_FRAMES) as f64 / rate_hz;
        let channels = channels.clamp(1, 2);
        // One hop more either way, since a step may stand anywhere in its hop.
        let before = hop * (2 * around + 2);
        Self {
            intake: Intake::new(channels, before, hop * CHUNK_HOPS),
            work: Work {
                sample_rate_hz,
                hop,
                around,
                chunks: 0,
                mono: Vec::with_capacity(hop * CHUNK_HOPS),
                hum: HumFinder::new(rate_hz / LOW_STEP as f64),
                lows,
                hops: vec![vec![Hop::default(); 2 * around + 2]; channels],
                finder: HitFinder::new(step_s),
                crest: HitCrest::new(step_s),
                decays: Decays::new(step_s),
                clicks: Clicks::default(),
                offsets: vec![Offset::new(hop); channels],
                starts: vec![(0.0, 0.0); channels],
            },
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale. A block with fewer
    /// channels than promised repeats its first one.
    pub fn push(&mut self, block: &[&[f64]]) {
        let work = &mut self.work;
        self.intake.push(block, |lines| work.chunk(lines, None));
    }

    /// Everything that was found.
    pub fn finish(mut self) -> Traits {
        let frames = self.intake.frames;
        if frames == 0 {
            return Traits::default();
        }
        // What is left, and a chunk of silence for what looks ahead.
        let work = &mut self.work;
        for _ in 0..2 {
            self.intake.finish(|lines| work.chunk(lines, Some(frames)));
        }
        self.work.finish()
    }
}

impl Work {
    /// One chunk and what went before it; `end` is the length of the file once known.
    fn chunk(&mut self, lines: &[Vec<f32>], end: Option<u64>) {
        let count = self.hop * CHUNK_HOPS;
        let before = lines[0].len() - count;
        let first_frame = self.chunks * count as u64;
        self.chunks += 1;
        self.mix(lines, before);
        self.lows.take(&self.mono);
        self.hum.take(&self.lows.slow);
        for (line, hops) in lines.iter().zip(&mut self.hops) {
            let kept = hops.len() - (2 * self.around + 2);
            hops.drain(..kept);
            let starts = (before..line.len()).step_by(self.hop);
            hops.extend(starts.map(|from| Hop::of(&line[from - 1..from + self.hop])));
        }
        self.edges(lines, before, first_frame, end);
        self.steps(lines, before, first_frame, end);
        self.follow(end.map(|end| end.saturating_sub(first_frame)));
    }

    /// Both channels into one, unevenly, so that no sound cancels itself.
    fn mix(&mut self, lines: &[Vec<f32>], before: usize) {
        self.mono.clear();
        match lines {
            [left, right] => {
                let both = left[before..].iter().zip(&right[before..]);
                self.mono.extend(both.map(|(l, r)| 0.6 * l + 0.4 * r));
            }
            _ => self.mono.extend_from_slice(&lines[0][before..]),
        }
    }

    /// First and last sample of the file.
    fn edges(&mut self, lines: &[Vec<f32>], before: usize, first_frame: u64, end: Option<u64>) {
        let (hop, around) = (self.hop, self.around);
        let moves = |part: &[f32]| {
            part.windows(2)
                .map(|two| (two[1] - two[0]).abs())
                .fold(0.0, f32::max)
        };
        if first_frame == 0 {
            for (line, start) in lines.iter().zip(&mut self.starts) {
                let reach = (around * hop).min(line.len() - before);
                *start = (line[before], moves(&line[before..before + reach]));
            }
            for (edge, own) in self.starts.clone() {
                self.clicks.look_at_edge(edge, own, 0);
            }
        }
        let count = (lines[0].len() - before) as u64;
        let Some(end) = end.filter(|end| (first_frame..first_frame + count).contains(end)) else {
            return;
        };
        let last = before + (end - first_frame) as usize;
        let reach = (around * hop).min(end as usize).min(last);
        for line in lines {
            let own = moves(&line[last - reach..last]);
            self.clicks.look_at_edge(line[last - 1], own, end - 1);
        }
    }

    /// Steps that stand out of those around.
    fn steps(&mut self, lines: &[Vec<f32>], before: usize, first_frame: u64, end: Option<u64>) {
        let around = self.around;
        let seen = self.hops[0].len();
        for (line, hops) in lines.iter().zip(&self.hops) {
            for place in around + 1..seen - around - 1 {
                let step = hops[place].step;
                if step < LEAST_STEP {
                    continue;
                }
                let stands_out = |hop: &Hop| step >= STANDS_OUT * hop.step;
                let alone = hops[place - around..place - 1].iter().all(stands_out)
                    && hops[place + 2..=place + around].iter().all(stands_out);
                if !alone {
                    continue;
                }
                let from = place * self.hop;
                let moves = |at: &usize| (line[*at] - line[*at - 1]).abs();
                let highest = (from..from + self.hop)
                    .max_by(|a, b| moves(a).total_cmp(&moves(b)).then(b.cmp(a)));
                let Some(at) = highest else { continue };
                let Some(frame) = (first_frame + at as u64).checked_sub(before as u64) else {
                    continue;
                };
                // The edges of the file are looked at by themselves.
                if frame > 0 && end.is_none_or(|end| frame < end) {
                    self.clicks.look(line, at, around * self.hop, frame);
                }
            }
        }
    }

    /// Hits, gaps and means, step by step; of the last chunk only `left` frames are
    /// sound.
    fn follow(&mut self, left: Option<u64>) {
        let new = self.hops[0].len() - CHUNK_HOPS;
        let hops_left = left.map_or(CHUNK_HOPS, |left| {
            CHUNK_HOPS.min((left / self.hop as u64) as usize)
        });
        for from in (0..hops_left).step_by(STEP_HOPS) {
            if from + STEP_HOPS > hops_left {
                break;
            }
            let step = self.step(new, from);
            let rise = self.finder.next(step.above);
            self.decays.next(&step, rise);
            self.crest.next(&step, rise == Rise::Hit);
        }
        for (hops, offset) in self.hops.iter().zip(&mut self.offsets) {
            for hop in &hops[new..new + hops_left] {
                offset.add(hop.sum, hop.energy);
            }
        }
    }

    /// A step from its hops and the lower rates.
    fn step(&self, new: usize, from: usize) -> Step {
        let power = |part: &[f64]| part.iter().map(|x| x * x).sum::<f64>() / part.len() as f64;
        let middle = STEP_HOPS * HOP_FRAMES;
        let start = from * HOP_FRAMES;
        let low = start / LOW_STEP;
        let mut step = Step {
            above: power(&self.lows.above[start..start + middle]),
            below: power(&self.lows.below[low..low + middle / LOW_STEP]),
            ..Step::default()
        };
        let frames = (STEP_HOPS * self.hop) as f64;
        for (side, hops) in self.hops.iter().enumerate() {
            let hops = &hops[new + from..new + from + STEP_HOPS];
            step.powers[side] = hops.iter().map(|hop| f64::from(hop.energy)).sum::<f64>() / frames;
            step.peaks[side] = hops
                .iter()
                .map(|hop| f64::from(hop.peak))
                .fold(0.0, f64::max);
        }
        step.whole = match self.hops.len() {
            1 => step.powers[0],
            // As the mono sound weighs them.
            _ => 0.6 * step.powers[0] + 0.4 * step.powers[1],
        };
        step
    }

    fn finish(self) -> Traits {
        let offsets = self.offsets.iter().filter_map(Offset::level_dbfs);
        Traits {
            hum: self.hum.finish(),
            clicks: self.clicks.finish(self.sample_rate_hz),
            decay: self.decays.finish(),
            hit_crest_db: self.crest.median_db(),
            offset_dbfs: offsets.fold(None, |worst: Option<f64>, level| {
                Some(worst.map_or(level, |worst| worst.max(level)))
            }),
        }
    }
}
