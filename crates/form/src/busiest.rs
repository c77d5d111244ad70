//! Which sections are busiest, and the busiest passage.

use crate::bar_frames::Bars;
use crate::form::SectionName;
use crate::naming::name;
use crate::semi_markov::Run;
use cupel_measure::LoudnessCurve;

/// A drop further below the best one in loudness is not among the busiest, LU.
const LOUDNESS_SLACK: f32 = 2.5;
/// The same in layers, and in mean band level (dB) where layers are not known.
const LAYER_SLACK: f32 = 3.5;
const LEVEL_SLACK: f32 = 3.5;
/// Lengths of the passage in bars.
const LONG: usize = 16;
const SHORT: usize = 8;
/// Bars between the places in a section where the passage may start.
const PHRASE: usize = 4;
/// How far a phrase may lie below the whole passage, and the longer passage below
/// the shorter, in slacks.
const EVEN: f32 = 0.2;
/// Length of the passage where there are no bars, seconds.
const WITHOUT_BARS_S: f64 = 25.0;

/// How busy bars are.
struct Busyness<'a> {
    bars: &'a Bars,
    slack: f32,
}

impl<'a> Busyness<'a> {
    fn of(bars: &'a Bars) -> Self {
        let slack = if bars.layers.is_empty() {
            LEVEL_SLACK
        } else {
            LAYER_SLACK
        };
        Self { bars, slack }
    }

    /// Layers that play in a bar; without layers its mean band level.
    fn fullness(&self, bar: usize) -> f32 {
        if self.bars.layers.is_empty() {
            return self.bars.mean_level(bar);
        }
        let playing = (0..self.bars.layers.len()).filter(|&layer| self.bars.plays(layer, bar));
        playing.count() as f32
    }

    /// Loudness and fullness of a run of bars, in slacks.
    fn mean(&self, from: usize, to: usize) -> (f32, f32) {
        let count = (to - from).max(1) as f32;
        let loudness: f32 = self.bars.loudness[from..to].iter().sum();
        let fullness: f32 = (from..to).map(|bar| self.fullness(bar)).sum();
        (
            loudness / count / LOUDNESS_SLACK,
            fullness / count / self.slack,
        )
    }

    fn score(&self, from: usize, to: usize) -> f32 {
        let (loudness, fullness) = self.mean(from, to);
        loudness + fullness
    }
}

/// Marks the busiest sections: the drops about as loud and as full as the best
/// of them; without a drop, the section that is loudest and fullest.
pub(crate) fn busiest(bars: &Bars, cut: &[Run]) -> Vec<bool> {
    let busyness = Busyness::of(bars);
    let any_drop = cut.iter().any(|run| name(*run) == SectionName::Drop);
    let may = |run: &Run| !any_drop || name(*run) == SectionName::Drop;
    let best = cut.iter().filter(|run| may(run)).max_by(|a, b| {
        let [a, b] = [a, b].map(|run| busyness.score(run.from, run.to));
        a.total_cmp(&b)
    });
    let Some(best) = best else {
        return vec![false; cut.len()];
    };
    let (loudness, fullness) = busyness.mean(best.from, best.to);
    cut.iter()
        .map(|run| {
            let (own_loudness, own_fullness) = busyness.mean(run.from, run.to);
            let close = own_loudness >= loudness - 1.0 && own_fullness >= fullness - 1.0;
            run == best || (any_drop && may(run) && close)
        })
        .collect()
}

/// Bars of the busiest passage, within a busiest section and from where a phrase
/// of 4 bars starts: the busiest 16 that are busy throughout and hardly less busy
/// than the busiest 8; else those 8, around a section that is shorter.
pub(crate) fn passage(
    bars: &Bars,
    cut: &[Run],
    busiest: &[bool],
) -> Option<std::ops::Range<usize>> {
    let busyness = Busyness::of(bars);
    let sections = || cut.iter().zip(busiest).filter(|(_, busy)| **busy);
    let end = cut.last()?.to;
    let mut short: Option<(f32, usize)> = None;
    let mut long: Option<(f32, usize)> = None;
    let length = SHORT.min(end);
    for (run, _) in sections() {
        let (first, last, step) = if run.to - run.from >= length {
            (run.from, run.to - length, PHRASE)
        } else {
            let first = run.to.saturating_sub(length);
            (first, run.from.min(end - length).max(first), 1)
        };
        for from in (first..=last).step_by(step) {
            better(&mut short, busyness.score(from, from + length), from);
        }
        for from in (run.from..(run.to + 1).saturating_sub(LONG)).step_by(PHRASE) {
            let score = busyness.score(from, from + LONG);
            let even = (from..from + LONG)
                .step_by(PHRASE)
                .all(|phrase| busyness.score(phrase, phrase + PHRASE) >= score - EVEN);
            if even {
                better(&mut long, score, from);
            }
        }
    }
    let (best, from) = short?;
    match long {
        Some((score, from)) if score >= best - EVEN => Some(from..from + LONG),
        _ => Some(from..from + length),
    }
}

fn better(found: &mut Option<(f32, usize)>, score: f32, from: usize) {
    if found.is_none_or(|(best, _)| score > best + 0.01) {
        *found = Some((score, from));
    }
}

/// The loudest stretch of 25 s, or all of a shorter file; for files without bars.
pub(crate) fn loudest_stretch(curve: &LoudnessCurve, seconds: f64) -> Option<(f64, f64)> {
    if seconds.is_nan() || seconds <= 0.0 || curve.k_power.iter().all(|&power| power <= 0.0) {
        return None;
    }
    if seconds <= WITHOUT_BARS_S {
        return Some((0.0, seconds));
    }
    let steps = (WITHOUT_BARS_S / curve.hop_s) as usize;
    let mut sums = vec![0.0];
    for &power in &curve.k_power {
        sums.push(sums[sums.len() - 1] + f64::from(power));
    }
    let start = (0..=sums.len().saturating_sub(steps + 1))
        .map(|from| (from, sums[(from + steps).min(sums.len() - 1)] - sums[from]))
        .fold(
            (0, f64::MIN),
            |best, now| if now.1 > best.1 { now } else { best },
        )
        .0;
    let start_s = (start as f64 * curve.hop_s).min(seconds - WITHOUT_BARS_S);
    Some((start_s, start_s + WITHOUT_BARS_S))
}
