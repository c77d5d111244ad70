//! One gap after a hit, and the straight part of its decay.
//!
//! A blind reading: there is no impulse response to integrate backwards (Schroeder,
//! ISO 3382-1), only what music leaves free. In a diffuse room the level falls along
//! a straight line, and tails of earlier hits fall along the same one, so the line is
//! sought in the gap itself: from the earliest point on from which the rest of the gap
//! is straight. Method and limits: common practice, no source.

use cupel_units::power_to_db;

/// Points are this many steps long: 10.7 ms.
pub(crate) const POINT_STEPS: usize = 2;
/// Points a gap is followed at most: 1.6 s.
const MOST_POINTS: usize = 150;
/// Shortest straight part.
const FEWEST_POINTS: usize = 8;
/// The straight part starts this soon after the hit, or what sounds is held.
const LATEST_START: usize = 26;
/// Sound this far below the hit, or below -100 dBFS, is over.
const OVER_DB: f64 = -65.0;
const OVER_POWER: f64 = 1e-10;
/// Fall over the straight part, least, dB.
const LEAST_FALL_DB: f64 = 7.0;
/// Decay times looked for, seconds.
const SECONDS: std::ops::RangeInclusive<f64> = 0.06..=6.0;
/// Straight: the points about the line, and how far the line may bend of its fall.
const SCATTER_DB: f64 = 3.5;
/// A narrow band flutters more.
const LOW_SCATTER_DB: f64 = 8.0;
const BEND: f64 = 0.04;
const BEND_DB: f64 = 0.25;
/// Slower than this at the end is noise, dB a second.
const NOISE_SLOPE_DB: f64 = 9.0;
/// Sound this close to the noise is left out.
const OVER_NOISE_DB: f64 = 10.0;
/// Parts of what sounds at the end that may be noise below the decay; the first that
/// leaves a straight line is taken.
const NOISE_PARTS: [f64; 3] = [0.0, 0.6, 0.95];
/// A line that, drawn back, passes this far over the hit belongs to a sound that was
/// held and let go, dB.
const HELD_DB: f64 = 4.0;
/// Points at the end.
const LAST_POINTS: usize = 4;

/// What was read in a gap.
#[derive(Clone, Copy, Debug)]
pub(crate) struct GapDecay {
    pub(crate) seconds: f64,
    pub(crate) below_s: Option<f64>,
    pub(crate) level_lu: f64,
    pub(crate) drop_db: f64,
    pub(crate) low_part_db: Option<f64>,
}

impl GapDecay {
    /// Whether the sound was held before it died away.
    pub(crate) fn is_held(&self) -> bool {
        self.drop_db < -HELD_DB
    }
}

/// Power over time after a hit.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gap {
    above: Vec<f64>,
    below: Vec<f64>,
    whole: Vec<f64>,
}

/// Level at the start of a line, dB, and its slope, dB a point.
#[derive(Clone, Copy, Debug)]
struct Line {
    start_db: f64,
    slope_db: f64,
    /// How far it bends, dB at its ends; above 0 it falls less and less.
    bend_db: f64,
    scatter_db: f64,
}

impl Gap {
    pub(crate) fn is_full(&self) -> bool {
        self.above.len() >= MOST_POINTS
    }

    /// Points so far.
    pub(crate) fn len(&self) -> usize {
        self.above.len()
    }

    pub(crate) fn add(&mut self, above: f64, below: f64, whole: f64) {
        self.above.push(above);
        self.below.push(below);
        self.whole.push(whole);
    }

    /// The slow part of the decay; `None` where there is no straight one.
    pub(crate) fn read(&self, point_s: f64) -> Option<GapDecay> {
        let top = (0..self.len().min(6))
            .max_by(|&a, &b| self.above[a].total_cmp(&self.above[b]).then(b.cmp(&a)))?;
        let levels_db: Vec<f64> = self.above.iter().map(|&power| level_db(power)).collect();
        let end = self.end(top, &levels_db, point_s);
        let try_without = |part| self.without_noise(part, top, end, point_s);
        let (from, end, line) = NOISE_PARTS.into_iter().find_map(try_without)?;
        let seconds = -60.0 * point_s / line.slope_db;
        // The line, drawn back to the hit.
        let back_db = line.start_db - line.slope_db * (from - top) as f64;
        let drop_db = levels_db[top] - back_db;
        let below = self.below_line(from, end, &line, point_s);
        Some(GapDecay {
            seconds,
            below_s: below,
            level_lu: self.level_lu(top, back_db, line.slope_db),
            drop_db,
            low_part_db: self.low_part_db(from, end),
        })
    }

    /// The straight part where `part` of the power at the end is noise: its start, its
    /// end and its line.
    fn without_noise(
        &self,
        part: f64,
        top: usize,
        end: usize,
        point_s: f64,
    ) -> Option<(usize, usize, Line)> {
        let last = &self.above[end.saturating_sub(LAST_POINTS)..end];
        let noise = part * last.iter().sum::<f64>() / last.len().max(1) as f64;
        let drowns = |point: &usize| self.above[*point] < 2.0 * noise;
        let end = (top..end).find(drowns).unwrap_or(end);
        let over = |&power: &f64| level_db(power - noise);
        let levels_db: Vec<f64> = self.above[..end].iter().map(over).collect();
        let (from, line) = straight_part(&levels_db, top, point_s)?;
        Some((from, end, line))
    }

    /// Energy of the line against that of the rest. The room answers a hit that lasts
    /// only bit by bit, so the line begins at the middle of the hit's energy.
    fn level_lu(&self, top: usize, back_db: f64, slope_db: f64) -> f64 {
        let kept = libm::pow(10.0, 0.1 * slope_db);
        let start = libm::pow(10.0, 0.1 * back_db);
        let (mut hit, mut places) = (0.0, 0.0);
        let mut line = start;
        for (place, power) in self.above[top..].iter().enumerate() {
            let over = (power - line).max(0.0);
            hit += over;
            places += over * place as f64;
            line *= kept;
        }
        if hit <= 0.0 {
            return 40.0;
        }
        let points = (self.len() - top) as f64;
        let middle = places / hit;
        let slow = start * (libm::pow(kept, middle) - libm::pow(kept, points)) / (1.0 - kept);
        power_to_db((slow / hit).max(1e-9)).clamp(-40.0, 40.0)
    }

    /// Where the decay is over, or drowns in noise.
    fn end(&self, top: usize, levels_db: &[f64], point_s: f64) -> usize {
        let over = |point: &usize| {
            self.above[*point] < OVER_POWER || levels_db[*point] < levels_db[top] + OVER_DB
        };
        let end = (top..self.len()).find(over).unwrap_or(self.len());
        let tail = (end - top) / 3;
        if tail < FEWEST_POINTS {
            return end;
        }
        let last = &levels_db[end - tail..end];
        let line = fit(last);
        if -line.slope_db / point_s > NOISE_SLOPE_DB {
            return end;
        }
        let noise_db = last.iter().sum::<f64>() / tail as f64;
        let drowns = |point: &usize| levels_db[*point] < noise_db + OVER_NOISE_DB;
        (top..end).find(drowns).unwrap_or(end)
    }

    /// Decay time below 120 Hz over the same part.
    fn below_line(&self, from: usize, end: usize, line: &Line, point_s: f64) -> Option<f64> {
        let levels_db: Vec<f64> = self.below[from..end].iter().map(|&p| level_db(p)).collect();
        let heard = |&level: &f64| level > -125.0;
        let own = fit(&levels_db);
        let falls = own.slope_db < 0.2 * line.slope_db;
        let seconds = -60.0 * point_s / own.slope_db;
        let fit = levels_db.iter().all(heard) && falls && own.scatter_db < LOW_SCATTER_DB;
        (fit && SECONDS.contains(&seconds)).then_some(seconds)
    }

    /// Lows in the straight part against all of it.
    fn low_part_db(&self, from: usize, end: usize) -> Option<f64> {
        let all: f64 = self.whole[from..end].iter().sum();
        let low: f64 = self.below[from..end].iter().sum();
        (all > 0.0 && low > 0.0).then(|| power_to_db(low / all).clamp(-60.0, 0.0))
    }
}

/// The earliest part from which on the rest is straight: where it starts, and its
/// line.
fn straight_part(levels_db: &[f64], top: usize, point_s: f64) -> Option<(usize, Line)> {
    let latest = (top + LATEST_START).min(levels_db.len().checked_sub(FEWEST_POINTS)?);
    let starts = top + 1..=latest;
    let first = starts
        .into_iter()
        .find(|&from| is_straight(&levels_db[from..], point_s))?;
    // What just passes still holds a bit of the hit; a fifth on, most of it is gone.
    let room = levels_db.len() - first;
    let later = first + (room / 5).min(room - FEWEST_POINTS);
    let from = if is_straight(&levels_db[later..], point_s) {
        later
    } else {
        first
    };
    Some((from, fit(&levels_db[from..])))
}

fn is_straight(levels_db: &[f64], point_s: f64) -> bool {
    let line = fit(levels_db);
    let fall_db = -line.slope_db * (levels_db.len() - 1) as f64;
    let seconds = -60.0 * point_s / line.slope_db;
    fall_db >= LEAST_FALL_DB
        && SECONDS.contains(&seconds)
        && line.scatter_db <= SCATTER_DB
        && line.bend_db.abs() <= BEND * fall_db + BEND_DB
}

/// Least squares by the first three Legendre polynomials over the points.
fn fit(levels_db: &[f64]) -> Line {
    let count = levels_db.len() as f64;
    let half = 0.5 * (count - 1.0);
    let mean = levels_db.iter().sum::<f64>() / count;
    // Over the points, squares of the place have this mean.
    let square = (count * count - 1.0) / 12.0;
    let (mut first, mut second, mut power) = (0.0, 0.0, 0.0);
    let mut seconds = 0.0;
    for (n, &level) in levels_db.iter().enumerate() {
        let place = n as f64 - half;
        let bowl = place * place - square;
        first += place * (level - mean);
        second += bowl * (level - mean);
        seconds += bowl * bowl;
        power += (level - mean) * (level - mean);
    }
    let slope_db = first / (square * count);
    let bowl = if seconds > 0.0 { second / seconds } else { 0.0 };
    let rest = power - slope_db * first - bowl * second;
    Line {
        start_db: mean - slope_db * half,
        slope_db,
        // From the middle of the bowl to its ends is three halves of its end.
        bend_db: bowl * (half * half - square),
        scatter_db: libm::sqrt(rest.max(0.0) / count),
    }
}

fn level_db(power: f64) -> f64 {
    power_to_db(power.max(1e-13))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const POINT_S: f64 = 0.01;

    /// Powers that fall in `fast_s` and, `drop_db` lower, in `slow_s`.
    fn gap(fast_s: f64, slow_s: f64, drop_db: f64, points: usize, noise: f64) -> Gap {
        let mut gap = Gap::default();
        for n in 0..points {
            let t = n as f64 * POINT_S;
            let fast = libm::pow(10.0, -6.0 * t / fast_s);
            let slow = libm::pow(10.0, -0.1 * drop_db - 6.0 * t / slow_s);
            let power = fast + slow + noise;
            gap.add(power, 0.0, power);
        }
        gap
    }

    #[test]
    fn a_line_is_found_under_the_hit() {
        for slow_s in [0.3, 0.5, 1.0, 2.0] {
            let read = gap(0.1, slow_s, 15.0, 47, 0.0).read(POINT_S).unwrap();
            assert!((read.seconds / slow_s - 1.0).abs() < 0.1, "{read:?}");
            assert!((read.drop_db - 15.0).abs() < 1.5, "{read:?}");
        }
    }

    #[test]
    fn noise_is_no_decay() {
        let read = gap(0.1, 0.5, 10.0, 100, 1e-4).read(POINT_S).unwrap();
        assert!((read.seconds / 0.5 - 1.0).abs() < 0.15, "{read:?}");
        assert!(gap(0.05, 0.05, 0.0, 100, 1e-2).read(POINT_S).is_none());
    }

    #[test]
    fn one_line_has_no_drop() {
        let read = gap(0.4, 0.4, 0.0, 47, 0.0).read(POINT_S).unwrap();
        assert!(read.drop_db < 0.5 + 3.1, "{read:?}");
        assert!(read.level_lu > 10.0 || read.drop_db < 0.5, "{read:?}");
    }

    #[test]
    fn held_sounds_and_gates_are_none() {
        let mut held = Gap::default();
        let mut gated = Gap::default();
        for n in 0..120 {
            let t = n as f64 * POINT_S;
            let after = libm::pow(10.0, -6.0 * (t - 0.6).max(0.0) / 0.5);
            held.add(after, 0.0, after);
            let open = libm::pow(10.0, -6.0 * t / 4.5);
            let gate = if t < 0.2 {
                open
            } else {
                open * libm::pow(10.0, -6.0 * (t - 0.2) / 0.03)
            };
            gated.add(gate, 0.0, gate);
        }
        assert!(held.read(POINT_S).is_none());
        assert!(gated.read(POINT_S).is_none(), "{:?}", gated.read(POINT_S));
    }
}
