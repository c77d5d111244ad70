//! Inner products of all tracks (and the bounce, as the last) over the windows
//! looked at. Everything about gains and sums follows from these.

use nalgebra::DMatrix;

use crate::TrustError;
use crate::feed::Feed;

/// Frames read at once.
pub(crate) const BLOCK_FRAMES: usize = 4096;

/// Gram matrices: one per segment of time, and their sum.
pub(crate) struct Gram {
    pub segments: Vec<DMatrix<f64>>,
    pub total: DMatrix<f64>,
}

impl Gram {
    /// Adds up products over `segments` of `(start, frames)`.
    pub fn measure(
        feed: &mut Feed,
        count: usize,
        segments: &[(u64, usize)],
        mut after_segment: impl FnMut(usize),
    ) -> Result<Self, TrustError> {
        let mut measured = Vec::with_capacity(segments.len());
        let mut total = DMatrix::zeros(count, count);
        for (index, &(start, frames)) in segments.iter().enumerate() {
            let products = products(feed, count, start, frames)?;
            total += &products;
            measured.push(products);
            after_segment(index);
        }
        Ok(Self {
            segments: measured,
            total,
        })
    }
}

fn products(
    feed: &mut Feed,
    count: usize,
    start: u64,
    frames: usize,
) -> Result<DMatrix<f64>, TrustError> {
    let mut sum = DMatrix::zeros(count, count);
    let mut done = 0;
    while done < frames {
        let now = BLOCK_FRAMES.min(frames - done);
        feed.read(start + done as u64, now)?;
        let block = nalgebra::DMatrixView::from_slice(&feed.columns, 2 * BLOCK_FRAMES, count);
        let rows = block.transpose();
        sum.gemm(1.0, &rows, &block, 1.0);
        done += now;
    }
    Ok(sum)
}
