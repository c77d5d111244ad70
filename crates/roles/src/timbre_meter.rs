//! Hits and tones of one track: how they start, ring, and what they hold.
//!
//! Every 2.7 ms the power is noted, and hits are found where it rises. A hit is
//! read closely (see `tone_frame`) at its start, from 5 ms and from 100 ms on;
//! sound without hits every third of a second. How much is read closely is
//! limited: the first 40 stretches, then one a second of what sounds.

use serde::{Deserialize, Serialize};

use crate::hit_finder::{AHEAD, HitFinder};
use crate::hit_shape::{HitShape, hit_shape};
use crate::hop_levels::{HopLevels, Level};
use crate::timbre_features::features_of;
use crate::tone_frame::{Shape, ToneFrame, ToneFrames};

/// Longest a hit is followed.
const LONGEST_S: f64 = 1.5;
/// Length of a frame; the short ones are a quarter of it.
const FRAME_S: f64 = 0.0853;
/// Time between frames where no hits are.
const STEADY_S: f64 = 0.33;
/// When the frames of a hit start, after it.
const HIT_FRAMES_S: [f64; 2] = [0.005, 0.1];
/// Frames that may be read at first, and more for each second that sounds.
const FRAMES_AT_FIRST: f64 = 40.0;
const FRAMES_A_SECOND: f64 = 1.0;

/// Hits and tones of one file: what [`sound_of`](crate::sound_of) reads a role
/// from. About 1 kB, whatever the length.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct TimbreFrames {
    /// Length of the file in seconds.
    pub seconds: f64,
    /// Time in which something sounds, within 40 dB of the loudest.
    pub sounding_s: f64,
    /// Number of hits found.
    pub hits: u32,
    /// The figures the classifier reads; empty for silence.
    pub(crate) features: Vec<f32>,
}

impl TimbreFrames {
    /// The figures the classifier reads, in a fixed order; empty for silence.
    pub fn features(&self) -> &[f32] {
        &self.features
    }
}

/// One hit, as far as it was read.
#[derive(Clone, Debug, Default)]
pub(crate) struct HeardHit {
    pub shape: HitShape,
    pub start: Option<ToneFrame>,
    pub tones: [Option<ToneFrame>; 2],
}

/// Everything noted of a file.
#[derive(Clone, Debug, Default)]
pub(crate) struct Heard {
    pub hits: Vec<HeardHit>,
    /// Frames where no hit is, with their number of hops from the start.
    pub steady: Vec<(u64, ToneFrame)>,
    /// Times between starts of hits, in hops.
    pub gaps: Vec<u32>,
    /// Power every 16 hops, 43 ms.
    pub powers: Vec<f32>,
}

#[derive(Clone, Copy, Debug)]
enum Place {
    Start,
    Tone(usize),
}

#[derive(Clone, Copy, Debug)]
struct Job {
    hit: usize,
    place: Place,
    from: u64,
}

/// Streaming meter of hits and tones; opens no files, starts no threads.
///
/// The result does not depend on how the stream is cut.
#[derive(Clone, Debug)]
pub struct TimbreMeter {
    sample_rate_hz: f64,
    stereo: bool,
    frames: u64,
    levels: HopLevels,
    listening: Listening,
}

impl TimbreMeter {
    /// A meter for one file. Of more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        let sample_rate_hz = f64::from(sample_rate_hz.max(1));
        let levels = HopLevels::new(sample_rate_hz);
        let listening = Listening::new(sample_rate_hz, levels.hop());
        Self {
            sample_rate_hz,
            stereo: channels > 1,
            frames: 0,
            levels,
            listening,
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale, finite. A block with
    /// fewer channels than promised repeats its last one.
    pub fn push(&mut self, block: &[&[f64]]) {
        let Some(&left) = block.first() else { return };
        let right = self.stereo.then(|| block.get(1).copied().unwrap_or(left));
        let frames = left.len().min(right.map_or(usize::MAX, <[f64]>::len));
        self.frames += frames as u64;
        let listening = &mut self.listening;
        self.levels.push(
            &left[..frames],
            right.map(|right| &right[..frames]),
            |level, mono| listening.hop(level, mono),
        );
    }

    /// Everything that was found.
    pub fn finish(mut self) -> TimbreFrames {
        let listening = &mut self.listening;
        self.levels
            .finish(self.stereo, |level, mono| listening.hop(level, mono));
        listening.finish();
        let hop_s = self.levels.hop() as f64 / self.sample_rate_hz;
        let heard = &self.listening.heard;
        let powers = &heard.powers;
        let highest = powers.iter().copied().fold(0.0f32, f32::max);
        let sounding = powers.iter().filter(|&&p| p > highest * 1e-4).count();
        TimbreFrames {
            seconds: self.frames as f64 / self.sample_rate_hz,
            sounding_s: sounding as f64 * 16.0 * hop_s,
            hits: u32::try_from(heard.gaps.len()).unwrap_or(u32::MAX),
            features: features_of(heard, self.levels.sides, hop_s),
        }
    }
}

/// What follows hops: finds hits, reads frames.
#[derive(Clone, Debug)]
struct Listening {
    sample_rate_hz: f64,
    hop: usize,
    finder: HitFinder,
    /// Hops kept, the first of them being number `first`.
    levels: Vec<Level>,
    first: u64,
    /// Samples kept, starting with the first hop kept.
    samples: Vec<f32>,
    jobs: Vec<Job>,
    /// The hit that rings: where it started and its number, if it is read.
    open: Option<(u64, Option<usize>)>,
    last_start: Option<u64>,
    last_frame: Option<u64>,
    allowance: f64,
    long: ToneFrames,
    short: ToneFrames,
    sum: f32,
    count: u64,
    heard: Heard,
}

impl Listening {
    fn new(sample_rate_hz: f64, hop: usize) -> Self {
        let length = ((sample_rate_hz * FRAME_S).log2().round().exp2() as usize).max(64);
        Self {
            sample_rate_hz,
            hop,
            finder: HitFinder::default(),
            levels: Vec::new(),
            first: 0,
            samples: Vec::new(),
            jobs: Vec::new(),
            open: None,
            last_start: None,
            last_frame: None,
            allowance: FRAMES_AT_FIRST,
            long: ToneFrames::new(length, sample_rate_hz),
            short: ToneFrames::new(length / 4, sample_rate_hz),
            sum: 0.0,
            count: 0,
            heard: Heard::default(),
        }
    }

    fn hops(&self, seconds: f64) -> u64 {
        (seconds * self.sample_rate_hz / self.hop as f64).round() as u64
    }

    fn hop(&mut self, level: Level, mono: &[f32]) {
        self.levels.push(level);
        self.samples.extend_from_slice(mono);
        self.sum += level.power;
        self.count += 1;
        if self.count.is_multiple_of(16) {
            self.heard.powers.push(self.sum / 16.0);
            self.sum = 0.0;
        }
        if self.levels.len() > AHEAD {
            self.judge(self.levels.len() - 1 - AHEAD);
        }
        self.forget();
    }

    fn finish(&mut self) {
        if !self.count.is_multiple_of(16) {
            self.heard.powers.push(self.sum / (self.count % 16) as f32);
        }
        let silence = vec![0.0; self.hop];
        let rest = self.hops(2.0 * FRAME_S) + self.hops(HIT_FRAMES_S[1]);
        let end = self.first + self.levels.len() as u64;
        for _ in 0..AHEAD as u64 + rest {
            self.levels.push(Level::default());
            self.samples.extend_from_slice(&silence);
            if self.levels.len() > AHEAD {
                self.judge(self.levels.len() - 1 - AHEAD);
            }
        }
        self.close(end);
    }

    /// Judges one hop, all of what comes before having been judged.
    fn judge(&mut self, at: usize) {
        let now = self.first + at as u64;
        if let Some(start) = self.finder.judge(&self.levels, at, self.first) {
            self.start(start);
        }
        if let Some((start, _)) = self.open
            && now >= start + self.hops(LONGEST_S)
        {
            self.close(now);
        }
        self.read_due(now);
        let power = self.levels[at].power;
        if self.finder.sounds(power) {
            self.allowance += FRAMES_A_SECOND * self.hop as f64 / self.sample_rate_hz;
            self.read_steady(now);
        }
    }

    fn start(&mut self, start: u64) {
        self.close(start);
        if let Some(last) = self.last_start {
            let gap = u32::try_from(start - last).unwrap_or(u32::MAX);
            self.heard.gaps.push(gap);
        } else {
            self.heard.gaps.push(0);
        }
        self.last_start = Some(start);
        // tones of the hit before must not reach into this one
        let length = self.long.length() as u64;
        let begin = start * self.hop as u64;
        let hop = self.hop as u64;
        self.jobs.retain(|job| match job.place {
            Place::Start | Place::Tone(0) => true,
            Place::Tone(_) => job.from + length <= begin + 4 * hop,
        });
        if self.allowance < 1.0 {
            self.open = Some((start, None));
            return;
        }
        let hit = self.heard.hits.len();
        self.heard.hits.push(HeardHit::default());
        self.open = Some((start, Some(hit)));
        let after = |seconds: f64| begin + (seconds * self.sample_rate_hz) as u64;
        let lead = self.short.length() as u64 / 16;
        self.jobs.push(Job {
            hit,
            place: Place::Start,
            from: begin.saturating_sub(lead),
        });
        for (index, &seconds) in HIT_FRAMES_S.iter().enumerate() {
            self.jobs.push(Job {
                hit,
                place: Place::Tone(index),
                from: after(seconds),
            });
        }
        self.allowance -= 2.0;
        self.last_frame = Some(start + self.hops(HIT_FRAMES_S[1]));
    }

    /// Ends the hit that rings, before hop `end`.
    fn close(&mut self, end: u64) {
        let Some((start, hit)) = self.open.take() else {
            return;
        };
        let range =
            (start.saturating_sub(self.first)) as usize..(end.saturating_sub(self.first)) as usize;
        if let Some(hit) = hit
            && let Some(levels) = self.levels.get(range)
            && !levels.is_empty()
        {
            let hop_s = self.hop as f64 / self.sample_rate_hz;
            self.heard.hits[hit].shape = hit_shape(levels, hop_s, self.sample_rate_hz);
        }
    }

    fn read_due(&mut self, now: u64) {
        let judged = now * self.hop as u64;
        while let Some(index) = self.jobs.iter().position(|job| {
            let length = match job.place {
                Place::Start => self.short.length(),
                Place::Tone(_) => self.long.length(),
            };
            job.from + length as u64 <= judged
        }) {
            let job = self.jobs.remove(index);
            let from = job.from.saturating_sub(self.first * self.hop as u64) as usize;
            let hit = &mut self.heard.hits[job.hit];
            match job.place {
                Place::Start => {
                    let samples = self.samples.get(from..from + self.short.length());
                    hit.start = samples.and_then(|s| self.short.read(s, Shape::Struck));
                }
                Place::Tone(place) => {
                    let samples = self.samples.get(from..from + self.long.length());
                    hit.tones[place] = samples.and_then(|s| self.long.read(s, Shape::Even));
                }
            }
        }
    }

    /// Reads a frame that ends here where none was read for a while.
    fn read_steady(&mut self, now: u64) {
        let wait = self.hops(STEADY_S + FRAME_S);
        let due = self.last_frame.is_none_or(|last| now >= last + wait);
        let end = (now - self.first) as usize * self.hop;
        if !due || self.allowance < 1.0 || end < self.long.length() {
            return;
        }
        self.last_frame = Some(now);
        self.allowance -= 1.0;
        let samples = &self.samples[end - self.long.length()..end];
        if let Some(frame) = self.long.read(samples, Shape::Even) {
            self.heard.steady.push((now, frame));
        }
    }

    /// Lets go of what is no longer needed.
    fn forget(&mut self) {
        let keep = self.hops(LONGEST_S) as usize + 2 * AHEAD + 64;
        if self.levels.len() < 4 * keep {
            return;
        }
        let gone = self.levels.len() - keep;
        self.levels.drain(..gone);
        self.samples.drain(..gone * self.hop);
        self.first += gone as u64;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::figures_tests::{hits_of_noise, kicks};

    fn heard(left: &[f64], right: Option<&[f64]>, block: usize) -> TimbreFrames {
        let mut meter = TimbreMeter::new(48_000, if right.is_some() { 2 } else { 1 });
        for from in (0..left.len()).step_by(block) {
            let to = (from + block).min(left.len());
            match right {
                Some(right) => meter.push(&[&left[from..to], &right[from..to]]),
                None => meter.push(&[&left[from..to]]),
            }
        }
        meter.finish()
    }

    #[test]
    fn blocks_do_not_matter() {
        let left = kicks(3.0);
        let right = hits_of_noise(3.0, 0.25);
        let whole = heard(&left, Some(&right), left.len());
        for block in [1, 77, 128, 5000] {
            assert_eq!(heard(&left, Some(&right), block), whole, "{block}");
        }
    }

    #[test]
    fn every_hit_is_found() {
        // two a second, the first at the start of the file
        let found = heard(&kicks(10.0), None, 4096);
        assert_eq!(found.hits, 20);
        assert!((found.seconds - 10.0).abs() < 1e-9);
        assert_eq!(found.features().len(), crate::timbre_features::FEATURES);
    }

    #[test]
    fn a_short_single_sound_is_heard_and_silence_is_not() {
        let short = &hits_of_noise(0.2, 1.0)[..9600];
        let found = heard(short, None, 512);
        assert_eq!(found.hits, 1);
        assert!(found.features().iter().all(|figure| figure.is_finite()));
        // a click of 10 ms
        assert_eq!(heard(&short[..480], None, 512).hits, 1);
        assert_eq!(heard(&[0.0; 9600], None, 512).features(), []);
        assert_eq!(heard(&[], None, 512).features(), []);
    }

    #[test]
    fn sides_against_each_other_are_heard() {
        let left = kicks(2.0);
        let right: Vec<f64> = left.iter().map(|sample| -sample).collect();
        assert_eq!(heard(&left, Some(&right), 4096).hits, 4);
    }
}
