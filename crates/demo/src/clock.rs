//! From the even time a song is written in to the time it is played in.

use crate::form::Grid;
use crate::rng::Rng;
use crate::score::Event;

/// Spread of the lengths of neighbouring beats in free time, as a share.
const FREE_SPREAD: f64 = 0.3;

/// Lengths of beats; none where time is even.
#[derive(Clone, Debug, Default)]
pub(crate) struct Clock {
    start_s: f64,
    beat_s: f64,
    /// Played starts of the written beats, from the first bar on.
    played_s: Vec<f64>,
}

impl Clock {
    /// Time as written.
    pub(crate) fn even() -> Self {
        Self::default()
    }

    /// A tempo that wanders smoothly by up to `depth` (a share) about its middle,
    /// over some thirty seconds.
    pub(crate) fn drifting(grid: Grid, beats: usize, depth: f64, rng: &mut Rng) -> Self {
        // three slow swings of drawn length and start
        let swings: [(f64, f64); 3] = std::array::from_fn(|_| {
            let period_s = rng.between(12.0, 60.0);
            (grid.beat_s() / period_s, rng.unit())
        });
        Self::of(grid, beats, |beat| {
            let sum: f64 = swings
                .iter()
                .map(|(turn, from)| libm::sin(std::f64::consts::TAU * (from + turn * beat as f64)))
                .sum();
            1.0 + depth * sum / 3.0
        })
    }

    /// No tempo at all: each beat has a length of its own.
    pub(crate) fn free(grid: Grid, beats: usize, rng: &mut Rng) -> Self {
        Self::of(grid, beats, |_| {
            libm::exp(FREE_SPREAD * rng.normal().clamp(-2.0, 2.0))
        })
    }

    fn of(grid: Grid, beats: usize, mut length: impl FnMut(usize) -> f64) -> Self {
        let mut place_s = grid.first_downbeat_s;
        let played_s = (0..=beats)
            .map(|beat| {
                let own_s = place_s;
                place_s += grid.beat_s() * length(beat);
                own_s
            })
            .collect();
        Self {
            start_s: grid.first_downbeat_s,
            beat_s: grid.beat_s(),
            played_s,
        }
    }

    pub(crate) fn is_even(&self) -> bool {
        self.played_s.is_empty()
    }

    /// Played time of a written one.
    pub(crate) fn played_s(&self, written_s: f64) -> f64 {
        if self.is_even() {
            return written_s;
        }
        let place = (written_s - self.start_s) / self.beat_s;
        let last = self.played_s.len() - 2;
        let beat = libm::floor(place.max(0.0)) as usize;
        let beat = beat.min(last);
        let (from, to) = (self.played_s[beat], self.played_s[beat + 1]);
        from + (place - beat as f64) * (to - from)
    }

    /// Moves the notes of a part.
    pub(crate) fn play(&self, events: &mut [Event]) {
        if self.is_even() {
            return;
        }
        for event in events {
            let end_s = self.played_s(event.start_s + event.length_s);
            event.start_s = self.played_s(event.start_s);
            event.length_s = end_s - event.start_s;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRID: Grid = Grid {
        tempo_bpm: 120.0,
        beats_per_bar: 4,
        swing: 0.5,
        first_downbeat_s: 1.0,
    };

    #[test]
    fn even_time_is_as_written() {
        assert_eq!(Clock::even().played_s(3.25), 3.25);
    }

    #[test]
    fn a_drift_stays_within_its_depth_and_moves() {
        let clock = Clock::drifting(GRID, 200, 0.05, &mut Rng::new(4));
        let lengths: Vec<f64> = (0..200)
            .map(|beat| {
                let at = 1.0 + 0.5 * f64::from(beat);
                clock.played_s(at + 0.5) - clock.played_s(at)
            })
            .collect();
        assert!(lengths.iter().all(|s| (s / 0.5 - 1.0).abs() <= 0.0501));
        let longest = lengths.iter().copied().fold(0.0, f64::max);
        let shortest = lengths.iter().copied().fold(1.0, f64::min);
        assert!(longest / shortest > 1.02, "{shortest} {longest}");
        assert_eq!(clock.played_s(1.0), 1.0);
    }

    #[test]
    fn free_time_has_no_two_equal_beats() {
        let clock = Clock::free(GRID, 50, &mut Rng::new(2));
        let mut lengths: Vec<f64> = clock.played_s.windows(2).map(|w| w[1] - w[0]).collect();
        lengths.sort_by(f64::total_cmp);
        let spread = lengths[40] / lengths[10];
        assert!(spread > 1.3, "{spread}");
    }
}
