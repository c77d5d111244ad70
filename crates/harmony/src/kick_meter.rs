//! The streaming meter of kicks.

use crate::halver::Halver;
use crate::kick_frames::{AFTER_S, BEFORE_S, HOP, KickFrames, LowHit, MOST_HITS};
use crate::low_frames::power_code;
use crate::mixdown::Mixdown;

/// Waves are kept at a rate between this and its double.
const LOWEST_RATE_HZ: f64 = 2_500.0;
/// Rise within [`RISE_HOPS`] that makes a hit, as a factor of power.
const RISE: f32 = 4.0;
const RISE_HOPS: usize = 6;
/// Power against the loudest of late that a hit needs.
const LEAST: f32 = 0.06;
/// Powers are held about this long.
const HELD_S: f64 = 0.015;
/// Hits are further apart.
const APART_S: f64 = 0.09;
/// What was the loudest is forgotten by half in this time.
const FORGET_S: f64 = 6.0;

/// Streaming meter of low hits; keeps the waves of some of them.
///
/// The result does not depend on how the stream is cut.
#[derive(Clone, Debug)]
pub struct KickMeter {
    mixdown: Mixdown,
    work: Work,
}

impl KickMeter {
    /// A meter for one file: `sample_rate_hz` > 0, `channels` as in the file. Of
    /// more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        Self {
            mixdown: Mixdown::new(channels),
            work: Work::new(f64::from(sample_rate_hz.max(1))),
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale.
    pub fn push(&mut self, block: &[&[f64]]) {
        let work = &mut self.work;
        self.mixdown.push(block, |chunk| work.chunk(chunk));
    }

    /// What is kept of everything that was pushed.
    pub fn finish(mut self) -> KickFrames {
        let work = &mut self.work;
        self.mixdown.finish(|chunk| work.chunk(chunk));
        self.work.finish()
    }
}

#[derive(Clone, Debug)]
struct Work {
    /// Whether four frames are averaged to one first.
    quarter: bool,
    halvings: Vec<Halver<2>>,
    last: Option<Halver<5>>,
    spare: Vec<f32>,
    rate_hz: f64,
    delay_s: f64,
    /// Frames of the signal the clicks are read from in a hop.
    click_hop: usize,
    last_samples: [f32; 2],
    /// Slow signal and clicks of the last second or so.
    signal: Vec<f32>,
    clicks: Vec<u8>,
    /// Hops dropped before the first of `clicks`.
    dropped: usize,
    filter: [f32; 3],
    gain: f32,
    powers: Vec<f32>,
    held: f32,
    release: f32,
    loudest: f32,
    /// Start of hits whose wave is not whole, and of the next hits, in hops.
    open: Vec<(usize, Option<usize>)>,
    last_hit: Option<usize>,
    frames: KickFrames,
    stride: u32,
}

impl Work {
    fn new(sample_rate_hz: f64) -> Self {
        let (mut rate_hz, mut delay_s) = (sample_rate_hz, 0.0);
        let (mut halvings, mut last) = (Vec::new(), None);
        let mut click_hop = HOP;
        let quarter = rate_hz >= 8.0 * LOWEST_RATE_HZ;
        if quarter {
            delay_s += 1.5 / rate_hz;
            rate_hz *= 0.25;
        }
        while rate_hz >= 2.0 * LOWEST_RATE_HZ {
            if rate_hz >= 4.0 * LOWEST_RATE_HZ {
                let halver = Halver::new(2.0);
                delay_s += halver.delay() / rate_hz;
                halvings.push(halver);
            } else {
                let halver = Halver::new(3.5);
                delay_s += halver.delay() / rate_hz;
                last = Some(halver);
            }
            rate_hz *= 0.5;
            click_hop *= 2;
        }
        Self {
            quarter,
            halvings,
            last,
            spare: Vec::new(),
            rate_hz,
            delay_s,
            click_hop,
            last_samples: [0.0; 2],
            signal: Vec::new(),
            clicks: Vec::new(),
            dropped: 0,
            filter: [0.0; 3],
            gain: (1.0 - (-std::f64::consts::TAU * 180.0 / rate_hz).exp()) as f32,
            powers: Vec::new(),
            held: 0.0,
            release: (-(HOP as f64) / (HELD_S * rate_hz)).exp() as f32,
            loudest: 1e-7,
            open: Vec::new(),
            last_hit: None,
            frames: KickFrames {
                rate_hz,
                click_hop_s: HOP as f64 / rate_hz,
                ..KickFrames::default()
            },
            stride: 1,
        }
    }

    fn hops(&self, seconds: f64) -> usize {
        (seconds * self.rate_hz / HOP as f64).round() as usize
    }

    fn chunk(&mut self, signal: &mut Vec<f32>) {
        if self.quarter {
            // leaks around 12 kHz, but not into the lows of a kick
            self.spare.clear();
            let fours = signal.chunks_exact(4);
            self.spare
                .extend(fours.map(|x| 0.25 * ((x[0] + x[1]) + (x[2] + x[3]))));
            std::mem::swap(signal, &mut self.spare);
        }
        for hop in signal.chunks(self.click_hop) {
            self.clicks
                .push(power_code(bend_power(self.last_samples, hop)));
            if let [.., before, last] = *hop {
                self.last_samples = [before, last];
            }
        }
        for halver in &mut self.halvings {
            halver.process(signal, &mut self.spare);
            std::mem::swap(signal, &mut self.spare);
        }
        if let Some(halver) = &mut self.last {
            halver.process(signal, &mut self.spare);
            std::mem::swap(signal, &mut self.spare);
        }
        for hop in signal.chunks(HOP) {
            let mut sum = 0.0;
            for &x in hop {
                let mut y = x;
                for state in &mut self.filter {
                    *state += self.gain * (y - *state) + 1e-20;
                    y = *state;
                }
                sum += y * y;
            }
            // held, so that it does not swing with the wave
            self.held = (sum / HOP as f32).max(self.held * self.release);
            self.powers.push(self.held);
            self.signal.extend_from_slice(hop);
            self.look();
        }
        self.close(false);
        self.forget();
    }

    /// Whether a hit starts a few hops ago.
    fn look(&mut self) {
        let now = self.powers.len() - 1;
        let forget = 0.5f32.powf((HOP as f64 / self.rate_hz / FORGET_S) as f32);
        self.loudest = (self.loudest * forget).max(self.powers[now]).max(1e-7);
        if now < RISE_HOPS {
            return;
        }
        let before = self.powers[now - RISE_HOPS];
        let hop = self.dropped + now;
        let apart = self.hops(APART_S);
        if self.powers[now] > RISE * before
            && self.powers[now] > LEAST * self.loudest
            && self.last_hit.is_none_or(|last| hop >= last + apart)
        {
            self.last_hit = Some(hop);
            self.frames.heard += 1;
            let start = hop.saturating_sub(RISE_HOPS / 2);
            if let Some((_, next)) = self.open.last_mut() {
                next.get_or_insert(start);
            }
            if self.frames.heard.is_multiple_of(self.stride) {
                self.open.push((start, None));
            }
        }
    }

    /// Keeps the hits whose waves are whole, or all of them.
    fn close(&mut self, all: bool) {
        let (before, after) = (self.hops(BEFORE_S), self.hops(AFTER_S));
        let known = self.dropped + self.powers.len();
        while let Some(&(start, next)) = self.open.first() {
            if !all && start + after > known {
                break;
            }
            self.open.remove(0);
            let at = |hop: isize| -> (f32, u8) {
                let index = hop - self.dropped as isize;
                let index = usize::try_from(index).unwrap_or(usize::MAX);
                (0.0, self.clicks.get(index).copied().unwrap_or(0))
            };
            let first = start as isize - before as isize;
            let clicks: Vec<u8> = (first..(start + after) as isize)
                .map(|hop| at(hop).1)
                .collect();
            let wave: Vec<f32> = (first * HOP as isize..((start + after) * HOP) as isize)
                .map(|frame| {
                    let index = frame - (self.dropped * HOP) as isize;
                    let index = usize::try_from(index).unwrap_or(usize::MAX);
                    self.signal.get(index).copied().unwrap_or(0.0)
                })
                .collect();
            let time_s = (start * HOP) as f64 / self.rate_hz - self.delay_s;
            let next = next.map_or(0, |next| (next - start).min(after) as u16);
            self.frames
                .hits
                .push(LowHit::new(time_s, &wave, next, clicks));
            if self.frames.hits.len() > MOST_HITS {
                self.thin_out();
            }
        }
    }

    /// Drops every second hit and keeps only half as many from here on.
    fn thin_out(&mut self) {
        let mut index = 0;
        self.frames.hits.retain(|_| {
            index += 1;
            index % 2 == 1
        });
        self.stride *= 2;
    }

    fn forget(&mut self) {
        let keep = self.hops(BEFORE_S) + self.hops(AFTER_S) + 2 * RISE_HOPS + 8;
        if self.powers.len() > 4 * keep {
            let drop = self.powers.len() - 2 * keep;
            self.powers.drain(..drop);
            self.clicks.drain(..drop);
            self.signal.drain(..drop * HOP);
            self.dropped += drop;
        }
    }

    fn finish(mut self) -> KickFrames {
        self.close(true);
        self.frames
    }
}

/// Mean square of the second differences, 1 for a full-scale wave at half the
/// rate; 40 dB a decade lower below.
fn bend_power(before: [f32; 2], hop: &[f32]) -> f32 {
    let bend = |a: f32, b: f32, c: f32| (a - 2.0 * b + c).powi(2);
    let inside: f32 = hop.windows(3).map(|x| bend(x[0], x[1], x[2])).sum();
    let start = match *hop {
        [first, second, ..] => bend(before[0], before[1], first) + bend(before[1], first, second),
        _ => 0.0,
    };
    (inside + start) / (16 * hop.len().max(1)) as f32
}
