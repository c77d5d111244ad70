//! Kinds of struck layers looked for: where their bands lie and how they die away,
//! a start for the factors. Common practice, no source; only the zone is binding,
//! the shape within it is learnt from the passage.

use crate::bands::BANDS;
use crate::rises::{ROWS, VIEWS};

/// A kind of sound looked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Zone {
    /// First and last band.
    pub(crate) bands: (usize, usize),
    /// First and last of the strongest bands.
    strong: (usize, usize),
    /// Left and right, and their difference.
    stereo: [f32; 3],
    /// Left over before the next sixteenth, and within it.
    kept: [f32; 2],
}

const CENTRE: [f32; 3] = [0.5, 0.5, 0.05];
const LEFT: [f32; 3] = [0.65, 0.35, 0.15];
const RIGHT: [f32; 3] = [0.35, 0.65, 0.15];
const WIDE: [f32; 3] = [0.5, 0.5, 0.4];

const fn zone(
    bands: (usize, usize),
    strong: (usize, usize),
    stereo: [f32; 3],
    kept: [f32; 2],
) -> Zone {
    Zone {
        bands,
        strong,
        stereo,
        kept,
    }
}

/// All of them.
pub(crate) const ZONES: [Zone; 14] = [
    // kick, sub, bass, another bass
    zone((0, 20), (0, 3), CENTRE, [0.35, 0.05]),
    zone((0, 3), (0, 2), CENTRE, [0.5, 0.45]),
    zone((2, 14), (3, 8), CENTRE, [0.45, 0.3]),
    zone((0, 9), (1, 5), CENTRE, [0.45, 0.3]),
    // toms; snare and clap; rim
    zone((2, 10), (4, 7), CENTRE, [0.3, 0.1]),
    zone((4, 25), (12, 20), CENTRE, [0.2, 0.05]),
    zone((8, 20), (10, 16), LEFT, [0.1, 0.02]),
    // notes and chords
    zone((5, 19), (8, 12), CENTRE, [0.45, 0.3]),
    zone((5, 19), (8, 13), WIDE, [0.45, 0.3]),
    zone((9, 21), (12, 17), CENTRE, [0.4, 0.2]),
    // hats, open hat, shaker
    zone((17, 25), (21, 25), LEFT, [0.1, 0.02]),
    zone((17, 25), (20, 24), RIGHT, [0.1, 0.02]),
    zone((17, 25), (20, 25), CENTRE, [0.35, 0.15]),
    zone((17, 25), (19, 22), WIDE, [0.1, 0.02]),
];

impl Zone {
    /// The shape it starts from.
    pub(crate) fn start(&self) -> Vec<f32> {
        let mut shape = vec![0.0; ROWS];
        for band in self.bands.0..=self.bands.1.min(BANDS - 1) {
            let out =
                band.max(self.strong.1) - band.min(self.strong.0) + self.strong.0 - self.strong.1;
            let weight = 0.6f32.powi(out as i32);
            let rows = &mut shape[band * VIEWS..(band + 1) * VIEWS];
            let views = self.stereo.iter().chain(&self.kept);
            for (row, view) in rows.iter_mut().zip(views) {
                *row = weight * view;
            }
        }
        shape
    }
}
