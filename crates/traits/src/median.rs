//! Medians: of a few values, and of many in little memory.

/// Middle value; of an even number the lower of both. `None` for nothing.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len().checked_sub(1)? / 2;
    Some(values[middle])
}

/// Counts values in steps, so that a median costs no memory by their number.
#[derive(Clone, Debug)]
pub(crate) struct Histogram {
    step: f64,
    counts: Vec<u32>,
}

impl Histogram {
    /// Values from 0 to `steps` times `step`; what lies outside counts at the edge.
    pub(crate) fn new(step: f64, steps: usize) -> Self {
        Self {
            step,
            counts: vec![0; steps],
        }
    }

    pub(crate) fn add(&mut self, value: f64) {
        let last = self.counts.len() - 1;
        let place = (value / self.step).clamp(0.0, last as f64) as usize;
        self.counts[place] += 1;
    }

    pub(crate) fn count(&self) -> u32 {
        self.counts.iter().sum()
    }

    /// How many values lie below `value`.
    pub(crate) fn below(&self, value: f64) -> u32 {
        let end = (value / self.step).clamp(0.0, self.counts.len() as f64) as usize;
        self.counts[..end].iter().sum()
    }

    /// Middle of the step that holds the median.
    pub(crate) fn median(&self) -> Option<f64> {
        let half = self.count().div_ceil(2);
        let mut seen = 0;
        let place = self.counts.iter().position(|&count| {
            seen += count;
            count > 0 && seen >= half
        })?;
        Some((place as f64 + 0.5) * self.step)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn both_medians_agree() {
        assert_eq!(median(vec![]), None);
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        let mut counted = Histogram::new(0.1, 100);
        assert_eq!(counted.median(), None);
        [3.0, 1.0, 2.04]
            .into_iter()
            .for_each(|value| counted.add(value));
        assert!((counted.median().unwrap() - 2.05).abs() < 1e-9);
        assert_eq!(counted.below(2.5), 2);
    }
}
