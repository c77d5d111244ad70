//! Samples in chunks counted from the start of the file, with a bit of the past.

/// One or two channels as they come, cut into chunks whatever the caller's blocks.
#[derive(Clone, Debug)]
pub(crate) struct Intake {
    chunk: usize,
    /// What is kept before a chunk.
    before: usize,
    /// Every channel: `before` frames of the past, then up to `chunk` new ones.
    pub(crate) lines: Vec<Vec<f32>>,
    pub(crate) frames: u64,
}

impl Intake {
    pub(crate) fn new(channels: usize, before: usize, chunk: usize) -> Self {
        let mut line = Vec::with_capacity(before + chunk);
        line.resize(before, 0.0);
        Self {
            chunk,
            before,
            lines: vec![line; channels.clamp(1, 2)],
            frames: 0,
        }
    }

    /// Hands every full chunk, with what went before, to `work`. A block with fewer
    /// channels than promised repeats its last one; samples that are not finite play
    /// as silence.
    pub(crate) fn push(&mut self, block: &[&[f64]], mut work: impl FnMut(&[Vec<f32>])) {
        let Some(&first) = block.first() else { return };
        let shortest = block.iter().map(|channel| channel.len()).min();
        let frames = shortest.unwrap_or(0);
        self.frames += frames as u64;
        let mut from = 0;
        while from < frames {
            let held = self.lines[0].len() - self.before;
            let take = (self.chunk - held).min(frames - from);
            for (place, line) in self.lines.iter_mut().enumerate() {
                let channel = block.get(place).copied().unwrap_or(first);
                line.extend(channel[from..from + take].iter().map(|&x| x as f32));
            }
            from += take;
            if held + take == self.chunk {
                self.hand_on(&mut work);
            }
        }
    }

    /// Hands on what is left, filled up with silence; gives how much of it is sound.
    pub(crate) fn finish(&mut self, work: impl FnOnce(&[Vec<f32>])) -> usize {
        let held = self.lines[0].len() - self.before;
        let mut work = Some(work);
        for line in &mut self.lines {
            line.resize(self.before + self.chunk, 0.0);
        }
        self.hand_on(&mut |lines| {
            if let Some(work) = work.take() {
                work(lines);
            }
        });
        held
    }

    fn hand_on(&mut self, work: &mut impl FnMut(&[Vec<f32>])) {
        for line in &mut self.lines {
            let new = &mut line[self.before..];
            // An "or" needs no order, so many samples are looked at at a time.
            if new.iter().fold(false, |odd, x| odd | !x.is_finite()) {
                let odd = new.iter_mut().filter(|x| !x.is_finite());
                odd.for_each(|x| *x = 0.0);
            }
        }
        work(&self.lines);
        for line in &mut self.lines {
            line.copy_within(self.chunk.., 0);
            line.truncate(self.before);
        }
    }
}
