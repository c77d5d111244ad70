//! What the engine in the page is fed with: the tracks' own sound, and the strips of a
//! version of the mix. Moves become settings here and nowhere else.

use cupel_engine::{LEAD_FRAMES, MixSettings, PIECE_FRAMES, TrackSettings, piece};
use cupel_process::StripSettings;
use cupel_render::{Plan, PlannedTrack};
use cupel_session::Session;
use cupel_work::{Hearing, RawTracks};
use serde::{Deserialize, Serialize};

use crate::ListenError;
use crate::decide::{Decision, apply};
use crate::room::Room;

/// What the page must know before it can open its engine.
#[derive(Clone, Copy, Debug, Serialize)]
pub(crate) struct LiveFacts {
    tracks: usize,
    piece_frames: usize,
    lead_frames: u64,
}

/// A version of the mix that is asked for.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Wanted {
    /// `before` or `after`.
    source: String,
    /// Ids of tracks; none for all.
    #[serde(default)]
    solo: Vec<String>,
    /// Decisions on their way into the file, which are to be heard already.
    #[serde(default)]
    decisions: Vec<Decision>,
}

/// The tracks for the engine, opened; `None` where one of them cannot be.
pub(crate) fn open(hearing: &Hearing, session: &Session) -> Option<RawTracks> {
    let plan = hearing.plan(session, &[], false);
    RawTracks::open(&plan, LEAD_FRAMES).ok()
}

impl Room {
    /// What the engine needs to be opened, where it can be fed.
    pub(crate) fn live_facts(&self) -> Option<LiveFacts> {
        let raw = self.raw.as_ref().filter(|raw| !raw.ids.is_empty())?;
        Some(LiveFacts {
            tracks: raw.ids.len(),
            piece_frames: PIECE_FRAMES,
            lead_frames: LEAD_FRAMES,
        })
    }

    /// A piece of all tracks' own sound.
    ///
    /// # Errors
    /// [`ListenError::NoEngine`], and where a file can no longer be read.
    pub(crate) fn piece(&self, index: u64) -> Result<Vec<u8>, ListenError> {
        let raw = self.raw.as_ref().ok_or(ListenError::NoEngine)?;
        let sound = raw.read(index * PIECE_FRAMES as u64, PIECE_FRAMES)?;
        let sides: Vec<(&[f64], &[f64])> = sound
            .iter()
            .map(|track| (&track.left[..], &track.right[..]))
            .collect();
        Ok(piece::encode(&sides))
    }

    /// The strips of a version of the mix, as the engine takes them. Nothing is written
    /// and no file is read: a change is heard before it is kept.
    ///
    /// # Errors
    /// [`ListenError::NoSource`], [`ListenError::NoMove`], [`ListenError::Value`];
    /// [`ListenError::NoEngine`] where the tracks are no longer those that were opened.
    pub(crate) fn strips(&self, wanted: &Wanted) -> Result<Vec<f64>, ListenError> {
        let raw = self.raw.as_ref().ok_or(ListenError::NoEngine)?;
        let moves = match wanted.source.as_str() {
            "before" => false,
            "after" => true,
            other => return Err(ListenError::NoSource(other.to_owned())),
        };
        let state = self.state();
        let mut session = state.pending.unwrap_or(state.session);
        for decision in &wanted.decisions {
            apply(&mut session, decision)?;
        }
        let plan = self.hearing.plan(&session, &[], moves);
        let mix = mix_of(&plan, raw, &wanted.solo).ok_or(ListenError::NoEngine)?;
        Ok(mix.encode(f64::from(plan.sample_rate_hz)))
    }
}

/// The settings of a plan for the tracks that are open; `None` where it has others.
fn mix_of(plan: &Plan, raw: &RawTracks, solo: &[String]) -> Option<MixSettings> {
    let known = |track: &PlannedTrack| raw.ids.contains(&track.id);
    if !plan.tracks.iter().all(known) {
        return None;
    }
    let tracks = raw.ids.iter().enumerate().map(|(index, id)| {
        let Some(track) = plan.tracks.iter().find(|track| track.id == *id) else {
            return Some(TrackSettings::default());
        };
        let delay_frames = track.start_frames - raw.start_frames[index];
        (delay_frames.unsigned_abs() < LEAD_FRAMES).then(|| TrackSettings {
            plays: solo.is_empty() || solo.contains(id),
            group: track.group,
            delay_frames,
            strip: StripSettings {
                mono: raw.mono[index],
                ..track.strip.clone()
            },
        })
    });
    Some(MixSettings {
        tracks: tracks.collect::<Option<_>>()?,
        groups: plan.groups.iter().map(|(_, group)| group.clone()).collect(),
    })
}
