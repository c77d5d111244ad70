//! The dip under each kick, as a sidechain compressor would print it.

use super::Booth;
use super::canvas::Canvas;

/// Lowers the canvas by up to `depth_db` at each kick, down in 4 ms and back
/// within most of a beat.
pub(crate) fn print(canvas: &mut Canvas, booth: &Booth<'_>, depth_db: f64) {
    let rate = booth.sample_rate_hz;
    let attack = (0.004 * rate) as usize;
    let release_s = (0.75 * booth.grid.beat_s()).min(0.32);
    let release = (release_s * rate) as usize;
    let curve: Vec<f64> = (0..attack + release)
        .map(|n| {
            let depth = if n < attack {
                n as f64 / attack as f64
            } else {
                let back = 1.0 - (n - attack) as f64 / release as f64;
                back * back * (3.0 - 2.0 * back)
            };
            libm::pow(10.0, -depth_db * depth / 20.0)
        })
        .collect();
    for (index, &kick_s) in booth.kick_times_s.iter().enumerate() {
        let at = booth.frame(kick_s);
        let next = booth
            .kick_times_s
            .get(index + 1)
            .map_or(usize::MAX, |&next_s| booth.frame(next_s));
        for channel in &mut canvas.channels {
            let end = channel.len().min(next);
            for (sample, gain) in channel[at.min(end)..end].iter_mut().zip(&curve) {
                *sample = (f64::from(*sample) * gain) as f32;
            }
        }
    }
}
