//! Which tracks are the kick: the anchor of the balance.

use cupel_units::Role;
use serde::Serialize;

use crate::{Surveyed, TrackState};

/// How the kick was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FoundBy {
    /// The session file names it.
    Set,
    /// Its role, from the session file or the file name.
    Role,
    /// It is the strongest track below 120 Hz.
    StrongestLow,
}

/// The kick element: its tracks, all sounding together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Kick {
    /// Ids of its tracks, in session order.
    pub tracks: Vec<String>,
    /// How it was found.
    pub found_by: FoundBy,
}

impl Kick {
    /// The kick of a session; `None` with a single track, or where every track
    /// is silent.
    pub fn of(surveyed: &Surveyed) -> Option<Self> {
        let tracks: Vec<&TrackState> = surveyed.included().map(|(state, _)| state).collect();
        if tracks.len() < 2 {
            return None;
        }
        let found = |tracks: Vec<String>, found_by| {
            (!tracks.is_empty()).then_some(Self { tracks, found_by })
        };
        let set = surveyed.session.kick.iter().cloned().collect();
        let by_role = tracks
            .iter()
            .filter(|state| state.track.role == Some(Role::Kick))
            .map(|state| state.track.id.clone())
            .collect();
        let low = |state: &TrackState| state.file.as_ref()?.summary().low_share.below_120_dbfs;
        let strongest = tracks
            .iter()
            .filter_map(|state| Some((low(state)?, state)))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, state)| state.track.id.clone());
        found(set, FoundBy::Set)
            .or_else(|| found(by_role, FoundBy::Role))
            .or_else(|| found(strongest.into_iter().collect(), FoundBy::StrongestLow))
    }
}
