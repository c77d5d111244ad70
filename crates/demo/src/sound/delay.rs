//! Echo that crosses from side to side.

use super::canvas::Canvas;

/// Prints echoes `delay_s` apart; the first is `wet_db` below the sound, each
/// later one 9 dB lower.
pub(crate) fn print(canvas: &mut Canvas, delay_s: f64, wet_db: f64, sample_rate_hz: f64) {
    const FEEDBACK: f64 = 0.35;
    let length = (delay_s * sample_rate_hz) as usize + 1;
    let wet = libm::pow(10.0, wet_db / 20.0);
    let mut lines = [vec![0.0; length], vec![0.0; length]];
    // each echo is darker than the last
    let mut dark = [0.0; 2];
    let mut place = 0;
    canvas.process(6 * length, |left, right| {
        let echoes = [lines[0][place], lines[1][place]];
        for (state, echo) in dark.iter_mut().zip(echoes) {
            *state += 0.45 * (echo - *state);
        }
        lines[0][place] = 0.7 * left + 0.3 * right + FEEDBACK * dark[1];
        lines[1][place] = FEEDBACK * dark[0];
        place += 1;
        if place == length {
            place = 0;
        }
        (left + wet * dark[0], right + wet * dark[1])
    });
}
