//! Non-negative factors of a matrix, by the generalised Kullback-Leibler
//! divergence.
//!
//! Source: D. D. Lee and H. S. Seung, "Algorithms for non-negative matrix
//! factorization", NIPS 13, 2001, equation 5. Nothing is drawn by chance: the
//! start is the caller's.

/// A matrix as sum of products; rows by columns, rank in between.
#[derive(Clone, Debug)]
pub(crate) struct Factors {
    pub(crate) columns: usize,
    /// By component, then row; each sums to 1.
    pub(crate) shapes: Vec<Vec<f32>>,
    /// By component, then column.
    pub(crate) gains: Vec<Vec<f32>>,
}

const TINY: f32 = 1e-9;

impl Factors {
    /// Brings `shapes` and `gains` nearer to `matrix` (row by row). `hold` keeps
    /// shapes near those they start from, as if so much of all gains had been
    /// seen of them before; 0 for the plain rule.
    pub(crate) fn refine(&mut self, matrix: &[f32], rounds: usize, hold: f32) {
        let starts = self.shapes.clone();
        let mut model = vec![0.0; matrix.len()];
        for _ in 0..rounds {
            self.ratio(matrix, &mut model);
            for (shape, gains) in self.shapes.iter().zip(&mut self.gains) {
                let mut pull = vec![0.0f32; self.columns];
                for (row, &weight) in shape.iter().enumerate() {
                    let from = &model[row * self.columns..(row + 1) * self.columns];
                    for (to, &ratio) in pull.iter_mut().zip(from) {
                        *to += weight * ratio;
                    }
                }
                for (gain, &pull) in gains.iter_mut().zip(&pull) {
                    *gain *= pull;
                }
            }
            self.ratio(matrix, &mut model);
            let parts = self.shapes.iter_mut().zip(&self.gains).zip(&starts);
            for ((shape, gains), start) in parts {
                let held = hold * gains.iter().sum::<f32>();
                for (row, weight) in shape.iter_mut().enumerate() {
                    let from = &model[row * self.columns..(row + 1) * self.columns];
                    *weight = *weight * dot(from, gains) + held * start[row];
                }
            }
            self.normalise();
        }
    }

    /// Every shape sums to 1; the gains take up the rest.
    pub(crate) fn normalise(&mut self) {
        for shape in &mut self.shapes {
            let sum: f32 = shape.iter().sum();
            if sum > TINY {
                shape.iter_mut().for_each(|weight| *weight /= sum);
            }
        }
    }

    /// `matrix` over the model.
    fn ratio(&self, matrix: &[f32], model: &mut [f32]) {
        self.model(model);
        for (model, &value) in model.iter_mut().zip(matrix) {
            *model = value / (*model + TINY);
        }
    }

    /// The sum of products.
    pub(crate) fn model(&self, model: &mut [f32]) {
        model.fill(0.0);
        for (shape, gains) in self.shapes.iter().zip(&self.gains) {
            for (row, &weight) in shape.iter().enumerate() {
                if weight > 0.0 {
                    let to = &mut model[row * self.columns..(row + 1) * self.columns];
                    for (to, &gain) in to.iter_mut().zip(gains) {
                        *to += weight * gain;
                    }
                }
            }
        }
    }
}

/// Sum of products in eight lanes.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0f32; 8];
    let (whole_a, rest_a) = a.as_chunks::<8>();
    let (whole_b, rest_b) = b.as_chunks::<8>();
    for (a, b) in whole_a.iter().zip(whole_b) {
        for lane in 0..8 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    let rest: f32 = rest_a.iter().zip(rest_b).map(|(a, b)| a * b).sum();
    lanes.iter().sum::<f32>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_is_taken_apart() {
        // closed form: the matrix is exactly of rank 2 and each part has a row
        // and a column of its own
        let shapes = [[4.0f32, 1.0, 0.0], [0.0, 1.0, 2.0]];
        let gains = [[1.0f32, 0.0, 2.0, 0.5], [0.0, 3.0, 1.0, 0.2]];
        let mut matrix = vec![0.0f32; 12];
        for part in 0..2 {
            for row in 0..3 {
                for column in 0..4 {
                    matrix[row * 4 + column] += shapes[part][row] * gains[part][column];
                }
            }
        }
        let mut factors = Factors {
            columns: 4,
            shapes: vec![vec![0.8, 0.1, 0.1], vec![0.1, 0.1, 0.8]],
            gains: vec![vec![1.0; 4]; 2],
        };
        factors.refine(&matrix, 500, 0.0);
        let mut model = vec![0.0; 12];
        factors.model(&mut model);
        for (model, exact) in model.iter().zip(&matrix) {
            assert!((model - exact).abs() < 0.02, "{model} {exact}");
        }
        let first = factors.shapes.iter().find(|shape| shape[0] > 0.5);
        assert!((first.map_or(0.0, |shape| shape[0]) - 0.8).abs() < 0.02);
    }
}
