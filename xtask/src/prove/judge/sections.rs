//! Section boundaries and the busiest passage.
//!
//! Boundaries: F-measure of those inside the music, one bar either way (the measure
//! of MIREX structural segmentation with a window of one bar). Passage: at least 0.8
//! of it lies in a section marked busiest, or it is as good as the best: within
//! 0.5 LU and one layer of the best passage of its length.

use crate::prove::answers::{Music, Section, Span};
use crate::prove::judge::beats::f_measure;
use crate::prove::truth::{Bar, TrueMusic};

/// Loudness by which a passage may be below the best.
const LOUDNESS_LU: f64 = 0.5;
/// Layers by which a passage may be below the best.
const LAYERS: f64 = 1.0;

/// Starts of all sections but the first, in seconds.
fn boundaries(sections: &[Section]) -> Vec<f64> {
    let mut starts: Vec<f64> = sections.iter().skip(1).map(|s| s.start_s).collect();
    starts.sort_by(f64::total_cmp);
    starts
}

/// F-measure at one bar; 0 without an answer.
pub(crate) fn boundary_f(truth: &TrueMusic, answer: &Music) -> f64 {
    let Some(found) = &answer.sections else {
        return 0.0;
    };
    f_measure(
        &boundaries(&truth.sections),
        &boundaries(found),
        truth.bar_s(),
    )
}

/// Share of the passage that counts as busiest: its overlap with sections marked so,
/// or 1 where it is as good as the best. `None` without an answer.
pub(crate) fn passage_share(truth: &TrueMusic, answer: &Music) -> Option<f64> {
    let passage = answer.passage?;
    let length_s = passage.end_s - passage.start_s;
    if length_s <= 0.0 {
        return Some(0.0);
    }
    let overlap_s: f64 = truth
        .sections
        .iter()
        .filter(|section| section.busiest)
        .map(|section| {
            (passage.end_s.min(section.end_s) - passage.start_s.max(section.start_s)).max(0.0)
        })
        .sum();
    if is_as_good(&truth.bars, passage, truth.bar_s()) {
        return Some(1.0);
    }
    Some((overlap_s / length_s).min(1.0))
}

/// Mean loudness and layers of some bars; `None` if one is silent.
fn mean(bars: &[Bar]) -> Option<(f64, f64)> {
    if bars.is_empty() {
        return None;
    }
    let mut energy = 0.0;
    for bar in bars {
        energy += 10f64.powf(bar.lufs? / 10.0);
    }
    let count = bars.len() as f64;
    let layers = bars.iter().map(|bar| bar.layers as f64).sum::<f64>() / count;
    Some((10.0 * (energy / count).log10(), layers))
}

/// Whether the bars of the passage come near the passage of that many bars with most
/// layers, and the loudest of these.
fn is_as_good(bars: &[Bar], passage: Span, bar_s: f64) -> bool {
    let inside: Vec<Bar> = bars
        .iter()
        .filter(|bar| {
            let middle_s = bar.start_s + 0.5 * bar_s;
            middle_s > passage.start_s && middle_s < passage.end_s
        })
        .copied()
        .collect();
    let Some((own_lufs, own_layers)) = mean(&inside) else {
        return false;
    };
    let all: Vec<(f64, f64)> = bars.windows(inside.len()).filter_map(mean).collect();
    let most = all.iter().map(|(_, layers)| *layers).fold(0.0, f64::max);
    let loudest = all
        .iter()
        .filter(|(_, layers)| *layers >= most - 1e-9)
        .map(|(lufs, _)| *lufs)
        .fold(f64::NEG_INFINITY, f64::max);
    own_lufs >= loudest - LOUDNESS_LU && own_layers >= most - LAYERS
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::judge::tempo::tests::truth;
    use serde_json::json;

    fn sections(starts: &[f64], end_s: f64) -> Vec<Section> {
        let ends = starts.iter().skip(1).copied().chain([end_s]);
        starts
            .iter()
            .zip(ends)
            .map(|(&start_s, end_s)| Section {
                name: "drop".to_owned(),
                start_s,
                end_s,
                busiest: false,
            })
            .collect()
    }

    fn answer(starts: &[f64]) -> Music {
        Music {
            sections: Some(sections(starts, 64.0)),
            ..Music::default()
        }
    }

    #[test]
    fn boundaries_within_a_bar_count_once() {
        let mut truth = truth(json!({}));
        truth.sections = sections(&[0.0, 16.0, 32.0, 48.0], 64.0);
        assert_eq!(boundary_f(&truth, &answer(&[0.0, 16.0, 33.9, 47.0])), 1.0);
        assert_eq!(boundary_f(&truth, &answer(&[0.0, 20.0, 36.0, 52.0])), 0.0);
        // one right of one found, of three true
        assert_eq!(boundary_f(&truth, &answer(&[0.0, 16.0])), 0.5);
        assert_eq!(boundary_f(&truth, &Music::default()), 0.0);
    }

    fn passage(start_s: f64, end_s: f64) -> Music {
        Music {
            passage: Some(Span { start_s, end_s }),
            ..Music::default()
        }
    }

    #[test]
    fn a_passage_lies_in_the_busiest_or_is_as_good() {
        // 32 bars of 2 s; bars 8 to 15 are marked, 20 to 27 are as full
        let mut truth = truth(json!({ "first_downbeat_s": 0.0 }));
        truth.sections = sections(&[0.0, 16.0, 32.0], 64.0);
        truth.sections[1].busiest = true;
        truth.bars = (0..32)
            .map(|bar| {
                let full = (8..16).contains(&bar) || (20..28).contains(&bar);
                Bar {
                    start_s: 2.0 * f64::from(bar),
                    layers: if full { 9 } else { 5 },
                    lufs: Some(if full { -10.0 } else { -14.0 }),
                }
            })
            .collect();
        assert_eq!(passage_share(&truth, &passage(16.0, 32.0)), Some(1.0));
        assert_eq!(passage_share(&truth, &passage(40.0, 56.0)), Some(1.0));
        assert_eq!(passage_share(&truth, &passage(8.0, 24.0)), Some(0.5));
        assert_eq!(passage_share(&truth, &passage(0.0, 16.0)), Some(0.0));
        assert_eq!(passage_share(&truth, &Music::default()), None);
    }
}
