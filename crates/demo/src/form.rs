//! Sections on bar lines, and where bars and steps lie in time.

use crate::rng::Rng;

/// Kind of a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the names say it
pub enum SectionKind {
    Intro,
    Build,
    Drop,
    Break,
    Outro,
}

impl SectionKind {
    /// The word for it in `truth.json`.
    pub fn name(self) -> &'static str {
        match self {
            SectionKind::Intro => "intro",
            SectionKind::Build => "build",
            SectionKind::Drop => "drop",
            SectionKind::Break => "break",
            SectionKind::Outro => "outro",
        }
    }
}

/// A run of bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Section {
    pub(crate) kind: SectionKind,
    pub(crate) start_bar: usize,
    pub(crate) bars: usize,
    /// 0 for the first of its kind, 1 for the second.
    pub(crate) pass: usize,
    /// An outro that keeps most layers.
    pub(crate) loud: bool,
}

impl Section {
    pub(crate) fn end_bar(&self) -> usize {
        self.start_bar + self.bars
    }

    /// Whether most layers play here.
    pub(crate) fn is_busiest(&self) -> bool {
        self.kind == SectionKind::Drop
    }
}

const FULL: &[(SectionKind, usize)] = &[
    (SectionKind::Intro, 2),
    (SectionKind::Build, 1),
    (SectionKind::Drop, 4),
    (SectionKind::Break, 2),
    (SectionKind::Build, 1),
    (SectionKind::Drop, 4),
    (SectionKind::Outro, 2),
];
const SHORT: &[(SectionKind, usize)] = &[
    (SectionKind::Intro, 2),
    (SectionKind::Drop, 4),
    (SectionKind::Break, 2),
    (SectionKind::Build, 1),
    (SectionKind::Drop, 4),
    (SectionKind::Outro, 1),
];
const ONE_DROP: &[(SectionKind, usize)] = &[
    (SectionKind::Intro, 2),
    (SectionKind::Build, 2),
    (SectionKind::Break, 2),
    (SectionKind::Drop, 4),
    (SectionKind::Outro, 2),
];

/// Sections for a song of `bars` bars; `full` asks for both builds and drops.
///
/// Lengths are multiples of 8, 4, 2 or 1 bars, the largest that gives every
/// section one.
pub(crate) fn sections(bars: usize, full: bool, rng: &mut Rng) -> Vec<Section> {
    let plan = if full {
        FULL
    } else {
        *rng.pick(&[FULL, SHORT, ONE_DROP])
    };
    let unit = [8, 4, 2, 1]
        .into_iter()
        .find(|unit| bars / unit >= plan.len() + 3)
        .unwrap_or(1);
    let lengths = share_units((bars / unit).max(plan.len()), plan);
    let mut start_bar = 0;
    let mut made: Vec<Section> = Vec::new();
    for (&(kind, _), units) in plan.iter().zip(lengths) {
        let pass = made.iter().filter(|section| section.kind == kind).count();
        let bars = units * unit;
        made.push(Section {
            kind,
            start_bar,
            bars,
            pass,
            loud: false,
        });
        start_bar += bars;
    }
    made
}

/// Shares whole units by weight: one each, then to whoever is furthest below
/// its share.
fn share_units(units: usize, plan: &[(SectionKind, usize)]) -> Vec<usize> {
    let mut lengths = vec![1; plan.len()];
    for _ in plan.len()..units {
        let neediest = (0..plan.len()).min_by(|&a, &b| {
            let fill = |i: usize| (lengths[i] as f64 + 0.5) / plan[i].1 as f64;
            fill(a).total_cmp(&fill(b))
        });
        if let Some(index) = neediest {
            lengths[index] += 1;
        }
    }
    lengths
}

/// Tempo, metre and swing as places in time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grid {
    pub(crate) tempo_bpm: f64,
    pub(crate) beats_per_bar: usize,
    pub(crate) swing: f64,
    pub(crate) first_downbeat_s: f64,
}

impl Grid {
    pub(crate) fn beat_s(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    pub(crate) fn bar_s(&self) -> f64 {
        self.beat_s() * self.beats_per_bar as f64
    }

    /// Length of a straight sixteenth.
    pub(crate) fn step_s(&self) -> f64 {
        self.beat_s() / 4.0
    }

    pub(crate) fn steps(&self) -> usize {
        4 * self.beats_per_bar
    }

    /// Start of a bar.
    pub(crate) fn bar_start_s(&self, bar: usize) -> f64 {
        self.first_downbeat_s + bar as f64 * self.bar_s()
    }

    /// Place of a sixteenth of a bar, swung.
    pub(crate) fn place_s(&self, bar: usize, step: usize) -> f64 {
        let pair_s = 2.0 * self.step_s();
        let inside = if step % 2 == 1 {
            pair_s * self.swing
        } else {
            0.0
        };
        self.bar_start_s(bar) + (step / 2) as f64 * pair_s + inside
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_minutes_at_124_lie_on_eights() {
        let made = sections(123, true, &mut Rng::new(1));
        assert_eq!(made.len(), 7);
        assert!(made.iter().all(|s| s.start_bar % 8 == 0 && s.bars % 8 == 0));
        assert_eq!(made[6].end_bar(), 120);
        assert_eq!(made[5].pass, 1);
    }

    #[test]
    fn sections_touch_and_fit() {
        for bars in 10..140 {
            let made = sections(bars, false, &mut Rng::new(bars as u64));
            for pair in made.windows(2) {
                assert_eq!(pair[0].end_bar(), pair[1].start_bar);
            }
            assert!(made[made.len() - 1].end_bar() <= bars);
        }
    }

    #[test]
    fn swing_moves_the_second_sixteenth_only() {
        let grid = Grid {
            tempo_bpm: 120.0,
            beats_per_bar: 4,
            swing: 0.6,
            first_downbeat_s: 0.0,
        };
        assert_eq!(grid.place_s(1, 2), 2.25);
        assert!((grid.place_s(0, 1) - 0.15).abs() < 1e-12);
    }
}
