//! What the page is told of the session.

use cupel_compare::Distance;
use cupel_findings::Finding;
use cupel_session::{Move, Target};
use serde::Serialize;

use crate::blind::Kept;
use crate::live::LiveFacts;
use crate::room::{Room, State};
use crate::sources::Source;

/// Everything the page shows beside its drawings.
#[derive(Debug, Serialize)]
pub(crate) struct RoomFacts<'a> {
    schema: &'static str,
    version: u32,
    name: &'a str,
    sample_rate_hz: u32,
    frames: u64,
    revision: u64,
    /// Whether the sources are still being brought to one loudness.
    matching: bool,
    /// Where they are equally loud.
    matched_s: Option<(f64, f64)>,
    /// Whether decisions wait because the session file was changed elsewhere.
    conflict: bool,
    passage_s: Option<(f64, f64)>,
    sections: Vec<SectionFacts>,
    bars_s: Vec<f64>,
    sources: &'a [Source],
    /// Whether the reference is still being laid on the session's beats.
    laying: bool,
    /// Why that failed.
    not_laid: Option<&'a str>,
    tracks: Vec<TrackFacts<'a>>,
    moves: Vec<MoveFacts>,
    /// The distance: its parts, without moves and with those that are on.
    distance: Option<DistanceFacts>,
    findings: &'a [Finding],
    /// Loudness of the mix as it came, LUFS, once a second.
    loudness_lufs: Vec<Option<f32>>,
    kept: &'a Kept,
    /// What the engine in the page is opened with; `None` where it cannot be fed.
    live: Option<LiveFacts>,
}

#[derive(Debug, Serialize)]
struct SectionFacts {
    name: String,
    start_s: f64,
    end_s: f64,
    busiest: bool,
}

#[derive(Debug, Serialize)]
struct TrackFacts<'a> {
    id: &'a str,
    name: String,
    role: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct MoveFacts {
    id: String,
    target: String,
    words: String,
    why: String,
    stage: String,
    on: bool,
    locked: bool,
    done: bool,
    gain_db: Option<f64>,
    /// By part of the distance: how much nearer it brings the mix, dB, beside the
    /// other moves that are on.
    nearer_db: Vec<Option<f64>>,
}

#[derive(Debug, Serialize)]
struct DistanceFacts {
    names: Vec<&'static str>,
    before_db: [Option<f64>; 5],
    now_db: [Option<f64>; 5],
}

impl Room {
    /// The facts as they are; `show` gets them, since they borrow.
    pub(crate) fn facts<T>(&self, show: impl FnOnce(&RoomFacts<'_>) -> T) -> T {
        let state = self.state();
        let assayed = &self.hearing.assayed;
        let grid = &assayed.music.grid;
        let seconds = assayed.mix.summary.seconds;
        let curve = &assayed.mix.curve.short_term_lufs;
        let facts = RoomFacts {
            schema: "cupel/room",
            version: 1,
            name: state.session.name.as_deref().unwrap_or("session"),
            sample_rate_hz: self.sample_rate_hz(),
            frames: self.hearing.frames(),
            revision: state.revision,
            matching: state.matched != state.revision,
            matched_s: state.matched_s,
            conflict: state.pending.is_some(),
            passage_s: assayed
                .passages
                .as_ref()
                .map(|p| (p.stretch.start_s, p.stretch.end_s)),
            sections: assayed
                .music
                .form
                .sections
                .iter()
                .map(|section| SectionFacts {
                    name: section.name.name().to_owned(),
                    start_s: section.start_s,
                    end_s: section.end_s,
                    busiest: section.busiest,
                })
                .collect(),
            bars_s: grid.bars_s(seconds),
            sources: &state.sources,
            laying: state.laying,
            not_laid: state.not_laid.as_deref(),
            tracks: state
                .session
                .tracks
                .iter()
                .filter(|track| track.include)
                .map(|track| TrackFacts {
                    id: &track.id,
                    name: stem(&track.file),
                    role: track.role.map(|role| role.name()),
                })
                .collect(),
            moves: self.moves(&state),
            distance: self.distances(&state),
            findings: &assayed.findings,
            loudness_lufs: curve
                .iter()
                .step_by(10)
                .map(|lufs| Some(*lufs).filter(|lufs| lufs.is_finite()))
                .collect(),
            kept: &state.kept,
            live: self.live_facts(),
        };
        show(&facts)
    }

    fn distances(&self, state: &State) -> Option<DistanceFacts> {
        let now = self.hearing.distance(&Room::on(&state.session))?;
        let before = self.hearing.distance(&[])?;
        Some(DistanceFacts {
            names: Distance::NAMES.iter().map(|name| name.words).collect(),
            before_db: before.values(),
            now_db: now.values(),
        })
    }

    fn moves(&self, state: &State) -> Vec<MoveFacts> {
        let session = &state.session;
        let on = Room::on(session);
        let off = session.moves.iter().filter(|step| !step.on);
        let ordered = session.steps().into_iter().chain(off);
        ordered
            .map(|step| MoveFacts {
                id: step.id.clone(),
                target: target(state, step),
                words: step.in_words(""),
                why: step.why.clone(),
                stage: step.stage.clone(),
                on: step.on,
                locked: step.locked,
                done: state.kept.done.contains(&step.id),
                gain_db: step.parameters.gain_db(),
                nearer_db: self.nearer_db(&on, step),
            })
            .collect()
    }

    /// How much nearer a move brings the mix beside the others that are on.
    fn nearer_db(&self, on: &[&Move], step: &Move) -> Vec<Option<f64>> {
        let others: Vec<&Move> = on.iter().copied().filter(|o| o.id != step.id).collect();
        let with: Vec<&Move> = others.iter().copied().chain([step]).collect();
        let pair = self
            .hearing
            .distance(&others)
            .zip(self.hearing.distance(&with));
        let Some((without, with)) = pair else {
            return Vec::new();
        };
        let parts = without.values().into_iter().zip(with.values());
        parts.map(|(a, b)| Some(a? - b?)).collect()
    }
}

fn target(state: &State, step: &Move) -> String {
    match &step.target {
        Target::All => "all tracks".into(),
        Target::Mix => "the mix".into(),
        Target::Group(group) => format!("group {group}"),
        Target::Track(id) => {
            let track = state.session.track(id);
            track.map_or_else(|| id.clone(), |track| stem(&track.file))
        }
    }
}

/// A file's name without folder and ending.
fn stem(file: &str) -> String {
    let name = file.rsplit('/').next().unwrap_or(file);
    name.rsplit_once('.')
        .map_or(name, |(stem, _)| stem)
        .to_owned()
}
