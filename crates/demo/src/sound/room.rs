//! A room: eight delay lines that feed back through a reflection matrix.
//!
//! Source: J.-M. Jot and A. Chaigne, "Digital Delay Networks for Designing
//! Artificial Reverberators", AES 90, 1991: the gain of a line of d seconds is
//! 10^(-3 d / T60). The matrix is Householder's.

use super::canvas::Canvas;
use super::envelope::pole;
use crate::rng::Rng;
use crate::role::Role;

const LINES: usize = 8;

struct Room {
    lines: [Vec<f64>; LINES],
    places: [usize; LINES],
    gains: [f64; LINES],
    damped: [f64; LINES],
    damping: f64,
    before: [Vec<f64>; 2],
    before_place: usize,
    low: [f64; 2],
    low_pole: f64,
    level: f64,
}

impl Room {
    fn new(rt60_s: f64, wet_db: f64, rate: f64, rng: &mut Rng) -> Self {
        // longer rooms have longer paths
        let size = libm::pow(rt60_s / 0.45, 0.4);
        let lengths: [usize; LINES] = std::array::from_fn(|line| {
            let delay_s = 0.0113 * size * libm::pow(1.17, line as f64);
            (delay_s * rng.between(0.96, 1.04) * rate) as usize + 1
        });
        let gains = lengths.map(|n| libm::pow(10.0, -3.0 * n as f64 / rate / rt60_s));
        let kept = gains.iter().map(|g| g * g).sum::<f64>() / LINES as f64;
        let before = (rng.between(0.008, 0.02) * rate) as usize + 1;
        Self {
            lines: lengths.map(|n| vec![0.0; n]),
            places: [0; LINES],
            gains,
            damped: [0.0; LINES],
            damping: pole(1.0 / (std::f64::consts::TAU * 5200.0), rate),
            before: [vec![0.0; before], vec![0.0; before]],
            before_place: 0,
            low: [0.0; 2],
            low_pole: 1.0 - pole(1.0 / (std::f64::consts::TAU * 140.0), rate),
            // energy of the response of lossless mixing, in closed form
            level: libm::pow(10.0, wet_db / 20.0) * libm::sqrt((1.0 - kept) / 4.0),
        }
    }

    fn process(&mut self, left: f64, right: f64) -> (f64, f64) {
        let (from_left, from_right) = self.early(left, right);
        let mut sum = 0.0;
        let (mut wet_left, mut wet_right) = (0.0, 0.0);
        let mut values = [0.0; LINES];
        for (line, kept) in values.iter_mut().enumerate() {
            let value = self.lines[line][self.places[line]];
            self.damped[line] = value + self.damping * (self.damped[line] - value);
            *kept = self.gains[line] * self.damped[line];
            sum += *kept;
            let sign = if line % 4 < 2 { 1.0 } else { -1.0 };
            if line % 2 == 0 {
                wet_left += sign * value;
            } else {
                wet_right += sign * value;
            }
        }
        let reflected = sum * 2.0 / LINES as f64;
        for (line, kept) in values.iter().enumerate() {
            let input = if line % 2 == 0 { from_left } else { from_right };
            self.lines[line][self.places[line]] = input + kept - reflected;
            self.places[line] += 1;
            if self.places[line] == self.lines[line].len() {
                self.places[line] = 0;
            }
        }
        (self.level * wet_left, self.level * wet_right)
    }

    /// Low cut and the way to the first wall.
    fn early(&mut self, left: f64, right: f64) -> (f64, f64) {
        let mut out = [left, right];
        for (side, value) in out.iter_mut().enumerate() {
            self.low[side] += self.low_pole * (*value - self.low[side]);
            let high = *value - self.low[side];
            *value = std::mem::replace(&mut self.before[side][self.before_place], high);
        }
        self.before_place += 1;
        if self.before_place == self.before[0].len() {
            self.before_place = 0;
        }
        (out[0], out[1])
    }
}

/// Adds the room of a role to its track.
pub(crate) fn print(canvas: &mut Canvas, role: Role, rt60_s: f64, rate: f64, rng: &mut Rng) {
    let mut room = Room::new(rt60_s, role.room_wet_db(), rate, rng);
    canvas.process((1.3 * rt60_s * rate) as usize, |left, right| {
        let (wet_left, wet_right) = room.process(left, right);
        (left + wet_left, right + wet_right)
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Energy left after a time t is 10^(-6 t / T60), so the level falls by
    /// 60 dB a T60; read between 0.1 and 0.5 s below the damping.
    #[test]
    fn decays_as_asked() {
        let rate = 48e3;
        let mut room = Room::new(1.0, 0.0, rate, &mut Rng::new(3));
        room.damping = 0.0;
        let mut energy = [0.0f64; 2];
        for n in 0..48_000 {
            let x = if n == 0 { 1.0 } else { 0.0 };
            let (left, right) = room.process(x, 0.0);
            let window = match n {
                4_800..9_600 => 0,
                24_000..28_800 => 1,
                _ => continue,
            };
            energy[window] += left * left + right * right;
        }
        let fall_db = 10.0 * libm::log10(energy[0] / energy[1]);
        // 0.4 s between the windows
        assert!((fall_db - 24.0).abs() < 1.5, "{fall_db}");
    }
}
