//! Files that lie a few milliseconds beside their place in the bounce.
//!
//! What it measures: for each track that the bounce does not hold as the file has it,
//! the place within 50 ms at which the file explains most of what all others leave.
//! Why it matters: a late track drags, and two that belong together cancel.
//! Threshold and source: [`LEAST_SHIFT_S`], [`EXPLAINED`], [`HALVED`] (common practice,
//! no source).
//! How to mend: export the track again from the common start, or move it.
//! When it is wrong: processing on the mix that delays parts of the spectrum.

use std::ops::Range;

use crate::feed::Placed;
use crate::session::Session;
use crate::starts::{Search, Wanted};
use crate::{Cause, Trust, TrustError, WrongStart};

/// Shifts under this are none: filters turn phases as far.
const LEAST_SHIFT_S: f64 = 0.000_5;
/// Share of what is left that the moved file explains at least.
const EXPLAINED: f64 = 0.4;
/// What it leaves, against what it leaves where it lies.
const HALVED: f64 = 0.6;
/// A track whose gain is this far from that of the others is worth a look, dB.
const ODD_GAIN_DB: f64 = 0.3;
/// Tracks looked at.
const MOST_LOOKS: usize = 6;

/// Tracks in the sum, with the bounce last, and their gains.
pub(crate) struct PlacedSum<'a> {
    pub session: &'a Session<'a>,
    /// Columns in the sum.
    pub used: &'a [usize],
    pub sources: &'a [Placed<'a>],
    pub gains: &'a [f64],
    pub sign: f64,
    pub range: Range<u64>,
}

impl PlacedSum<'_> {
    /// Those that lie beside their place, in session order.
    pub fn wrong_starts(&self, trust: &Trust) -> Result<Vec<WrongStart>, TrustError> {
        let mut found = Vec::new();
        for place in self.suspects(trust) {
            found.extend(self.look(place)?);
        }
        Ok(found)
    }

    /// Tracks that the bounce does not hold as they are: those named, then those of
    /// the oddest gain.
    fn suspects(&self, trust: &Trust) -> Vec<usize> {
        let named = |id: &String| {
            let mut differences = trust.differences.iter();
            differences.any(|difference| {
                let of_track = matches!(
                    difference.cause,
                    Cause::TrackProcessing | Cause::NotInBounce | Cause::Faders
                );
                of_track && difference.tracks.contains(id)
            })
        };
        let mut odd: Vec<(f64, usize)> = Vec::new();
        for (place, gain) in trust.gains.iter().enumerate() {
            let away_db = gain.gain_db.map_or(100.0, f64::abs);
            if named(&gain.id) || away_db > ODD_GAIN_DB {
                odd.push((away_db, place));
            }
        }
        odd.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        odd.truncate(MOST_LOOKS);
        let mut places: Vec<usize> = odd.into_iter().map(|(_, place)| place).collect();
        places.sort_unstable();
        places
    }

    fn look(&self, place: usize) -> Result<Option<WrongStart>, TrustError> {
        let rate = f64::from(self.session.rate());
        let mut factors: Vec<f64> = self.gains.iter().map(|gain| -gain).collect();
        factors[place] = 0.0;
        factors.push(self.sign);
        let search = Search {
            known: self.sources,
            factors: &factors,
            range: self.range.clone(),
            rate_hz: self.session.rate(),
            least: 0.0,
        };
        let track = self.session.tracks[self.used[place]];
        let known = &self.session.input.tracks[track];
        let sought = Wanted {
            source: crate::judge::unmoved(known.source),
            momentary_lufs: known.momentary_lufs,
        };
        let here = self.sources[place].offset_frames;
        let start = search.nearby(&sought, here)?;
        let late_s = (here - start) as f64 / rate;
        if late_s.abs() < LEAST_SHIFT_S {
            return Ok(None);
        }
        let explained = search.share_at(&sought, start)?;
        let as_it_lies = search.share_at(&sought, here)?;
        let better = 1.0 - explained <= HALVED * (1.0 - as_it_lies);
        Ok((explained >= EXPLAINED && better).then(|| WrongStart {
            id: known.id.to_owned(),
            late_s,
            explained,
        }))
    }
}
