//! Envelopes of the lows and of clicks in short steps.

use crate::low_frames::{LowFrames, power_code};

/// Frames of the slow signal in a hop.
const HOP: usize = 8;
/// The lows end about here.
const LOW_EDGE_HZ: f64 = 200.0;
/// Steps of the energy of a wave, and the frames they need.
const STEPS: [usize; 2] = [2, 4];
const PAST: usize = 9;
const MIDDLE: usize = PAST / 2;

/// Streaming envelopes, fed with the signal of the long windows and with its
/// quarter-rate form.
#[derive(Clone)]
pub(crate) struct Envelopes {
    rate_hz: f64,
    delay_s: f64,
    /// Hops by which clicks come earlier out of the filters than the lows.
    early_clicks: usize,
    filters: [OnePole; 4],
    past: [f32; PAST],
    last: f32,
    low: Vec<u8>,
    body: Vec<u8>,
    click: Vec<u8>,
}

impl Envelopes {
    pub(crate) fn new(rate_hz: f64, delay_s: f64, slow_delay_s: f64) -> Self {
        let slow_rate_hz = 0.25 * rate_hz;
        let hop_s = HOP as f64 / slow_rate_hz;
        // four poles and half the frames of a step
        let low_delay_s = slow_delay_s
            + 4.0 / (std::f64::consts::TAU * LOW_EDGE_HZ)
            + MIDDLE as f64 / slow_rate_hz;
        Self {
            rate_hz: slow_rate_hz,
            delay_s: low_delay_s,
            early_clicks: ((low_delay_s - delay_s) / hop_s).round() as usize,
            filters: [OnePole::low_pass(LOW_EDGE_HZ, slow_rate_hz); 4],
            past: [0.0; PAST],
            last: 0.0,
            low: Vec::new(),
            body: Vec::new(),
            click: Vec::new(),
        }
    }

    pub(crate) fn chunk(&mut self, fast: &[f32], slow: &[f32]) {
        for hop in slow.chunks(HOP) {
            let (mut sums, mut body) = ([0.0f32; 2], 0.0);
            for &x in hop {
                body += x * x;
                let y = self
                    .filters
                    .iter_mut()
                    .fold(x, |y, filter| filter.process(y));
                self.past.copy_within(1.., 0);
                self.past[PAST - 1] = y;
                for (sum, step) in sums.iter_mut().zip(STEPS) {
                    *sum += energy(&self.past, step);
                }
            }
            let low = sums[0].max(0.0) + sums[1].max(0.0);
            self.low.push(power_code(low / HOP as f32));
            self.body.push(power_code(body / HOP as f32));
        }
        for hop in fast.chunks(4 * HOP) {
            let mut sum = 0.0;
            for &x in hop {
                // high-pass: zero at 0 Hz, 1 at half the rate
                let y = 0.5 * (x - self.last);
                sum += y * y;
                self.last = x;
            }
            self.click.push(power_code(sum / hop.len() as f32));
        }
    }

    pub(crate) fn finish(mut self, seconds: f64) -> LowFrames {
        let hop_s = HOP as f64 / self.rate_hz;
        let whole = ((seconds + self.delay_s) / hop_s).ceil().max(0.0) as usize;
        let mut click = vec![0; self.early_clicks];
        click.append(&mut self.click);
        for codes in [&mut self.low, &mut self.body, &mut click] {
            codes.truncate(whole);
        }
        LowFrames {
            hop_s,
            first_s: 0.5 * hop_s - self.delay_s,
            low: self.low,
            body: self.body,
            click,
        }
    }
}

/// `y(n)^2 - y(n - k) y(n + k)`, for a sine a constant: so the envelope of a low
/// note does not swing with its wave. Source: J. F. Kaiser, "On a simple
/// algorithm to calculate the 'energy' of a signal", ICASSP 1990, with a wider
/// step.
fn energy(past: &[f32; PAST], step: usize) -> f32 {
    past[MIDDLE] * past[MIDDLE] - past[MIDDLE - step] * past[MIDDLE + step]
}

#[derive(Clone, Copy)]
struct OnePole {
    gain: f32,
    state: f32,
}

impl OnePole {
    fn low_pass(cutoff_hz: f64, rate_hz: f64) -> Self {
        Self {
            gain: (1.0 - (-std::f64::consts::TAU * cutoff_hz / rate_hz).exp()) as f32,
            state: 0.0,
        }
    }

    fn process(&mut self, x: f32) -> f32 {
        self.state += self.gain * (x - self.state) + 1e-20;
        self.state
    }
}
