//! Patterns drawn beyond the tables of the styles.
//!
//! What may be drawn is common practice, no source. Tempo goes with the kick, since
//! a beat is what its kick says: four on the floor is told from its half and double
//! at any tempo, a broken kick only at the tempi it is played at.

use crate::rng::Rng;

/// Two bars that play in turn, one character a sixteenth.
pub(crate) type Pair = [String; 2];

/// What plays, by part.
#[derive(Clone, Debug)]
pub(crate) struct Drawn {
    /// None for a song without a kick.
    pub(crate) kick: Option<Pair>,
    /// Beats of clap or snare.
    pub(crate) backbeat: Vec<usize>,
    pub(crate) closed_hat: Pair,
    pub(crate) open_hat: Pair,
    pub(crate) bass: Pair,
    pub(crate) chords: Pair,
    pub(crate) tempo_bpm: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum KickKind {
    Four,
    Broken,
    Half,
    None,
}

impl Drawn {
    /// Draws all parts for a metre of 3 or 4 beats.
    pub(crate) fn draw(beats_per_bar: usize, rng: &mut Rng) -> Self {
        use KickKind::{Broken, Four, Half, None};
        let kind = *rng.pick(&[Four, Four, Four, Broken, Broken, Broken, Half, None]);
        let fast = kind == Broken && rng.chance(0.3);
        let (slowest, fastest) = match kind {
            Four | None => (60.0, 200.0),
            Broken if fast => (160.0, 180.0),
            Broken | Half => (88.0, 150.0),
        };
        let steps = 4 * beats_per_bar;
        let kick = kick(kind, fast, steps, rng);
        let backbeat = match (beats_per_bar, kind) {
            (3, _) => rng.pick(&[&[1usize, 2][..], &[2], &[1]]).to_vec(),
            (_, Half) => vec![2],
            _ => vec![1, 3],
        };
        Self {
            kick,
            backbeat,
            closed_hat: hats(steps, rng),
            open_hat: open_hats(steps, rng),
            bass: bass(steps, rng),
            chords: chords(steps, rng),
            tempo_bpm: libm::round(20.0 * rng.between(slowest, fastest)) / 20.0,
        }
    }
}

fn text(steps: &[u8]) -> String {
    steps
        .iter()
        .map(|&level| match level {
            0 => '.',
            level => char::from(b'0' + level.min(9)),
        })
        .collect()
}

/// The second bar is the first with one step changed, or the same.
fn pair(first: Vec<u8>, extra: &[usize], level: u8, rng: &mut Rng) -> Pair {
    let mut second = first.clone();
    if rng.chance(0.5) {
        let step = *rng.pick(extra);
        if let Some(place) = second.get_mut(step) {
            *place = if *place == 0 { level } else { 0 };
        }
    }
    [text(&first), text(&second)]
}

fn kick(kind: KickKind, fast: bool, steps: usize, rng: &mut Rng) -> Option<Pair> {
    let mut bar = vec![0u8; steps];
    bar[0] = 9;
    let late: Vec<usize> = (steps - 6..steps).collect();
    match kind {
        KickKind::None => return None,
        KickKind::Four => {
            (0..steps).step_by(4).for_each(|step| bar[step] = 9);
            if rng.chance(0.4) {
                bar[*rng.pick(&late)] = 7;
            }
        }
        KickKind::Half => bar[*rng.pick(&[7, 8, 10])] = 8,
        // the kick of a fast broken beat leaves room
        KickKind::Broken if fast => {
            bar[10.min(steps - 2)] = 9;
            if rng.chance(0.4) {
                bar[6] = 6;
            }
        }
        KickKind::Broken => {
            for _ in 0..2 + rng.below(3) {
                bar[3 + rng.below(steps - 4)] = 8;
            }
        }
    }
    Some(pair(bar, &late, 7, rng))
}

fn hats(steps: usize, rng: &mut Rng) -> Pair {
    let every = *rng.pick(&[1, 1, 2]);
    let accent = *rng.pick(&[0, 2]);
    let mut bar = vec![0u8; steps];
    for step in (0..steps).step_by(every) {
        bar[step] = match (step + 4 - accent) % 4 {
            0 => 8,
            2 => 6,
            _ => 4,
        };
    }
    // holes make a figure of it
    for _ in 0..rng.below(4) {
        bar[rng.below(steps)] = 0;
    }
    pair(bar, &[5, 7, 11], 5, rng)
}

fn open_hats(steps: usize, rng: &mut Rng) -> Pair {
    let mut bar = vec![0u8; steps];
    if rng.chance(0.5) {
        (2..steps).step_by(4).for_each(|step| bar[step] = 8);
    } else {
        bar[2 * rng.below(steps / 2)] = 7;
        bar[steps - 2] = 7;
    }
    pair(bar, &[steps - 2, 6], 6, rng)
}

/// Off the beat, or on any sixteenth.
fn bass(steps: usize, rng: &mut Rng) -> Pair {
    let mut bar = vec![0u8; steps];
    if rng.chance(0.4) {
        (2..steps).step_by(4).for_each(|step| bar[step] = 8);
    } else if rng.chance(0.5) {
        bar[0] = 8;
    }
    for _ in 0..2 + rng.below(4) {
        bar[1 + rng.below(steps - 1)] = 7;
    }
    pair(bar, &[3, 6, 7, 10], 7, rng)
}

fn chords(steps: usize, rng: &mut Rng) -> Pair {
    let mut bar = vec![0u8; steps];
    for _ in 0..1 + rng.below(4) {
        bar[rng.below(steps)] = 8;
    }
    pair(bar, &[3, 6, 10], 7, rng)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_the_metre() {
        for seed in 0..200 {
            let beats = 3 + (seed % 2) as usize;
            let drawn = Drawn::draw(beats, &mut Rng::new(seed));
            let pairs = [
                &drawn.closed_hat,
                &drawn.open_hat,
                &drawn.bass,
                &drawn.chords,
            ];
            for bar in pairs.into_iter().chain(&drawn.kick).flatten() {
                assert_eq!(bar.len(), 4 * beats);
                assert!(bar.bytes().all(|b| b == b'.' || b.is_ascii_digit()));
            }
            assert!(drawn.backbeat.iter().all(|beat| *beat < beats));
            assert!((60.0..=200.0).contains(&drawn.tempo_bpm));
        }
    }

    #[test]
    fn some_have_no_kick_and_none_is_common() {
        let without = (0..400)
            .filter(|&seed| Drawn::draw(4, &mut Rng::new(seed)).kick.is_none())
            .count();
        assert!((20..90).contains(&without), "{without}");
    }
}
