//! One channel out of one or two, in chunks counted from the start of the file.

/// Frames worked on at a time.
pub(crate) const CHUNK: usize = 4096;

/// Collects frames into chunks, so that nothing depends on the caller's blocks.
#[derive(Clone, Debug)]
pub(crate) struct Mixdown {
    channels: usize,
    pub(crate) pending: Vec<f32>,
    pub(crate) frames: u64,
}

impl Mixdown {
    pub(crate) fn new(channels: usize) -> Self {
        Self {
            channels: channels.clamp(1, 2),
            pending: Vec::with_capacity(CHUNK),
            frames: 0,
        }
    }

    /// Hands every full chunk to `work`. Unequal weights, so that no sound cancels
    /// itself; samples that are not finite play as silence.
    pub(crate) fn push(&mut self, block: &[&[f64]], mut work: impl FnMut(&mut Vec<f32>)) {
        let Some(&left) = block.first() else { return };
        let right = match block.get(1) {
            Some(&right) if self.channels > 1 => right,
            _ => left,
        };
        let frames = left.len().min(right.len());
        self.frames += frames as u64;
        let (mut left, mut right) = (&left[..frames], &right[..frames]);
        while !left.is_empty() {
            let take = (CHUNK - self.pending.len()).min(left.len());
            let (now_left, later_left) = left.split_at(take);
            let (now_right, later_right) = right.split_at(take);
            let both = now_left.iter().zip(now_right);
            self.pending
                .extend(both.map(|(l, r)| 0.6 * *l as f32 + 0.4 * *r as f32));
            (left, right) = (later_left, later_right);
            if self.pending.len() == CHUNK {
                self.clean();
                work(&mut self.pending);
                self.pending.clear();
            }
        }
    }

    /// Hands what is left to `work`, filled up with silence to a whole chunk.
    pub(crate) fn finish(&mut self, mut work: impl FnMut(&mut Vec<f32>)) {
        if !self.pending.is_empty() {
            self.pending.resize(CHUNK, 0.0);
            self.clean();
            work(&mut self.pending);
            self.pending.clear();
        }
    }

    fn clean(&mut self) {
        // An "or" needs no order, so many samples are looked at at a time.
        if self
            .pending
            .iter()
            .fold(false, |odd, x| odd | !x.is_finite())
        {
            let odd = self.pending.iter_mut().filter(|x| !x.is_finite());
            odd.for_each(|x| *x = 0.0);
        }
    }
}
