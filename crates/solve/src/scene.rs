//! What the tracks of a passage are together, cell by cell.

use rayon::prelude::*;

/// Cells that are computed side by side.
const LANES: usize = 8;
/// At least so many of these are one task.
const TASK: usize = 8;

/// Values of cells that lie side by side.
type Lanes = [f64; LANES];

/// Real cross-powers of all tracks in every cell of a passage.
///
/// With gains `a` (amplitudes) the sum of the tracks has in cell `c` the power
/// `sum over i, j of a_i a_j C_cij`.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    tracks: usize,
    cells: usize,
    /// Upper triangles of the matrices, row by row, of as many cells as there are
    /// lanes; then those of the next cells. Lanes over the last cell hold 0.
    triangles: Vec<Lanes>,
}

impl Scene {
    /// A scene from the upper triangles of all cells, one after another:
    /// (0,0), (0,1), ..., (1,1), (1,2), ... What is left over at the end of an
    /// incomplete cell is not used.
    pub fn new(tracks: usize, triangles: &[f64]) -> Self {
        let pairs = tracks * (tracks + 1) / 2;
        let cells = triangles.len().checked_div(pairs).unwrap_or(0);
        let mut lanes = vec![[0.0; LANES]; cells.div_ceil(LANES) * pairs];
        for (cell, triangle) in triangles.chunks_exact(pairs.max(1)).enumerate() {
            let first = cell / LANES * pairs;
            for (lanes, value) in lanes[first..].iter_mut().zip(triangle) {
                lanes[cell % LANES] = *value;
            }
        }
        Self {
            tracks,
            cells,
            triangles: lanes,
        }
    }

    /// Number of tracks.
    pub fn tracks(&self) -> usize {
        self.tracks
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.cells
    }

    /// Power of one track alone in a cell.
    pub fn alone(&self, track: usize, cell: usize) -> f64 {
        self.pair(track, track, cell)
    }

    /// Real cross-power of two tracks in a cell.
    pub fn pair(&self, one: usize, other: usize, cell: usize) -> f64 {
        let (i, j) = (one.min(other), one.max(other));
        let place = i * self.tracks + j - i * (i + 1) / 2;
        let lanes = self.triangles.get(cell / LANES * self.pairs() + place);
        lanes.map_or(0.0, |lanes| lanes[cell % LANES])
    }

    /// What each track adds to the power of a cell at gains (amplitudes); the
    /// parts add up to the power. Half the slope of the power by the natural
    /// logarithm of each gain. `parts` has one value a track.
    pub(crate) fn parts(&self, cell: usize, gains: &[f64], parts: &mut [f64]) {
        parts.iter_mut().for_each(|part| *part = 0.0);
        let first = (cell / LANES * self.pairs()).min(self.triangles.len());
        let mut values = self.triangles[first..].iter();
        for i in 0..self.tracks {
            for j in i..self.tracks {
                let value = values.next().map_or(0.0, |lanes| lanes[cell % LANES]);
                let product = gains[i] * gains[j] * value;
                parts[i] += product;
                if j != i {
                    parts[j] += product;
                }
            }
        }
    }

    /// The parts of all cells, one cell after another, as [`Scene::parts`] gives
    /// them, bit for bit.
    pub(crate) fn all_parts(&self, gains: &[f64]) -> Vec<f64> {
        let (tracks, pairs) = (self.tracks, self.pairs());
        let mut parts = vec![0.0; self.cells * tracks];
        if tracks == 0 {
            return parts;
        }
        let factors: Vec<f64> = (0..tracks)
            .flat_map(|i| (i..tracks).map(move |j| gains[i] * gains[j]))
            .collect();
        self.triangles
            .par_chunks(pairs)
            .zip(parts.par_chunks_mut(LANES * tracks))
            .with_min_len(TASK)
            .for_each_init(
                || vec![[0.0; LANES]; tracks],
                |sums, (triangles, parts)| {
                    add_pairs(triangles, &factors, sums);
                    for (lane, cell) in parts.chunks_exact_mut(tracks).enumerate() {
                        let sums = sums.iter().map(|sums| sums[lane]);
                        cell.iter_mut()
                            .zip(sums)
                            .for_each(|(part, sum)| *part = sum);
                    }
                },
            );
        parts
    }

    fn pairs(&self) -> usize {
        self.tracks * (self.tracks + 1) / 2
    }
}

/// The parts of as many cells as there are lanes, by track.
fn add_pairs(triangles: &[Lanes], factors: &[f64], sums: &mut [Lanes]) {
    sums.iter_mut().for_each(|sum| *sum = [0.0; LANES]);
    let mut pairs = triangles.iter().zip(factors);
    for i in 0..sums.len() {
        let (head, rest) = sums.split_at_mut(i + 1);
        let mut own = head[i];
        if let Some((values, factor)) = pairs.next() {
            own.iter_mut()
                .zip(values)
                .for_each(|(sum, value)| *sum += factor * value);
        }
        for (other, (values, factor)) in rest.iter_mut().zip(&mut pairs) {
            for lane in 0..LANES {
                let product = factor * values[lane];
                own[lane] += product;
                other[lane] += product;
            }
        }
        head[i] = own;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up_to_the_power_of_the_sum() {
        // Two equal tracks in phase beside an independent one.
        let scene = Scene::new(3, &[1.0, 1.0, 0.0, 1.0, 0.0, 4.0]);
        assert_eq!((scene.tracks(), scene.cells()), (3, 1));
        assert_eq!(
            (scene.alone(0, 0), scene.alone(1, 0), scene.alone(2, 0)),
            (1.0, 1.0, 4.0)
        );
        let mut parts = [0.0; 3];
        scene.parts(0, &[1.0, 1.0, 0.5], &mut parts);
        assert_eq!(parts, [2.0, 2.0, 1.0]);
    }

    #[test]
    fn all_cells_at_once_are_the_cells_one_by_one_bit_for_bit() {
        // Park and Miller's generator, "minimal standard".
        let mut state = 1u64;
        let mut next = || {
            state = state * 48_271 % 2_147_483_647;
            state as f64 / 2_147_483_647.0 * 2.0 - 1.0
        };
        for (tracks, cells) in [(1, 1), (5, 8), (7, 203)] {
            let pairs = tracks * (tracks + 1) / 2;
            let triangles: Vec<f64> = (0..cells * pairs).map(|_| next()).collect();
            let gains: Vec<f64> = (0..tracks).map(|_| next()).collect();
            let scene = Scene::new(tracks, &triangles);
            assert_eq!(scene.cells(), cells);
            let mut by_cell = Vec::new();
            for cell in 0..cells {
                let mut parts = vec![0.0; tracks];
                scene.parts(cell, &gains, &mut parts);
                by_cell.extend(parts);
            }
            assert_eq!(scene.all_parts(&gains), by_cell);
            let last = scene.alone(tracks - 1, cells - 1);
            assert_eq!(Some(&last), triangles.last());
        }
        assert_eq!(Scene::new(0, &[]).all_parts(&[]), [0.0; 0]);
    }
}
