//! The documents that `--json` prints. Fields are only ever added.

pub(crate) mod assay;
pub(crate) mod balance;
pub(crate) mod bars;
pub(crate) mod explain;
pub(crate) mod formatter;
pub(crate) mod listen;
pub(crate) mod looped;
pub(crate) mod measure;
pub(crate) mod music;
pub(crate) mod open;
pub(crate) mod render;
pub(crate) mod report;

use cupel_work::{Assayed, TrackState};
use serde::Serialize;

/// Version of every document.
pub(crate) const VERSION: u32 = 1;

/// What every document says of a track.
#[derive(Debug, Serialize)]
pub(crate) struct TrackName<'a> {
    pub id: &'a str,
    pub file: &'a str,
    pub role: Option<&'static str>,
    pub group: Option<&'static str>,
    pub include: bool,
    pub why_left_out: Option<&'a str>,
    pub start_s: f64,
}

impl<'a> TrackName<'a> {
    pub(crate) fn of(track: &'a cupel_session::Track) -> Self {
        Self {
            id: &track.id,
            file: &track.file,
            role: track.role.map(cupel_units::Role::name),
            group: track.group.map(cupel_units::Group::name),
            include: track.include,
            why_left_out: track.why_left_out.as_deref(),
            start_s: track.start_s,
        }
    }
}

/// A track with the gain that the moves give it.
#[derive(Debug, Serialize)]
pub(crate) struct TrackGain<'a> {
    #[serde(flatten)]
    name: TrackName<'a>,
    /// Sum of trim, fader and group gains that are on, pan excluded.
    net_gain_db: f64,
}

pub(crate) fn track_gains(assayed: &Assayed) -> Vec<TrackGain<'_>> {
    let session = &assayed.surveyed.session;
    let gain = |state: &TrackState| session.net_gain_db(&state.track.id);
    let tracks = assayed.surveyed.tracks.iter();
    tracks
        .map(|state| TrackGain {
            name: TrackName::of(&state.track),
            net_gain_db: gain(state),
        })
        .collect()
}
