//! A mix into strands: parts whose spectrum and place in stereo stay alike while
//! their strength moves over the bars.

use crate::bands::BANDS;
use crate::fold::STEPS;
use crate::nmf::{Factors, unlike_columns};
use crate::strand::Strand;

/// Rows a band gives: left, right, and what differs between them.
const VIEWS: usize = 3;
/// Parts looked for.
const PARTS: usize = 12;
const ROUNDS: usize = 40;
/// Bars the sound is folded to.
const FOLD_BARS: usize = 4;
/// Exponent of powers: between power, where only the loudest would count, and
/// the logarithm, where sounds would not add.
const EXPONENT: f32 = 0.35;

/// Takes a mix apart; the strands add up to it.
pub(crate) fn separate(mix: &Strand) -> Vec<Strand> {
    let bars = mix.bars.min(if mix.bars >= 2 * FOLD_BARS {
        FOLD_BARS
    } else {
        mix.bars
    });
    let columns = bars * mix.slots * STEPS;
    if columns == 0 {
        return Vec::new();
    }
    let matrix = views(mix, columns);
    let mut factors = unlike_columns(&matrix, BANDS * VIEWS, columns, PARTS);
    factors.refine(&matrix, ROUNDS, 0.0);
    masked(mix, &factors)
}

fn views(mix: &Strand, columns: usize) -> Vec<f32> {
    let mut matrix = vec![0.0f32; BANDS * VIEWS * columns];
    let mut counts = vec![0.0f32; columns];
    for (index, bands) in mix.cells.iter().enumerate() {
        let column = index % columns;
        counts[column] += 1.0;
        for (band, cell) in bands.iter().enumerate() {
            let views = [
                0.5 * (cell.sum - cell.difference),
                0.5 * (cell.sum + cell.difference),
                0.5 * (cell.sum - 2.0 * cell.cross),
            ];
            for (view, power) in views.into_iter().enumerate() {
                matrix[(band * VIEWS + view) * columns + column] += power.max(0.0);
            }
        }
    }
    for row in matrix.chunks_mut(columns) {
        for (x, count) in row.iter_mut().zip(&counts) {
            *x = (*x / count.max(1.0)).powf(EXPONENT);
        }
    }
    matrix
}

/// Every part's share of every cell, by power.
fn masked(mix: &Strand, factors: &Factors) -> Vec<Strand> {
    let columns = factors.columns;
    let power = 1.0 / EXPONENT;
    let mut shares: Vec<Vec<f32>> = factors
        .shapes
        .iter()
        .zip(&factors.gains)
        .map(|(shape, gains)| {
            let mut share = vec![0.0f32; BANDS * columns];
            for band in 0..BANDS {
                let weight = shape[band * VIEWS] + shape[band * VIEWS + 1];
                for (column, &gain) in gains.iter().enumerate() {
                    share[column * BANDS + band] = (weight * gain).powf(power);
                }
            }
            share
        })
        .collect();
    for at in 0..BANDS * columns {
        let total: f32 = shares.iter().map(|share| share[at]).sum();
        for share in &mut shares {
            share[at] /= total.max(1e-30);
        }
    }
    shares
        .iter()
        .map(|share| {
            let mut strand = mix.clone();
            for (index, bands) in strand.cells.iter_mut().enumerate() {
                let base = (index % columns) * BANDS;
                for (cell, &share) in bands.iter_mut().zip(&share[base..base + BANDS]) {
                    cell.sum *= share;
                    cell.difference *= share;
                    cell.cross *= share;
                }
            }
            strand
        })
        .collect()
}
