//! Names of sections, from energy, layers and timbre.

use crate::bar_frames::Bars;
use crate::form::SectionName;

/// The lowest critical bands, to 200 Hz: kick and bass.
const LOW_BANDS: std::ops::Range<usize> = 0..2;

/// Names the sections between `cuts`, given which are busiest.
pub(crate) fn names(bars: &Bars, cuts: &[usize], busiest: &[bool]) -> Vec<SectionName> {
    let count = busiest.len();
    let low: Vec<f32> = cuts
        .windows(2)
        .map(|cut| bars.mean_level(cut[0]..cut[1], LOW_BANDS))
        .collect();
    let full = low
        .iter()
        .zip(busiest)
        .filter(|(_, busiest)| **busiest)
        .map(|(low, _)| *low)
        .fold(0.0, f32::max);
    let first_drop = busiest.iter().position(|&b| b).unwrap_or(0);
    (0..count)
        .map(|index| {
            if busiest[index] {
                SectionName::Drop
            } else if index == 0 {
                SectionName::Intro
            } else if index + 1 == count {
                SectionName::Outro
            } else if busiest[index + 1] || (index < first_drop && low[index] > full - 8.0) {
                SectionName::Build
            } else {
                SectionName::Break
            }
        })
        .collect()
}
