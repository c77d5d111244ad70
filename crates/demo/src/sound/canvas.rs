//! The samples of one track while it is made.

/// A single sound, one or two channels of one length.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shot {
    pub(crate) left: Vec<f64>,
    /// Empty where both sides are the same.
    pub(crate) right: Vec<f64>,
}

/// Planar samples of a whole track, 1.0 = full scale. Sums are made in 64 bits
/// sound by sound and kept in 32.
#[derive(Clone, Debug)]
pub(crate) struct Canvas {
    pub(crate) channels: Vec<Vec<f32>>,
}

/// Silence is looked for in runs of this many frames.
const RUN: usize = 1024;

impl Canvas {
    pub(crate) fn new(channels: usize, frames: usize) -> Self {
        Self {
            channels: vec![vec![0.0; frames]; channels],
        }
    }

    pub(crate) fn frames(&self) -> usize {
        self.channels[0].len()
    }

    /// Cuts the start away.
    pub(crate) fn drop_first(&mut self, frames: usize) {
        for channel in &mut self.channels {
            channel.drain(..frames.min(channel.len()));
        }
    }

    /// Adds one frame; a mono canvas takes the left.
    #[inline]
    pub(crate) fn add(&mut self, frame: usize, left: f64, right: f64) {
        if let Some(sample) = self.channels[0].get_mut(frame) {
            *sample += left as f32;
        }
        if let Some(sample) = self.channels.get_mut(1).and_then(|c| c.get_mut(frame)) {
            *sample += right as f32;
        }
    }

    /// Adds a sound, cut off after `longest` frames with a fade of 3 ms.
    pub(crate) fn place(
        &mut self,
        at: usize,
        shot: &Shot,
        gain: f64,
        longest: usize,
        sample_rate_hz: f64,
    ) {
        let fade = (0.003 * sample_rate_hz) as usize;
        let count = shot.left.len().min(longest);
        let cut = count < shot.left.len();
        let right = if shot.right.is_empty() {
            &shot.left
        } else {
            &shot.right
        };
        let sides = shot.left.iter().zip(right).take(count);
        for (index, (&to_left, &to_right)) in sides.enumerate() {
            let left = count - index;
            let gain = if cut && left < fade {
                gain * left as f64 / fade as f64
            } else {
                gain
            };
            self.add(at + index, gain * to_left, gain * to_right);
        }
    }

    /// Runs a process with memory over the canvas, left out where the canvas
    /// has been silent for `tail` frames. A mono canvas is passed on both sides.
    pub(crate) fn process(&mut self, tail: usize, mut process: impl FnMut(f64, f64) -> (f64, f64)) {
        let frames = self.frames();
        let mut silent = tail;
        for start in (0..frames).step_by(RUN) {
            let end = (start + RUN).min(frames);
            let sounds = self
                .channels
                .iter()
                .any(|channel| channel[start..end].iter().any(|&x| x != 0.0));
            if !sounds && silent >= tail {
                continue;
            }
            silent = if sounds { 0 } else { silent + RUN };
            for frame in start..end {
                let left = f64::from(self.channels[0][frame]);
                let right = self.channels.get(1).map_or(left, |c| f64::from(c[frame]));
                let (left, right) = process(left, right);
                self.channels[0][frame] = left as f32;
                if let Some(channel) = self.channels.get_mut(1) {
                    channel[frame] = right as f32;
                }
            }
        }
    }

    /// Sine-cosine pan, 0 dB at the centre, -1 is left; no effect on mono.
    pub(crate) fn pan(&mut self, pan: f64) {
        if pan == 0.0 || self.channels.len() < 2 {
            return;
        }
        let angle = (pan + 1.0) * std::f64::consts::FRAC_PI_4;
        let gains = [libm::cos(angle), libm::sin(angle)].map(|g| g * std::f64::consts::SQRT_2);
        for (channel, gain) in self.channels.iter_mut().zip(gains) {
            channel
                .iter_mut()
                .for_each(|x| *x = (f64::from(*x) * gain) as f32);
        }
    }
}
