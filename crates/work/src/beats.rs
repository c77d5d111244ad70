//! The beats of a passage, and how those of a reference are laid on them.

use cupel_compare::Stretch;
use cupel_rhythm::Grid;

/// A last beat may lie this far past the end of a file, in seconds.
const PAST_END_S: f64 = 0.02;

/// Whole bars of a passage.
#[derive(Clone, Debug, PartialEq)]
pub struct Beats {
    /// Every beat, the first on a bar line, and the bar line after the last.
    pub times_s: Vec<f64>,
    /// Beats of a bar.
    pub beats_per_bar: u32,
}

impl Beats {
    /// The bars of a passage, from the bar line nearest to its start; `None` without a
    /// grid or where not one bar fits into the file's `seconds`.
    pub(crate) fn of(grid: &Grid, passage: &Stretch, seconds: f64) -> Option<Self> {
        let beats_per_bar = grid.beats_per_bar?.max(1);
        let bar_s = f64::from(beats_per_bar) * 60.0 / grid.tempo_bpm?;
        let beyond_s = seconds + bar_s;
        let nearest = |a: &f64, b: &f64| {
            (a - passage.start_s)
                .abs()
                .total_cmp(&(b - passage.start_s).abs())
        };
        let first_s = grid.bars_s(beyond_s).into_iter().min_by(nearest)?;
        let times = grid.beats(beyond_s).into_iter();
        let mut times_s: Vec<f64> = times
            .filter(|beat_s| *beat_s >= first_s - 0.001 && *beat_s <= seconds + PAST_END_S)
            .collect();
        let wanted = times_s
            .iter()
            .filter(|beat_s| **beat_s < passage.end_s - 0.01)
            .count();
        let metre = beats_per_bar as usize;
        let bars = ((wanted as f64 / metre as f64).round() as usize)
            .clamp(1, ((times_s.len().max(1) - 1) / metre).max(1));
        times_s.truncate(bars * metre + 1);
        // Up to 10 ms before the file still counts as its start.
        times_s
            .first_mut()
            .into_iter()
            .for_each(|first| *first = first.max(0.0));
        (times_s.len() == bars * metre + 1).then_some(Self {
            times_s,
            beats_per_bar,
        })
    }

    /// How many beats.
    pub fn count(&self) -> usize {
        self.times_s.len().saturating_sub(1)
    }

    /// How many bars.
    pub fn bars(&self) -> usize {
        self.count() / self.beats_per_bar.max(1) as usize
    }

    /// The first bar line.
    pub fn start_s(&self) -> f64 {
        self.times_s.first().copied().unwrap_or(0.0)
    }

    /// The bar line after the last bar.
    pub fn end_s(&self) -> f64 {
        self.times_s.last().copied().unwrap_or(0.0)
    }

    /// Beats a minute, over the whole passage.
    pub fn tempo_bpm(&self) -> f64 {
        60.0 * self.count() as f64 / (self.end_s() - self.start_s())
    }

    /// The time of a beat counted from 0, or of a part of one.
    fn at(&self, beat: f64) -> f64 {
        let index = (beat as usize).min(self.times_s.len().saturating_sub(2));
        match self.times_s.get(index..index + 2) {
            Some(&[low, high]) => low + (high - low) * (beat - index as f64),
            _ => 0.0,
        }
    }
}

/// How beats of the reference meet those of the session.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Steps {
    /// Beats of the reference to one of the session: 1, or 2 or a half where its
    /// tempo was read an octave away.
    per_beat: f64,
    /// Beats of the session that the reference's passage fills once.
    once: usize,
    pub tempo_change: f64,
    pub times: f64,
}

impl Steps {
    pub fn new(session: &Beats, reference: &Beats) -> Self {
        let ratio = reference.tempo_bpm() / session.tempo_bpm();
        let off = |per_beat: &f64| (ratio / per_beat).ln().abs();
        let per_beat = [1.0, 2.0, 0.5]
            .into_iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap_or(1.0);
        let once = ((reference.count() as f64 / per_beat) as usize).max(1);
        Self {
            per_beat,
            once,
            tempo_change: per_beat / ratio - 1.0,
            times: session.count() as f64 / once as f64,
        }
    }

    /// Pairs of times in the reference's file and in the loop, one list each time that
    /// the reference's passage is played, each starting at 0 in the loop.
    pub fn pieces(&self, session: &Beats, reference: &Beats) -> Vec<Vec<(f64, f64)>> {
        let starts = (0..session.count()).step_by(self.once);
        starts
            .map(|start| {
                let beats = self.once.min(session.count() - start);
                let zero_s = session.at(start as f64);
                (0..=beats)
                    .map(|beat| {
                        let from_s = reference.at(beat as f64 * self.per_beat);
                        (from_s, session.at((start + beat) as f64) - zero_s)
                    })
                    .collect()
            })
            .collect()
    }

    /// What a listener must know.
    pub fn notes(&self, session: &Beats, reference: &Beats) -> Vec<String> {
        let mut notes = Vec::new();
        if self.tempo_change.abs() > cupel_stretch::warn_beyond() + 1e-6 {
            notes.push(format!(
                "the reference is played {:+.1} % faster than it is: beyond {:.0} % it may not \
                 sound well",
                100.0 * self.tempo_change,
                100.0 * cupel_stretch::warn_beyond()
            ));
        }
        if self.per_beat != 1.0 {
            let word = if self.per_beat > 1.0 {
                "two beats"
            } else {
                "half a beat"
            };
            notes.push(format!(
                "{word} of the reference to one of the session: their tempos are nearest so"
            ));
        }
        if session.beats_per_bar != reference.beats_per_bar {
            notes.push(format!(
                "bars of {} beats in the session, of {} in the reference: bar lines do not meet",
                session.beats_per_bar, reference.beats_per_bar
            ));
        }
        notes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beats(tempo_bpm: f64, bars: usize) -> Beats {
        let times_s = (0..=4 * bars).map(|beat| 1.0 + beat as f64 * 60.0 / tempo_bpm);
        Beats {
            times_s: times_s.collect(),
            beats_per_bar: 4,
        }
    }

    #[test]
    fn beats_meet_beats() {
        let (session, reference) = (beats(124.0, 8), beats(126.0, 8));
        let steps = Steps::new(&session, &reference);
        let pieces = steps.pieces(&session, &reference);
        assert_eq!((pieces.len(), pieces[0].len()), (1, 33));
        assert!((steps.tempo_change - (124.0 / 126.0 - 1.0)).abs() < 1e-9);
        assert_eq!(pieces[0][0], (1.0, 0.0));
        assert!(steps.notes(&session, &reference).is_empty());
    }

    #[test]
    fn a_short_passage_is_repeated() {
        let (session, reference) = (beats(120.0, 16), beats(120.0, 6));
        let pieces = Steps::new(&session, &reference).pieces(&session, &reference);
        let lengths: Vec<usize> = pieces.iter().map(Vec::len).collect();
        assert_eq!(lengths, [25, 25, 17]);
        assert!(pieces.iter().all(|piece| piece[0] == (1.0, 0.0)));
    }

    #[test]
    fn the_nearer_octave_is_used() {
        let session = beats(170.0, 8);
        let half = Steps::new(&session, &beats(86.0, 8));
        assert_eq!((half.per_beat, half.once), (0.5, 64));
        assert!(half.tempo_change.abs() < 0.02);
        let double = Steps::new(&beats(85.0, 8), &beats(172.0, 8));
        assert_eq!((double.per_beat, double.once), (2.0, 16));
    }
}
