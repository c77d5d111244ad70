//! A bent time axis: file time against the time of an even grid.

use crate::onset_curve::Onsets;
use crate::onset_hits::Hit;

/// Two axes in step: `even_s[k]` is `file_s[k]`, straight lines between.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Warp {
    even_s: Vec<f64>,
    file_s: Vec<f64>,
}

impl Warp {
    /// Beats at `file_s`, at least two and rising, become even ones `period_s`
    /// apart, the first at `lead_s`.
    pub(crate) fn of_beats(file_s: Vec<f64>, period_s: f64) -> Self {
        let lead_s = file_s.first().copied().unwrap_or(0.0);
        let even_s = (0..file_s.len())
            .map(|k| lead_s + k as f64 * period_s)
            .collect();
        Self { even_s, file_s }
    }

    /// File time of a time on the even axis.
    pub(crate) fn to_file(&self, even_s: f64) -> f64 {
        through(&self.even_s, &self.file_s, even_s)
    }

    /// Time on the even axis of a file time.
    pub(crate) fn to_even(&self, file_s: f64) -> f64 {
        through(&self.file_s, &self.even_s, file_s)
    }

    /// The onsets as they would be on the even axis; its 0 is `start_s`.
    pub(crate) fn straighten<'a>(&self, curve: &Onsets<'a>) -> Onsets<'a> {
        let end_s = self.to_even(curve.seconds);
        let hops = (end_s / curve.hop_s).max(0.0) as usize;
        let places: Vec<usize> = (0..hops)
            .map(|hop| {
                let file_s = self.to_file(hop as f64 * curve.hop_s);
                (file_s / curve.hop_s).round().max(0.0) as usize
            })
            .collect();
        let bend = |values: &Vec<f32>| -> Vec<f32> {
            let at = |&place: &usize| values.get(place).copied().unwrap_or(0.0);
            places.iter().map(at).collect()
        };
        let hits = curve.hits.iter().map(|hit| Hit {
            time_s: self.to_even(hit.time_s),
            ..*hit
        });
        Onsets {
            hop_s: curve.hop_s,
            seconds: end_s.max(0.0),
            rises: std::array::from_fn(|band| bend(&curve.rises[band])),
            powers: std::array::from_fn(|band| bend(&curve.powers[band])),
            means: curve.means,
            hits: hits.filter(|hit| hit.time_s >= 0.0).collect(),
            harmony: curve.harmony.clone(),
            warp: Some(self.clone()),
        }
    }
}

/// `to` at the place of `x` in `from`, which rises; beyond the ends the outer
/// pieces go on.
fn through(from: &[f64], to: &[f64], x: f64) -> f64 {
    let last = from.len().min(to.len());
    if last < 2 {
        return x;
    }
    let piece = from.partition_point(|&f| f <= x).clamp(1, last - 1);
    let (a, b) = (from[piece - 1], from[piece]);
    let share = (x - a) / (b - a);
    to[piece - 1] + share * (to[piece] - to[piece - 1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let warp = Warp::of_beats(vec![0.3, 0.8, 1.4, 1.9], 0.5);
        for time_s in [-0.2, 0.3, 1.0, 1.65, 3.0] {
            let back_s = warp.to_file(warp.to_even(time_s));
            assert!((back_s - time_s).abs() < 1e-12, "{back_s} for {time_s}");
        }
        assert!((warp.to_even(1.4) - 1.3).abs() < 1e-12);
    }
}
