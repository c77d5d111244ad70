//! What a song knows about itself, as the truth prints it.

use crate::form::Section;
use crate::loudness::Loudness;
use crate::role::Role;
use crate::song::{Song, micro};
use crate::sums::{hundredth, tenth};
use crate::truth::{BarTruth, SectionTruth};

/// A note counts in a bar that it sounds in for this long.
const SOUNDS_S: f64 = 0.02;

impl Song {
    /// Starts of all bars in the file, and the end of the last; below 0 what was
    /// cut away.
    pub(crate) fn bar_lines_s(&self) -> Vec<f64> {
        let bars = self.sections.last().map_or(0, Section::end_bar);
        (0..=bars)
            .map(|bar| self.time_s(self.grid.bar_start_s(bar)))
            .collect()
    }

    /// First bar line in the file.
    pub(crate) fn first_downbeat_s(&self) -> f64 {
        let lines = self.bar_lines_s();
        lines.into_iter().find(|&s| s >= 0.0).unwrap_or(0.0)
    }

    /// All beats in the file; empty where time is even.
    pub(crate) fn beats_s(&self) -> Vec<f64> {
        if self.clock.is_even() {
            return Vec::new();
        }
        let bars = self.sections.last().map_or(0, Section::end_bar);
        (0..bars * self.grid.beats_per_bar)
            .map(|beat| self.grid.first_downbeat_s + beat as f64 * self.grid.beat_s())
            .map(|written_s| micro(self.time_s(written_s)))
            .filter(|&s| s >= 0.0)
            .collect()
    }

    /// All kicks in the file.
    pub(crate) fn kicks_s(&self) -> Vec<f64> {
        self.kick_times_s
            .iter()
            .map(|&s| micro(s - self.cut_s))
            .filter(|&s| s >= 0.0)
            .collect()
    }

    /// Pitch of A4.
    pub(crate) fn tuning_hz(&self) -> f64 {
        micro(440.0 * libm::exp2(self.tuning_cents / 1200.0))
    }

    /// Sections, cut to the file.
    pub fn sections(&self) -> Vec<SectionTruth> {
        let lines = self.bar_lines_s();
        let layers = self.layers_by_bar(&lines);
        self.sections
            .iter()
            .map(|section| {
                let bars = &layers[section.start_bar..section.end_bar()];
                let mean = bars.iter().sum::<usize>() as f64 / bars.len().max(1) as f64;
                SectionTruth {
                    name: section.kind.name().to_owned(),
                    start_s: micro(lines[section.start_bar].max(0.0)),
                    end_s: micro(lines[section.end_bar()]),
                    busiest: section.is_busiest(),
                    layers: tenth(mean),
                }
            })
            .filter(|section| section.end_s > 0.0)
            .collect()
    }

    /// Bars that lie whole in the file, with the loudness of a mix.
    pub(crate) fn bars(&self, mix: &Loudness) -> Vec<BarTruth> {
        let lines = self.bar_lines_s();
        self.layers_by_bar(&lines)
            .into_iter()
            .zip(lines.windows(2))
            .filter(|(_, line)| line[0] >= 0.0)
            .map(|(layers, line)| BarTruth {
                start_s: micro(line[0]),
                layers,
                lufs: mix.between_lufs(line[0], line[1]).map(hundredth),
            })
            .collect()
    }

    fn layers_by_bar(&self, lines: &[f64]) -> Vec<usize> {
        let bars = lines.len().saturating_sub(1);
        let mut words: Vec<Vec<&str>> = vec![Vec::new(); bars];
        for part in self.parts.iter().filter(|part| part.role != Role::Effects) {
            let word = part.role.word();
            for event in &part.events {
                let start_s = event.start_s - self.cut_s;
                let end_s = start_s + event.length_s.max(2.0 * SOUNDS_S);
                let first = lines.partition_point(|&line| line <= start_s).max(1) - 1;
                for bar in first..bars {
                    if lines[bar] + SOUNDS_S > end_s {
                        break;
                    }
                    let sounds = start_s + SOUNDS_S < lines[bar + 1];
                    if sounds && !words[bar].contains(&word) {
                        words[bar].push(word);
                    }
                }
            }
        }
        words.iter().map(Vec::len).collect()
    }
}
