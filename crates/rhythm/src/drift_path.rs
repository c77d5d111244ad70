//! The best path of beats through onsets, at a tempo that changes slowly.

use crate::drift_pattern::Pattern;

/// What a path pays for a tempo that moves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prices {
    /// Of leaving the local period, by the square of its logarithm.
    stiffness: f64,
    /// Of a difference between two gaps, by the square of its percent.
    bend: f64,
}

impl Prices {
    /// Finds the beats of nearly everything.
    pub(crate) const SOFT: Self = Self {
        stiffness: 120.0,
        bend: 0.05,
    };
    /// Hardly ever slips.
    pub(crate) const HARD: Self = Self {
        stiffness: 400.0,
        bend: 0.2,
    };
}

/// How far a gap may lie from the local period.
const LEEWAY: f64 = 0.12;
/// Hops by which a gap may differ from the one before.
const CHANGE: usize = 4;
/// End of the file, in seconds, in which a path may end.
const TAIL_S: f64 = 2.0;

/// What beats are sought in.
pub(crate) struct Search<'a> {
    prices: Prices,
    onsets: &'a [f32],
    hop_s: f64,
    /// Periods in hops, each of a window, and which window a hop belongs to.
    locals: Vec<f64>,
    step_s: f64,
    window_s: f64,
    /// Shortest and longest gap in hops.
    gaps: (usize, usize),
    /// Strength of onsets by which their score is told.
    spread: f64,
}

impl<'a> Search<'a> {
    /// Onsets by hop, and the local period in seconds of windows `window_s` long, one
    /// every `step_s`.
    pub(crate) fn new(
        onsets: &'a [f32],
        hop_s: f64,
        locals_s: &[f64],
        step_s: f64,
        window_s: f64,
        prices: Prices,
    ) -> Self {
        let mean = onsets.iter().sum::<f32>() / onsets.len().max(1) as f32;
        let locals: Vec<f64> = locals_s.iter().map(|s| s / hop_s).collect();
        let shortest = locals.iter().copied().fold(f64::INFINITY, f64::min);
        let longest = locals.iter().copied().fold(0.0, f64::max);
        let from = ((shortest * (1.0 - LEEWAY)) as usize).max(2);
        let to = (longest * (1.0 + LEEWAY)).ceil() as usize;
        Self {
            prices,
            onsets,
            hop_s,
            locals,
            step_s,
            window_s,
            // gaps are kept as a byte
            gaps: (from, to.min(from + 250)),
            spread: f64::from(mean.max(1e-6)) * 4.0,
        }
    }

    /// Period about a hop, in hops.
    fn local(&self, hop: usize) -> f64 {
        let window = (hop as f64 * self.hop_s - 0.5 * self.window_s) / self.step_s;
        self.locals[(window.round().max(0.0) as usize).min(self.locals.len() - 1)]
    }

    /// The path through strong onsets whose gaps lie near the local period and change
    /// little from one to the next: a tempo that drifts does not leap, so that a path
    /// hardly slips onto what is played between the beats. A pattern holds it further.
    pub(crate) fn best(&self, pattern: Option<&Pattern>) -> Vec<usize> {
        let (from, to) = self.gaps;
        let (hops, count) = (self.onsets.len(), (to + 1).saturating_sub(from));
        let middle = 0.5 * (from + to) as f64;
        let change: [f64; CHANGE + 1] =
            std::array::from_fn(|step| self.prices.bend * (step as f64 * 100.0 / middle).powi(2));
        // of the path that ends at a hop with a gap: its score, in a ring as long as
        // the longest gap, and which gap was before
        let mut scores = vec![0.0f32; (to + 1) * count];
        let mut back = vec![u8::MAX; hops * count];
        let tail = hops.saturating_sub((TAIL_S / self.hop_s) as usize);
        let mut last = (f64::MIN, usize::MAX);
        let (mut priced, mut prices) = (0.0, Vec::new());
        for index in 0..hops {
            let local = self.local(index);
            if local != priced {
                priced = local;
                prices = (0..count)
                    .map(|gap| ((from + gap) as f64 / local).ln())
                    .map(|off| (off.abs() <= LEEWAY).then_some(self.prices.stiffness * off * off))
                    .collect();
            }
            let own = f64::from(self.onsets[index]) / self.spread;
            for gap in 0..count {
                let cell = index % (to + 1) * count + gap;
                let Some(price) = prices[gap] else {
                    scores[cell] = f32::MIN;
                    continue;
                };
                let mut best = (0.0, u8::MAX);
                if let Some(before) = index.checked_sub(from + gap) {
                    let earlier = before % (to + 1) * count;
                    for other in gap.saturating_sub(CHANGE)..(gap + CHANGE + 1).min(count) {
                        let score =
                            f64::from(scores[earlier + other]) - change[gap.abs_diff(other)];
                        if score > best.0 {
                            best = (score, other as u8);
                        }
                    }
                    best.0 += pattern.map_or(0.0, |pattern| pattern.fits(before, from + gap));
                }
                let score = best.0 + own - price;
                scores[cell] = score as f32;
                back[index * count + gap] = best.1;
                if index >= tail && score > last.0 {
                    last = (score, index * count + gap);
                }
            }
        }
        let mut at = last.1;
        if at == usize::MAX {
            return Vec::new();
        }
        let mut beats = vec![at / count];
        while back[at] != u8::MAX {
            let (index, gap) = (at / count, at % count);
            let before = index - from - gap;
            at = before * count + usize::from(back[at]);
            beats.push(before);
        }
        beats.reverse();
        beats
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOP_S: f64 = 0.005;

    /// Beats at a tempo that swings by 4 percent, those after a pause in step with
    /// those before, and something strong in the middle of the pause, half a beat off.
    fn wandering() -> (Vec<usize>, Vec<f32>) {
        let mut at_s = 0.5;
        let beats: Vec<usize> = (0..120)
            .map(|beat| {
                at_s += 0.5 * (1.0 + 0.04 * (f64::from(beat) / 10.0).sin());
                (at_s / HOP_S).round() as usize
            })
            .collect();
        let mut onsets = vec![0.0; (at_s / HOP_S) as usize + 200];
        for (beat, pair) in beats.windows(2).enumerate() {
            if (60..68).contains(&beat) {
                onsets[usize::midpoint(pair[0], pair[1])] = 1.0;
            } else {
                onsets[pair[0]] = 3.0;
            }
        }
        (beats, onsets)
    }

    #[test]
    fn a_path_does_not_slip_onto_what_lies_between_the_beats() {
        let (beats, onsets) = wandering();
        let locals_s = vec![0.5; 40];
        let found = Search::new(&onsets, HOP_S, &locals_s, 2.0, 8.0, Prices::HARD).best(None);
        for (beat, &hop) in beats.iter().enumerate().filter(|(beat, _)| *beat < 119) {
            let near = found.iter().map(|own| own.abs_diff(hop)).min();
            assert!(near.is_some_and(|hops| hops <= 8), "{beat}: {near:?}");
        }
    }

    #[test]
    fn silence_and_nothing_have_no_beats() {
        for hops in [0, 1, 3000] {
            let onsets = vec![0.0; hops];
            let found = Search::new(&onsets, HOP_S, &[0.5], 2.0, 8.0, Prices::HARD).best(None);
            assert!(found.len() < 2, "{found:?}");
        }
    }
}
