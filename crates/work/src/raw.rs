//! The tracks' own sound at the session's rate, before any move, for whoever mixes it.

use std::sync::{Mutex, PoisonError};

use cupel_audio::TrackReader;
use cupel_render::Plan;
use rayon::prelude::*;

use crate::{Stereo, WorkError};

/// Tracks that are held open and read together.
#[derive(Debug)]
pub struct RawTracks {
    /// Id of every track, in the order they are read.
    pub ids: Vec<String>,
    /// Where each begins, frames of the session.
    pub start_frames: Vec<i64>,
    /// Whether each is a mono file; both sides are read all the same.
    pub mono: Vec<bool>,
    lead_frames: u64,
    open: Mutex<Vec<Open>>,
}

#[derive(Debug)]
struct Open {
    reader: TrackReader,
    /// Where it stands, where that is known.
    at: Option<u64>,
}

impl RawTracks {
    /// Opens the tracks of a plan; what is read is counted from `lead_frames` before the
    /// session.
    ///
    /// # Errors
    /// [`WorkError`] where a file cannot be opened.
    pub fn open(plan: &Plan, lead_frames: u64) -> Result<Self, WorkError> {
        let tracks = &plan.tracks;
        let open = tracks
            .iter()
            .map(|track| {
                let start = track.start_frames.saturating_add_unsigned(lead_frames);
                let reader = TrackReader::open(&track.path, plan.sample_rate_hz, start)?;
                Ok(Open {
                    reader,
                    at: Some(0),
                })
            })
            .collect::<Result<Vec<_>, WorkError>>()?;
        Ok(Self {
            ids: tracks.iter().map(|track| track.id.clone()).collect(),
            start_frames: tracks.iter().map(|track| track.start_frames).collect(),
            mono: open.iter().map(|open| open.reader.is_mono()).collect(),
            lead_frames,
            open: Mutex::new(open),
        })
    }

    /// Frames before the session that reading is counted from.
    pub fn lead_frames(&self) -> u64 {
        self.lead_frames
    }

    /// Some frames of every track, in order; silence past its end.
    ///
    /// # Errors
    /// [`WorkError`] where a file can no longer be read.
    pub fn read(&self, frame: u64, frames: usize) -> Result<Vec<Stereo>, WorkError> {
        // After a panic elsewhere a reader goes to its place again.
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.par_iter_mut()
            .with_max_len(1)
            .map(|open| open.read(frame, frames))
            .collect()
    }
}

impl Open {
    fn read(&mut self, frame: u64, frames: usize) -> Result<Stereo, WorkError> {
        // Until it is done nobody knows where the reader stands.
        if self.at.take() != Some(frame) {
            self.reader.seek(frame)?;
        }
        let mut heard = Stereo {
            left: vec![0.0; frames],
            right: vec![0.0; frames],
        };
        self.reader.read(&mut heard.left, &mut heard.right)?;
        self.at = Some(frame + frames as u64);
        Ok(heard)
    }
}
