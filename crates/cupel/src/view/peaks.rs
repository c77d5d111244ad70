//! Who eats the headroom, as the report shows it.

use cupel_measure::HighestPeak;
use cupel_report::{PeakMark, PeakRow, PeaksView};
use cupel_units::frames_to_seconds;

use crate::view::State;

/// The highest peaks of the newest mix; `None` for silence.
pub(crate) fn peaks(state: &State<'_>) -> Option<PeaksView> {
    let before = &state.assayed.mix;
    let mix = state.after.map_or(before, |after| &after.mix);
    if mix.highest_peaks.is_empty() {
        return None;
    }
    let tracks = &state.assayed.plan.tracks;
    let rate_hz = state.assayed.plan.sample_rate_hz;
    let peaks = mix.highest_peaks.iter().map(|peak| PeakMark {
        time_s: frames_to_seconds(peak.frame, rate_hz),
        level_dbfs: peak.level_dbfs,
        largest: largest(&peak.shares)
            .and_then(|index| tracks.get(index))
            .map_or_else(String::new, |track| state.name_of(&track.id)),
    });
    let rows = tracks.iter().enumerate().map(|(index, track)| PeakRow {
        track: state.name_of(&track.id),
        share: mean_share(&mix.highest_peaks, index),
        before: state
            .after
            .map(|_| mean_share(&before.highest_peaks, index)),
    });
    Some(PeaksView {
        sentence: String::new(),
        seconds: mix.summary.seconds,
        peaks: peaks.collect(),
        rows: rows.collect(),
    })
}

/// Mean of a track's signed shares, by its place in the plan; 0 without peaks.
pub(crate) fn mean_share(peaks: &[HighestPeak], index: usize) -> f64 {
    let shares = peaks.iter().filter_map(|peak| peak.shares.get(index));
    shares.sum::<f64>() / peaks.len().max(1) as f64
}

/// Place of the largest share, the first of equals.
fn largest(shares: &[f64]) -> Option<usize> {
    let shares = shares.iter().copied().enumerate();
    let largest = shares.reduce(|best, next| if next.1 > best.1 { next } else { best });
    largest.map(|(index, _)| index)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn peak(shares: [f64; 2]) -> HighestPeak {
        HighestPeak {
            frame: 0,
            level_dbfs: -3.0,
            shares: shares.to_vec(),
        }
    }

    #[test]
    fn shares_are_meant_over_all_peaks_with_their_sign() {
        let peaks = [peak([1.25, -0.25]), peak([0.25, 0.75])];
        assert_eq!(mean_share(&peaks, 0), 0.75);
        assert_eq!(mean_share(&peaks, 1), 0.25);
        assert_eq!(mean_share(&[], 0), 0.0);
        assert_eq!(largest(&peaks[1].shares), Some(1));
    }
}
