//! What the tracks of a passage are together, cell by cell.

/// Real cross-powers of all tracks in every cell of a passage.
///
/// With gains `a` (amplitudes) the sum of the tracks has in cell `c` the power
/// `sum over i, j of a_i a_j C_cij`.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    tracks: usize,
    /// By cell: upper triangle of the matrix, row by row.
    triangles: Vec<f64>,
    cells: usize,
}

impl Scene {
    /// A scene from the upper triangles of all cells, one after another:
    /// (0,0), (0,1), ..., (1,1), (1,2), ... What is left over at the end of an
    /// incomplete cell is not used.
    pub fn new(tracks: usize, triangles: Vec<f64>) -> Self {
        let pairs = tracks * (tracks + 1) / 2;
        let cells = triangles.len().checked_div(pairs).unwrap_or(0);
        Self {
            tracks,
            triangles,
            cells,
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
        self.triangle(cell).get(place).copied().unwrap_or(0.0)
    }

    /// What each track adds to the power of a cell at gains (amplitudes); the
    /// parts add up to the power. Half the slope of the power by the natural
    /// logarithm of each gain. `parts` has one value a track.
    pub(crate) fn parts(&self, cell: usize, gains: &[f64], parts: &mut [f64]) {
        parts.iter_mut().for_each(|part| *part = 0.0);
        let mut values = self.triangle(cell).iter();
        for i in 0..self.tracks {
            for j in i..self.tracks {
                let value = values.next().copied().unwrap_or(0.0);
                let product = gains[i] * gains[j] * value;
                parts[i] += product;
                if j != i {
                    parts[j] += product;
                }
            }
        }
    }

    fn triangle(&self, cell: usize) -> &[f64] {
        let pairs = self.tracks * (self.tracks + 1) / 2;
        self.triangles
            .get(cell * pairs..(cell + 1) * pairs)
            .unwrap_or(&[])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up_to_the_power_of_the_sum() {
        // Two equal tracks in phase beside an independent one.
        let scene = Scene::new(3, vec![1.0, 1.0, 0.0, 1.0, 0.0, 4.0]);
        assert_eq!((scene.tracks(), scene.cells()), (3, 1));
        assert_eq!(
            (scene.alone(0, 0), scene.alone(1, 0), scene.alone(2, 0)),
            (1.0, 1.0, 4.0)
        );
        let mut parts = [0.0; 3];
        scene.parts(0, &[1.0, 1.0, 0.5], &mut parts);
        assert_eq!(parts, [2.0, 2.0, 1.0]);
    }
}
