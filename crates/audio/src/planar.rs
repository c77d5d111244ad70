//! Planar 64-bit sound: one vector a channel.

/// A block of sound, one `Vec` per channel, all of one length; 1.0 = full scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Planar {
    /// Samples by channel: left first, then right.
    pub channels: Vec<Vec<f64>>,
}

impl Planar {
    /// A silent block of `channels` channels and `frames` frames.
    pub fn new(channels: usize, frames: usize) -> Self {
        Planar {
            channels: vec![vec![0.0; frames]; channels],
        }
    }

    /// Frames in the block: the length of the first channel, 0 without channels.
    pub fn frames(&self) -> usize {
        self.channels.first().map_or(0, Vec::len)
    }

    /// Drops all frames, keeps the channels and their memory.
    pub fn clear(&mut self) {
        self.channels.iter_mut().for_each(Vec::clear);
    }

    /// Gives the block `channels` channels of `frames` frames each.
    ///
    /// New frames are silent, old ones stay; memory is reused.
    pub fn resize(&mut self, channels: usize, frames: usize) {
        self.channels.resize_with(channels, Vec::new);
        for channel in &mut self.channels {
            channel.resize(frames, 0.0);
        }
    }

    /// Shortens the block to at most `frames` frames.
    pub fn truncate(&mut self, frames: usize) {
        for channel in &mut self.channels {
            channel.truncate(frames);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes() {
        let mut block = Planar::new(2, 3);
        assert_eq!((block.channels.len(), block.frames()), (2, 3));
        block.channels[1][2] = 0.5;
        block.resize(2, 4);
        assert_eq!(block.channels[1], [0.0, 0.0, 0.5, 0.0]);
        block.truncate(1);
        assert_eq!(block.frames(), 1);
        block.clear();
        assert_eq!((block.channels.len(), block.frames()), (2, 0));
        assert_eq!(Planar::default().frames(), 0);
    }
}
