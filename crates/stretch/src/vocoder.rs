//! The phase vocoder that lays parts of a passage into a loop.
//!
//! Each frame is shifted in phase, peak by peak, so that it goes on from the frame
//! before it; all bins around a peak turn by the peak's angle (identity phase
//! locking, Laroche and Dolson 1999, section IV), and all channels alike, so that
//! phases between channels stay. Where input and output move at one speed nothing
//! turns, and the sound passes as it is.
//!
//! Lows are cut only where a low hit begins, so that a bass note is not broken by
//! every hat. They are a second layer, whose turns the first takes over below
//! [`HELD_HZ`], so that both fit where they meet.

use crate::layer::Layer;
use crate::parts::Parts;
use crate::plan::Passage;

/// Length of a frame, in seconds; rounded to a power of two.
const WINDOW_S: f64 = 0.085;

/// Frames overlap this many times.
const OVERLAP: i64 = 8;

/// Below the first the lows alone, above the second the rest alone, in Hz.
const CROSSOVER_HZ: (f64, f64) = (130.0, 190.0);

/// Below this the rest turns as the lows do, in Hz.
const HELD_HZ: f64 = 240.0;

/// Lays the loop; `gain` by frequency in Hz.
pub(crate) fn render(
    passage: &Passage,
    parts: &Parts,
    rate_hz: f64,
    gain: impl Fn(f64) -> f64,
) -> Vec<Vec<f64>> {
    let exponent = libm::log2(WINDOW_S * rate_hz).round().max(6.0);
    let length = 1_usize << exponent as usize;
    let hz = |bin: usize| bin as f64 * rate_hz / length as f64;
    let bins = 0..=length / 2;
    let held = bins.clone().take_while(|&bin| hz(bin) < HELD_HZ).count();
    let low_gains: Vec<f64> = bins
        .clone()
        .map(|bin| gain(hz(bin)) * lows(hz(bin)))
        .collect();
    let gains: Vec<f64> = bins
        .map(|bin| gain(hz(bin)) * (1.0 - lows(hz(bin))))
        .collect();
    let mut low = Layer::new(&passage.channels, &low_gains);
    let mut rest = Layer::new(&passage.channels, &gains);
    let mut output = vec![vec![0.0; passage.output_frames()]; passage.channels.len()];
    for (index, part) in parts.parts.iter().enumerate() {
        let low_part = parts.low_part(index);
        rest.begin(*part);
        if let Some(low_part) = low_part {
            if index > 0 {
                low.end(&mut output);
            }
            low.begin(low_part);
            low.add();
        }
        take_over(&low, &mut rest, held);
        rest.add();
        for middle in parts.middles(part, length as i64 / OVERLAP) {
            low.proceed(middle);
            low.add();
            rest.proceed(middle);
            take_over(&low, &mut rest, held);
            rest.add();
        }
        rest.end(&mut output);
    }
    low.end(&mut output);
    output
}

fn take_over(low: &Layer, rest: &mut Layer, held: usize) {
    for (turn, low) in rest.turn.iter_mut().zip(&low.turn).take(held) {
        *turn = *low;
    }
}

/// How much of a frequency belongs to the lows, from 1 to 0.
fn lows(hz: f64) -> f64 {
    let (from, to) = CROSSOVER_HZ;
    let place = libm::log2(hz.max(1.0) / from) / libm::log2(to / from);
    0.5 + 0.5 * libm::cos(std::f64::consts::PI * place.clamp(0.0, 1.0))
}
