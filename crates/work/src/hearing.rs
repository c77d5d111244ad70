//! A session made ready to be heard piece by piece: any part of it, of any tracks,
//! with any moves, at once.

use std::path::{Path, PathBuf};

use cupel_audio::TrackReader;
use cupel_compare::Distance;
use cupel_measure::{Meter, MeterSettings};
use cupel_process::Bus;
use cupel_render::{Block, PlacedSection, Plan, Sink, Span, run};
use cupel_session::{Move, Session, Target};

use crate::balance::placed;
use crate::beside::Passage;
use crate::figures::passage_figures;
use crate::{Assayed, Context, Place, WorkError, assay};

/// Frames read from a file at a time.
const BLOCK_FRAMES: usize = 1 << 13;

/// A session with all that hearing it needs.
#[derive(Debug)]
pub struct Hearing {
    /// The session as it came.
    pub assayed: Assayed,
    passage: Option<Passage>,
    sections: Vec<PlacedSection>,
}

/// Two channels of samples.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stereo {
    /// Left.
    pub left: Vec<f64>,
    /// Right.
    pub right: Vec<f64>,
}

impl Hearing {
    /// Measures the session, then lets other commands at it.
    ///
    /// # Errors
    /// As [`assay`].
    pub fn of(place: &Place, context: &Context<'_>) -> Result<Self, WorkError> {
        let mut assayed = assay(place, context)?;
        let passage = Passage::of(&assayed, context)?;
        assayed.surveyed.release();
        Ok(Self {
            sections: placed(&assayed.music),
            assayed,
            passage,
        })
    }

    /// Frames of the longest track on the session's clock.
    pub fn frames(&self) -> u64 {
        self.assayed.mix.summary.frames
    }

    /// The plan of a session's moves; `solo` (ids), where it names any, leaves the
    /// other tracks out; without `moves` the tracks are as they came.
    pub fn plan(&self, session: &Session, solo: &[String], moves: bool) -> Plan {
        let surveyed = &self.assayed.surveyed;
        let mut playable = session.clone();
        for track in &mut playable.tracks {
            let mut states = surveyed.tracks.iter();
            let state = states.find(|state| state.track.id == track.id);
            let there = state.is_some_and(|state| state.file.is_some());
            track.include &= there;
            if let Some(state) = state {
                track.start_s = state.track.start_s;
            }
        }
        let (folder, rate_hz) = (&surveyed.place.folder, surveyed.sample_rate_hz);
        let mut plan = match moves {
            true => Plan::of(&playable, folder, rate_hz, &self.sections),
            false => Plan::untouched(&playable, folder, rate_hz),
        };
        if !solo.is_empty() {
            plan.tracks.retain(|track| solo.contains(&track.id));
        }
        plan
    }

    /// Loudness of a stretch of a plan's mix, LUFS; `None` where it is silent.
    ///
    /// # Errors
    /// [`WorkError`] where a track cannot be read.
    pub fn plan_lufs(
        &self,
        plan: &Plan,
        start_s: f64,
        end_s: f64,
        context: &Context<'_>,
    ) -> Result<Option<f64>, WorkError> {
        let summary = passage_figures(&self.assayed.surveyed, plan, start_s, end_s, context)?;
        Ok(summary.integrated_lufs)
    }

    /// Loudness of a stretch of a file, LUFS; `None` where it is silent or cannot be
    /// read.
    pub fn file_lufs(&self, path: &Path, start_s: f64, end_s: f64) -> Option<f64> {
        let rate_hz = self.assayed.surveyed.sample_rate_hz;
        let frame = |seconds: f64| (seconds * f64::from(rate_hz)).round().max(0.0) as u64;
        let frames = frame(end_s).saturating_sub(frame(start_s)) as usize;
        let heard = hear_path(path, rate_hz, frame(start_s), frames).ok()?;
        stereo_lufs(&heard, rate_hz)
    }

    /// The distance to the reference with these moves, as predicted from the bars of
    /// the passage: gains only.
    pub fn distance(&self, moves: &[&Move]) -> Option<Distance> {
        let passage = self.passage.as_ref()?;
        let reference = passage.reference.as_ref()?;
        let group_of = |id: &str| {
            let track = self.assayed.surveyed.session.track(id);
            track.and_then(|track| track.group)
        };
        let gains_db: Vec<f64> = self
            .assayed
            .plan
            .tracks
            .iter()
            .map(|track| {
                let steps = moves.iter().filter(|step| {
                    step.at.is_none()
                        && !matches!(step.target, Target::Mix)
                        && step.target.reaches(&track.id, group_of(&track.id))
                });
                steps.filter_map(|step| step.parameters.gain_db()).sum()
            })
            .collect();
        Some(Distance::of(&passage.scene.cells(&gains_db), reference))
    }
}

/// Loudness of a sound, LUFS; `None` where it is silent.
pub fn stereo_lufs(sound: &Stereo, rate_hz: u32) -> Option<f64> {
    let settings = MeterSettings {
        sample_rate_hz: rate_hz,
        channels: 2,
    };
    let mut meter = Meter::new(settings).ok()?;
    meter.push(&[&sound.left, &sound.right]);
    meter.finish().summary.integrated_lufs
}

/// Takes what is heard of a span.
struct Taking(Stereo);

impl Sink for Taking {
    fn take(&mut self, block: &Block) -> Result<(), cupel_render::RenderError> {
        let Bus { left, right } = &block.mix;
        self.0.left.extend_from_slice(left);
        self.0.right.extend_from_slice(right);
        Ok(())
    }
}

/// Some frames of the mix of a plan; silence past its end.
///
/// # Errors
/// [`WorkError`] where a track cannot be read.
pub fn hear_plan(plan: &Plan, start_frame: u64, frames: usize) -> Result<Stereo, WorkError> {
    let mut taking = Taking(Stereo::default());
    if !plan.tracks.is_empty() {
        let span = Span {
            start_frame,
            frames: frames as u64,
        };
        run(plan, Some(span), false, &mut taking, &|_| ())?;
    }
    taking.0.left.resize(frames, 0.0);
    taking.0.right.resize(frames, 0.0);
    Ok(taking.0)
}

/// Some frames of a file at a rate; silence before its start and past its end.
///
/// # Errors
/// [`WorkError`] where it cannot be read.
pub fn hear_path(
    path: &Path,
    rate_hz: u32,
    start_frame: u64,
    frames: usize,
) -> Result<Stereo, WorkError> {
    let mut reader = TrackReader::open(path, rate_hz, 0)?;
    reader.seek(start_frame)?;
    let mut heard = Stereo {
        left: vec![0.0; frames],
        right: vec![0.0; frames],
    };
    let mut done = 0;
    while done < frames {
        let end = frames.min(done + BLOCK_FRAMES);
        let (left, right) = (&mut heard.left[done..end], &mut heard.right[done..end]);
        match reader.read(left, right)? {
            0 => break,
            read => done += read,
        }
    }
    Ok(heard)
}

/// Earlier renders of a session, the newest first, with their names.
pub fn renders(place: &Place) -> Vec<(String, PathBuf)> {
    let outputs = place.outputs();
    let newest = outputs.join("premaster.wav");
    let mut found: Vec<(String, PathBuf)> = Vec::new();
    if newest.is_file() {
        found.push(("the last render".into(), newest));
    }
    let earlier = std::fs::read_dir(outputs.join("earlier"));
    let mut numbers: Vec<u32> = earlier
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
        .collect();
    numbers.sort_unstable_by(|a, b| b.cmp(a));
    found.extend(numbers.into_iter().filter_map(|number| {
        let path = outputs.join(format!("earlier/{number}/premaster.wav"));
        path.is_file()
            .then(|| (format!("earlier render {number}"), path))
    }));
    found
}
