//! Where in the bar something happens, from what happens in every bar.

/// Places that repeat.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Pattern {
    pub(crate) places: Vec<usize>,
    pub(crate) bars: usize,
    /// How well the pattern tells what happened: harmonic mean of the shares of
    /// happenings told and of tellings that happened.
    pub(crate) fit: f64,
}

/// How much better a longer pattern must tell.
const LONGER: f64 = 0.08;

/// The shortest pattern of 1, 2 or 4 bars that tells where `on` is true; `on` is
/// by bar and sixteenth.
pub(crate) fn pattern(on: &[bool], slots: usize, share: f64) -> Pattern {
    let bars = on.len().checked_div(slots).unwrap_or(0);
    let mut best = Pattern {
        places: Vec::new(),
        bars: 1,
        fit: 0.0,
    };
    for length in [1, 2, 4] {
        // twice at least, or it is no pattern
        if length > 1 && bars < 2 * length {
            break;
        }
        let tried = of_length(on, slots, bars, length, share);
        if tried.fit > best.fit + if length > 1 { LONGER } else { 0.0 } {
            best = tried;
        }
    }
    best
}

fn of_length(on: &[bool], slots: usize, bars: usize, length: usize, share: f64) -> Pattern {
    let span = slots * length;
    let mut places = Vec::new();
    let (mut told, mut tellings) = (0usize, 0usize);
    for place in 0..span {
        let (mut count, mut of) = (0usize, 0usize);
        let mut bar = place / slots;
        while bar < bars {
            count += usize::from(on[bar * slots + place % slots]);
            of += 1;
            bar += length;
        }
        if of > 0 && count as f64 >= share * of as f64 && count > 0 {
            places.push(place);
            told += count;
            tellings += of;
        }
    }
    let happened = on.iter().filter(|&&on| on).count();
    let fit = 2.0 * told as f64 / (tellings + happened).max(1) as f64;
    Pattern {
        places,
        bars: length,
        fit,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn played(bars: usize, hit: impl Fn(usize, usize) -> bool) -> Vec<bool> {
        (0..bars * 16).map(|n| hit(n / 16, n % 16)).collect()
    }

    #[test]
    fn the_shortest_pattern_that_tells() {
        let one = pattern(&played(8, |_, slot| slot % 4 == 2), 16, 0.5);
        assert_eq!((one.bars, one.places), (1, vec![2, 6, 10, 14]));
        let two = pattern(&played(8, |bar, slot| bar % 2 == 1 && slot == 6), 16, 0.5);
        assert_eq!((two.bars, two.places, two.fit), (2, vec![22], 1.0));
        let four = pattern(&played(16, |bar, slot| bar % 4 == 3 && slot > 12), 16, 0.5);
        assert_eq!((four.bars, four.places), (4, vec![61, 62, 63]));
    }

    #[test]
    fn nothing_is_no_pattern() {
        let none = pattern(&played(4, |_, _| false), 16, 0.5);
        assert!(none.places.is_empty() && none.fit == 0.0);
    }
}
