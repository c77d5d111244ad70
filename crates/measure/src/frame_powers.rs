//! Powers of spectra of one or two sides, and long sums of them.

use crate::wide::wide;

/// Frames added in single precision before they go to double precision.
const FRAMES_A_FLUSH: usize = 16;

/// Powers of the bins: left, right and left times right (real part); the last
/// two are empty for one channel.
#[derive(Clone, Debug, Default)]
pub(crate) struct Powers<T> {
    pub left: Vec<T>,
    pub right: Vec<T>,
    pub cross: Vec<T>,
}

impl<T: Copy + Default> Powers<T> {
    pub fn new(bins: usize, channels: usize) -> Self {
        let second = if channels == 2 { bins } else { 0 };
        Self {
            left: vec![T::default(); bins],
            right: vec![T::default(); second],
            cross: vec![T::default(); second],
        }
    }

    pub fn parts(&mut self) -> [&mut Vec<T>; 3] {
        [&mut self.left, &mut self.right, &mut self.cross]
    }
}

/// Adds frames up: short runs in single precision, those in double precision.
#[derive(Clone, Debug)]
pub(crate) struct PowerSums {
    pending: Powers<f32>,
    frames: usize,
    total: Powers<f64>,
}

impl PowerSums {
    pub fn new(bins: usize, channels: usize) -> Self {
        Self {
            pending: Powers::new(bins, channels),
            frames: 0,
            total: Powers::new(bins, channels),
        }
    }

    pub fn add(&mut self, frame: &mut Powers<f32>) {
        for (sums, powers) in self.pending.parts().into_iter().zip(frame.parts()) {
            add(sums, powers);
        }
        self.frames += 1;
        if self.frames == FRAMES_A_FLUSH {
            self.flush();
        }
    }

    fn flush(&mut self) {
        for (total, pending) in self.total.parts().into_iter().zip(self.pending.parts()) {
            move_up(total, pending);
        }
        self.frames = 0;
    }

    pub fn finish(mut self) -> Powers<f64> {
        self.flush();
        self.total
    }
}

wide! {
    fn add(sums: &mut [f32], powers: &[f32]) {
        for (sum, power) in sums.iter_mut().zip(powers) {
            *sum += power;
        }
    }
}

wide! {
    fn move_up(total: &mut [f64], pending: &mut [f32]) {
        for (sum, power) in total.iter_mut().zip(pending) {
            *sum += f64::from(*power);
            *power = 0.0;
        }
    }
}
