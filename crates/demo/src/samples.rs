//! Samples of a finished track, with its silences left out of memory.

use crate::sound::Canvas;

/// A block that stays below this (-150 dBFS before levels) is taken for silence.
const SILENCE_LINEAR: f32 = 3.2e-8;

/// Frames in a block.
const BLOCK: usize = 8192;

/// Planar samples, one or two channels, 1.0 = full scale.
#[derive(Clone, Debug)]
pub struct Samples {
    frames: usize,
    channels: Vec<Vec<Option<Box<[f32]>>>>,
}

impl Samples {
    pub(crate) fn pack(canvas: &Canvas) -> Self {
        let pack = |channel: &Vec<f32>| {
            channel
                .chunks(BLOCK)
                .map(|block| {
                    block
                        .iter()
                        .any(|x| x.abs() > SILENCE_LINEAR)
                        .then(|| block.into())
                })
                .collect()
        };
        Self {
            frames: canvas.frames(),
            channels: canvas.channels.iter().map(pack).collect(),
        }
    }

    /// Length in frames.
    pub fn frames(&self) -> usize {
        self.frames
    }

    /// 1 or 2.
    pub fn channels(&self) -> usize {
        self.channels.len()
    }

    /// Ends the samples earlier.
    pub(crate) fn cut(&mut self, frames: usize) {
        self.frames = self.frames.min(frames);
    }

    /// Copies one channel from `start` on; frames past the end are 0. A mono
    /// track gives its channel for both.
    pub fn read(&self, channel: usize, start: usize, out: &mut [f64]) {
        out.fill(0.0);
        let blocks = &self.channels[channel.min(self.channels.len() - 1)];
        let end = (start + out.len()).min(self.frames);
        let mut place = start;
        while place < end {
            let block = place / BLOCK;
            let stop = ((block + 1) * BLOCK).min(end);
            if let Some(samples) = &blocks[block] {
                let inside = &samples[place - block * BLOCK..stop - block * BLOCK];
                for (out, &sample) in out[place - start..].iter_mut().zip(inside) {
                    *out = f64::from(sample);
                }
            }
            place = stop;
        }
    }

    /// Multiplies every sample, then adds a constant; rounded to 32 bits as the
    /// file will be. With a constant every block is kept.
    pub(crate) fn scale(&mut self, gain_linear: f64, constant: f64) {
        let frames = self.frames;
        for channel in &mut self.channels {
            for (index, block) in channel.iter_mut().enumerate() {
                if block.is_none() && constant != 0.0 {
                    let length = BLOCK.min(frames - (index * BLOCK).min(frames));
                    *block = Some(vec![0.0; length].into());
                }
                for sample in block.iter_mut().flat_map(|block| block.iter_mut()) {
                    *sample = (f64::from(*sample) * gain_linear + constant) as f32;
                }
            }
        }
    }

    /// Highest magnitude of any sample.
    pub fn peak_linear(&self) -> f64 {
        let blocks = self.channels.iter().flatten().flatten();
        let peak = blocks
            .flat_map(|block| block.iter())
            .fold(0.0f32, |peak, x| peak.max(x.abs()));
        f64::from(peak)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_back_what_was_packed() {
        let mut canvas = Canvas::new(2, 3 * BLOCK + 10);
        canvas.add(2 * BLOCK - 1, 0.5, -0.25);
        canvas.add(3 * BLOCK + 9, 1.0, 0.0);
        let samples = Samples::pack(&canvas);
        let mut out = vec![0.0; 3 * BLOCK + 20];
        samples.read(1, 0, &mut out);
        assert_eq!(out[2 * BLOCK - 1], -0.25);
        assert_eq!(out.iter().filter(|x| **x != 0.0).count(), 1);
        samples.read(0, BLOCK + 3, &mut out);
        assert_eq!(out[BLOCK - 4], 0.5);
        assert_eq!(out[2 * BLOCK + 6], 1.0);
        assert_eq!(samples.peak_linear(), 1.0);
    }
}
