//! The audible tracks of a session on one clock, and what is found among them
//! without the bounce.

use std::ops::Range;

use crate::feed::{Feed, Placed, PlacedStream};
use crate::gram::{BLOCK_FRAMES, Gram};
use crate::pairs::{Pair, find_pairs, read_sides};
use crate::remarks::{name_files, note};
use crate::sums::{FoundSum, find_sums};
use crate::thresholds::{LENGTHS_DIFFER_S, SOUNDS_ABOVE_LUFS};
use crate::windows::{Curve, SLOT_S, pick_slots};
use crate::{LeftOut, LeftOutWhy, NearIdentical, Note, Trust, TrustError, TrustInput};

/// How much of the beginning of a file is looked at for sound.
const BEGINNING_S: f64 = 0.05;

/// A selection of tracks, each moved to its start.
pub(crate) struct Session<'a> {
    pub input: &'a TrustInput<'a>,
    /// Indices into the input's tracks.
    pub tracks: Vec<usize>,
    pub placed: Vec<Placed<'a>>,
    starts: Vec<u64>,
}

impl<'a> Session<'a> {
    /// `starts` holds (track, frame) for tracks that were moved.
    pub fn new(input: &'a TrustInput<'a>, tracks: &[usize], starts: &[(usize, u64)]) -> Self {
        let start_of = |track: usize| {
            starts
                .iter()
                .find(|(moved, _)| *moved == track)
                .map_or(0, |(_, start)| *start)
        };
        Self {
            input,
            tracks: tracks.to_vec(),
            placed: tracks
                .iter()
                .map(|&track| Placed {
                    source: input.tracks[track].source,
                    offset_frames: start_of(track) as i64,
                })
                .collect(),
            starts: tracks.iter().map(|&track| start_of(track)).collect(),
        }
    }

    pub fn rate(&self) -> u32 {
        self.input.sample_rate_hz
    }

    pub fn slot_frames(&self) -> usize {
        (SLOT_S * f64::from(self.rate())) as usize
    }

    /// Whole slots within `frames`; at least one if there are frames at all.
    pub fn slots(&self, frames: u64) -> usize {
        (frames as usize / self.slot_frames()).max(usize::from(frames > 0))
    }

    /// First frame after the last track.
    pub fn end(&self) -> u64 {
        self.placed.iter().map(Placed::end).max().unwrap_or(0)
    }

    pub fn curves(&self) -> Vec<Curve<'a>> {
        self.tracks
            .iter()
            .zip(&self.starts)
            .map(|(&track, &start)| Curve {
                momentary_lufs: self.input.tracks[track].momentary_lufs,
                shift_values: (start as f64 * 10.0 / f64::from(self.rate())).round() as i64,
            })
            .collect()
    }

    pub fn pick(&self, allowed: Range<usize>, count: usize) -> Vec<usize> {
        pick_slots(&self.curves(), allowed, count)
    }

    /// Slots cut into `parts` each, as (start, frames).
    pub fn segments(&self, slots: &[usize], parts: usize) -> Vec<(u64, usize)> {
        let frames = self.slot_frames() / parts;
        slots
            .iter()
            .flat_map(|&slot| {
                (0..parts).map(move |part| ((slot * parts + part) as u64 * frames as u64, frames))
            })
            .collect()
    }

    /// The tracks in step, the bounce last if there is one.
    pub fn feed(&self, bounce: Option<Placed>) -> Result<Feed, TrustError> {
        let sources: Vec<Placed> = self.placed.iter().copied().chain(bounce).collect();
        Feed::open(&sources, BLOCK_FRAMES)
    }

    pub fn id(&self, column: usize) -> String {
        self.input.tracks[self.tracks[column]].id.to_owned()
    }

    pub fn file(&self, column: usize) -> &'a str {
        self.input.tracks[self.tracks[column]].file
    }

    pub fn files(&self, columns: &[usize]) -> String {
        let files: Vec<&str> = columns.iter().map(|&column| self.file(column)).collect();
        name_files(&files)
    }

    /// Finds sums and copies and writes them down; returns the columns left in
    /// the sum, and the copies among them.
    pub fn name_copies(
        &self,
        gram: &Gram,
        slots: &[usize],
        trust: &mut Trust,
    ) -> Result<(Vec<usize>, Vec<Pair>), TrustError> {
        let sums = find_sums(&gram.total, self.tracks.len());
        let kept: Vec<usize> = (0..self.tracks.len())
            .filter(|column| sums.iter().all(|sum| sum.track != *column))
            .collect();
        trust
            .tracks_left_out
            .extend(sums.iter().map(|sum| self.sum_left_out(sum)));
        let pairs = find_pairs(
            &gram.total,
            &kept,
            &self.placed,
            &self.curves(),
            slots,
            self.rate(),
        )?;
        trust
            .near_identical
            .extend(pairs.iter().map(|pair| self.near_identical(pair)));
        Ok((kept, pairs))
    }

    fn sum_left_out(&self, sum: &FoundSum) -> LeftOut {
        let (why, surely) = if sum.is_exact() {
            (LeftOutWhy::Sum, "is")
        } else {
            (LeftOutWhy::ProbablySum, "is very likely")
        };
        LeftOut {
            id: self.id(sum.track),
            why,
            text: format!(
                "`{}` {surely} the sum of {}; it is left out so that nothing counts twice",
                self.file(sum.track),
                self.files(&sum.of)
            ),
            of: sum.of.iter().map(|&column| self.id(column)).collect(),
            residual_db: Some(sum.residual_db),
        }
    }

    fn near_identical(&self, pair: &Pair) -> NearIdentical {
        NearIdentical {
            a: self.id(pair.a),
            b: self.id(pair.b),
            level_db: pair.level_db,
            correlation: pair.correlation,
            lag_samples: pair.lag_samples,
            exact: pair.is_exact(),
        }
    }

    /// Columns of short files without a certain start that begin with sound.
    pub fn maybe_trimmed(
        &self,
        longest_frames: u64,
        above_dbfs: f64,
    ) -> Result<Vec<usize>, TrustError> {
        let rate = f64::from(self.rate());
        let mut found = Vec::new();
        for (column, &track) in self.tracks.iter().enumerate() {
            let known = &self.input.tracks[track];
            let short_s = longest_frames.saturating_sub(known.source.frames()) as f64 / rate;
            if !known.start_known
                && short_s > LENGTHS_DIFFER_S
                && self.begins_with_sound(column, above_dbfs)?
            {
                found.push(column);
            }
        }
        Ok(found)
    }

    fn begins_with_sound(&self, column: usize, above_dbfs: f64) -> Result<bool, TrustError> {
        let frames = (BEGINNING_S * f64::from(self.rate())) as usize;
        let mut stream = PlacedStream::open(&self.placed[column])?;
        let sides = read_sides(&mut stream, 0, frames)?;
        let peak = sides
            .iter()
            .flatten()
            .fold(0.0f64, |peak, sample| peak.max(sample.abs()));
        Ok(peak > cupel_units::db_to_amplitude(above_dbfs))
    }

    /// Remark on files that begin with sound while others begin with silence.
    pub fn starts_with_sound(&self) -> Result<Option<Note>, TrustError> {
        let longest = self
            .placed
            .iter()
            .map(|placed| placed.source.frames())
            .max()
            .unwrap_or(0);
        let trimmed = self.maybe_trimmed(longest, SOUNDS_ABOVE_LUFS)?;
        if trimmed.is_empty() || trimmed.len() == self.tracks.len() {
            return Ok(None);
        }
        let plural = if trimmed.len() == 1 { "is" } else { "are" };
        let start = if trimmed.len() == 1 {
            "starts"
        } else {
            "start"
        };
        Ok(Some(note(
            "maybe_trimmed",
            format!(
                "{} {plural} shorter than the rest, {start} at once with sound and without a time \
                 stamp: if the export was trimmed to the first clip, the sound plays too early; a \
                 bounce of your mix would show it",
                self.files(&trimmed)
            ),
            trimmed.iter().map(|&column| self.id(column)).collect(),
        )))
    }
}
