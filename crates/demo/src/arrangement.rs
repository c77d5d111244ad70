//! Drawn orders and lengths of sections.

use crate::form::{Section, SectionKind};
use crate::rng::Rng;

/// Draws the sections of a song of about `bars` bars (12 and more), one after the
/// other: one or two drops, some after a false one; lengths of 2 to 16 bars. Two sections
/// of one kind never touch.
pub(crate) fn draw(bars: usize, rng: &mut Rng) -> Vec<Section> {
    use SectionKind::{Break, Build, Drop, Intro, Outro};
    let mut kinds = vec![Intro];
    if rng.chance(0.6) {
        kinds.push(Build);
    }
    if rng.chance(0.25) {
        kinds.push(Break);
    }
    false_drop(&mut kinds, rng);
    kinds.push(Drop);
    if bars >= 28 && rng.chance(0.7) {
        kinds.push(Break);
        if rng.chance(0.7) {
            kinds.push(Build);
        }
        false_drop(&mut kinds, rng);
        kinds.push(Drop);
    }
    kinds.push(Outro);
    let last = kinds.len() - 1;
    let mut lengths: Vec<usize> = (0..kinds.len())
        .map(|index| match kinds[index] {
            // the stop of a false drop is short; of one bar it would be a fill
            Break if is_stop(&kinds, index) => *rng.pick(&[2, 2, 4]),
            Drop => *rng.pick(&[8, 8, 12, 16]),
            Build => *rng.pick(&[4, 4, 8]),
            _ => *rng.pick(&[4, 4, 6, 8]),
        })
        .collect();
    fit(&kinds, &mut lengths, bars);
    let loud_outro = rng.chance(0.4);
    let mut made: Vec<Section> = Vec::new();
    let mut start_bar = 0;
    for (index, (&kind, &bars)) in kinds.iter().zip(&lengths).enumerate() {
        let pass = made.iter().filter(|s: &&Section| s.kind == kind).count();
        made.push(Section {
            kind,
            start_bar,
            bars,
            pass,
            loud: index == last && loud_outro,
        });
        start_bar += bars;
    }
    made
}

/// A build that leads into a stop instead of the drop.
fn false_drop(kinds: &mut Vec<SectionKind>, rng: &mut Rng) {
    if kinds.last() == Some(&SectionKind::Build) && rng.chance(0.35) {
        kinds.push(SectionKind::Break);
    }
}

fn is_stop(kinds: &[SectionKind], index: usize) -> bool {
    use SectionKind::{Build, Drop};
    index > 0 && kinds[index - 1] == Build && kinds.get(index + 1).is_some_and(|kind| *kind == Drop)
}

/// Halves the longest, or doubles the shortest long part, until the length is near
/// what is wanted.
fn fit(kinds: &[SectionKind], lengths: &mut [usize], bars: usize) {
    while lengths.iter().sum::<usize>() > bars {
        let Some(longest) = (0..lengths.len())
            .filter(|&i| kinds[i] != SectionKind::Drop && lengths[i] > 4)
            .max_by_key(|&i| lengths[i])
            .or_else(|| (0..lengths.len()).find(|&i| lengths[i] > 8))
            .or_else(|| (0..lengths.len()).find(|&i| !is_stop(kinds, i) && lengths[i] > 2))
            .or_else(|| (0..lengths.len()).max_by_key(|&i| lengths[i]))
        else {
            return;
        };
        if lengths[longest] <= 1 {
            return;
        }
        lengths[longest] -= lengths[longest].min(4) / 2;
    }
    while lengths.iter().sum::<usize>() + 8 <= bars {
        let Some(shortest) = (0..lengths.len())
            .filter(|&i| !is_stop(kinds, i) && kinds[i] != SectionKind::Build)
            .min_by_key(|&i| lengths[i])
        else {
            return;
        };
        lengths[shortest] += 4;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_touch_fit_and_differ() {
        let mut false_drops = 0;
        let mut two = 0;
        for seed in 0..300 {
            let bars = 12 + (seed as usize * 7) % 90;
            let made = draw(bars, &mut Rng::new(seed));
            for pair in made.windows(2) {
                assert_eq!(pair[0].end_bar(), pair[1].start_bar);
            }
            let end = made[made.len() - 1].end_bar();
            assert!(end <= bars && end + 9 >= bars.min(30), "{bars}: {end}");
            let kinds: Vec<_> = made.iter().map(|s| s.kind).collect();
            false_drops += (1..kinds.len()).filter(|&i| is_stop(&kinds, i)).count();
            two += usize::from(kinds.iter().filter(|k| **k == SectionKind::Drop).count() == 2);
        }
        assert!(false_drops > 30 && two > 60, "{false_drops} {two}");
    }
}
