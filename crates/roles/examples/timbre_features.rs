//! Writes the figures of the classifier for sounds on standard input; used by the
//! scripts in `fit`.
//!
//! Each sound: sample rate, channels and frames as little-endian `u32`, then
//! interleaved `f32`. Each answer: one line of figures, empty for silence.

use cupel_roles::TimbreMeter;
use std::io::{self, BufRead, Read, Write};

fn main() -> io::Result<()> {
    let mut input = io::stdin().lock();
    let mut output = io::stdout().lock();
    while !input.fill_buf()?.is_empty() {
        let mut head = [[0u8; 4]; 3];
        for word in &mut head {
            input.read_exact(word)?;
        }
        let [rate, channels, frames] = head.map(u32::from_le_bytes);
        let channels = channels.max(1) as usize;
        let mut bytes = vec![0u8; frames as usize * channels * 4];
        input.read_exact(&mut bytes)?;
        let samples: Vec<f64> = bytes
            .as_chunks::<4>()
            .0
            .iter()
            .map(|&b| f64::from(f32::from_le_bytes(b)))
            .collect();
        let sides: Vec<Vec<f64>> = (0..channels.min(2))
            .map(|c| samples.iter().skip(c).step_by(channels).copied().collect())
            .collect();
        let mut meter = TimbreMeter::new(rate, channels);
        let count = frames as usize;
        for from in (0..count).step_by(4096) {
            let to = (from + 4096).min(count);
            let block: Vec<&[f64]> = sides.iter().map(|side| &side[from..to]).collect();
            meter.push(&block);
        }
        let found = meter.finish();
        let line: Vec<String> = found.features().iter().map(f32::to_string).collect();
        writeln!(output, "{}", line.join(" "))?;
        output.flush()?;
    }
    Ok(())
}
