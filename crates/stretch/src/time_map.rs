//! Between the passage and the output, straight from anchor to anchor.

/// A rising line through the anchors; beyond its ends it goes on as it went.
pub(crate) struct TimeMap {
    anchors: Vec<(f64, f64)>,
}

impl TimeMap {
    /// Two or more anchors, rising on both sides.
    pub fn new(anchors: &[(f64, f64)]) -> Self {
        Self {
            anchors: anchors.to_vec(),
        }
    }

    /// Where in the output a place of the passage sounds.
    pub fn output(&self, input: f64) -> f64 {
        self.along(input, |&(x, y)| (x, y))
    }

    /// Which place of the passage sounds at a place of the output.
    pub fn input(&self, output: f64) -> f64 {
        self.along(output, |&(x, y)| (y, x))
    }

    fn along(&self, place: f64, sides: impl Fn(&(f64, f64)) -> (f64, f64)) -> f64 {
        let after = self.anchors.partition_point(|pair| sides(pair).0 <= place);
        let index = after.clamp(1, self.anchors.len().saturating_sub(1).max(1));
        match (self.anchors.get(index - 1), self.anchors.get(index)) {
            (Some(low), Some(high)) => {
                let ((x0, y0), (x1, y1)) = (sides(low), sides(high));
                y0 + (place - x0) * (y1 - y0) / (x1 - x0)
            }
            _ => place,
        }
    }
}
