//! What a session file says: tracks, reference, targets, moves.

use cupel_units::{Group, Role};
use serde::Serialize;

use crate::moves::Move;
use crate::origin::Origin;

/// The file format this version reads and writes.
pub const FORMAT: i64 = 1;

/// A session: the typed content of `session.toml` and the text it came from.
///
/// Two sessions are equal when they say the same; comments and layout aside.
#[derive(Clone, Debug)]
pub struct Session {
    /// Version of the file format; always [`FORMAT`] after reading.
    pub format: i64,
    /// What people call the session.
    pub name: Option<String>,
    /// Rate of the session, in hertz; that of most tracks where absent.
    pub sample_rate_hz: Option<u32>,
    /// The record to compare with.
    pub reference: Option<ReferenceEntry>,
    /// A bounce of the session as it plays in the workstation.
    pub rough: Option<FileEntry>,
    /// What the balance aims at.
    pub targets: Targets,
    /// What is known of its musical time.
    pub music: MusicSettings,
    /// The part of the session that is compared.
    pub passage: Option<Passage>,
    /// Id of the track that is the anchor.
    pub kick: Option<String>,
    /// The tracks, in the order in which they are summed.
    pub tracks: Vec<Track>,
    /// The moves, in order.
    pub moves: Vec<Move>,
    pub(crate) origin: Origin,
}

impl PartialEq for Session {
    fn eq(&self, other: &Self) -> bool {
        self.format == other.format
            && self.name == other.name
            && self.sample_rate_hz == other.sample_rate_hz
            && self.reference == other.reference
            && self.rough == other.rough
            && self.targets == other.targets
            && self.music == other.music
            && self.passage == other.passage
            && self.kick == other.kick
            && self.tracks == other.tracks
            && self.moves == other.moves
    }
}

/// A file named in the session, with the hash of its bytes.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FileEntry {
    /// Path, relative to the session's folder or absolute.
    pub file: String,
    /// Hash of the file's bytes.
    pub content: Option<String>,
}

/// The reference record.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ReferenceEntry {
    /// Path, relative to the session's folder or absolute.
    pub file: String,
    /// What is known of its musical time.
    pub music: MusicSettings,
    /// The part of the reference that is compared.
    pub passage: Option<Passage>,
    /// Hash of the file's bytes.
    pub content: Option<String>,
}

/// What the balance aims at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Targets {
    /// Peak of the kick element in the sum, -60 to 0 dBFS.
    pub kick_peak_dbfs: f64,
    /// Highest sample peak of the mix, -30 to 0 dBFS.
    pub headroom_dbfs: f64,
    /// Largest move of one track relative to the kick, 1 to 60 dB.
    pub limit_db: f64,
}

impl Default for Targets {
    fn default() -> Self {
        Self {
            kick_peak_dbfs: -12.0,
            headroom_dbfs: -3.0,
            limit_db: 24.0,
        }
    }
}

/// What a person knows of the musical time of a mix: trusted, never fitted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct MusicSettings {
    /// The tempo, 20 to 400 beats a minute; only its place is fitted.
    pub tempo_bpm: Option<f64>,
    /// The slowest tempo it can have; settles the octave.
    pub lowest_bpm: Option<f64>,
    /// The fastest tempo it can have.
    pub highest_bpm: Option<f64>,
    /// A time at which a bar begins.
    pub downbeat_s: Option<f64>,
    /// 3 or 4.
    pub beats_per_bar: Option<u32>,
}

/// A stretch of time, in seconds; `start_s < end_s`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Passage {
    /// Where it starts.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

/// One exported track.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Track {
    /// Short name that stays when the file is renamed.
    pub id: String,
    /// Path relative to the session's folder, with `/`.
    pub file: String,
    /// Hash of the file's bytes.
    pub content: Option<String>,
    /// What the track plays: `kick`, `bass`, `voice` and so on.
    pub role: Option<Role>,
    /// The group it is summed in.
    pub group: Option<Group>,
    /// Whether it is part of the sum.
    pub include: bool,
    /// Why it is not.
    pub why_left_out: Option<String>,
    /// Where the file begins in the session, in seconds.
    pub start_s: f64,
}

impl Track {
    /// A track that is part of the sum, without role or group.
    pub fn new(id: impl Into<String>, file: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            file: file.into(),
            content: None,
            role: None,
            group: None,
            include: true,
            why_left_out: None,
            start_s: 0.0,
        }
    }
}

impl Session {
    /// A session without tracks that was never written to disk.
    pub fn new(name: impl Into<String>) -> Self {
        Self {
            name: Some(name.into()),
            ..Self::empty(Origin::new())
        }
    }

    pub(crate) fn empty(origin: Origin) -> Self {
        Self {
            format: FORMAT,
            name: None,
            sample_rate_hz: None,
            reference: None,
            rough: None,
            targets: Targets::default(),
            music: MusicSettings::default(),
            passage: None,
            kick: None,
            tracks: Vec::new(),
            moves: Vec::new(),
            origin,
        }
    }

    /// The track with that id.
    pub fn track(&self, id: &str) -> Option<&Track> {
        self.tracks.iter().find(|track| track.id == id)
    }

    /// The sum of the trim, fader and group gains that are on and reach this
    /// track, in decibels; pan excluded.
    ///
    /// A move that holds in some sections only is no part of it; of a move with
    /// breakpoints the constant part is.
    pub fn net_gain_db(&self, track_id: &str) -> f64 {
        let group = self.track(track_id).and_then(|track| track.group);
        self.moves
            .iter()
            .filter(|step| step.on && step.target.reaches(track_id, group))
            .filter(|step| !step.holds_in_sections_only())
            .filter_map(|step| step.parameters.gain_db())
            .fold(0.0, |sum, gain_db| sum + gain_db)
    }

    /// The moves that are on, in the order to do them: by stage, then as written.
    pub fn steps(&self) -> Vec<&Move> {
        let mut steps: Vec<_> = self.moves.iter().filter(|step| step.on).collect();
        steps.sort_by_key(|step| crate::stage_rank(&step.stage));
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{At, By, Parameters, Target};

    fn with_moves(moves: Vec<Move>) -> Session {
        let mut session = Session::new("test");
        let mut clap = Track::new("clap", "clap.wav");
        clap.group = Some(Group::Drums);
        session.tracks = vec![clap, Track::new("lead", "lead.wav")];
        session.moves = moves;
        session
    }

    fn gain(target: Target, gain_db: f64) -> Move {
        let parameters = match target {
            Target::All => Parameters::Trim { gain_db },
            _ => Parameters::Fader { gain_db },
        };
        Move::new(target, parameters, By::Cupel, "rest", "test")
    }

    #[test]
    fn net_gain_sums_what_reaches_the_track() {
        let mut off = gain(Target::Track("clap".into()), 9.0);
        off.on = false;
        let mut section = gain(Target::Track("clap".into()), 5.0);
        section.at = Some(At::Sections(vec!["drop".into()]));
        let session = with_moves(vec![
            gain(Target::All, -6.0),
            gain(Target::Track("clap".into()), 1.5),
            gain(Target::Group(Group::Drums), -0.5),
            gain(Target::Group(Group::Voice), 3.0),
            gain(Target::Mix, -1.0),
            off,
            section,
        ]);
        assert_eq!(session.net_gain_db("clap"), -6.0);
        assert_eq!(session.net_gain_db("lead"), -7.0);
    }

    #[test]
    fn steps_come_by_stage() {
        let mut check = gain(Target::All, -1.0);
        check.stage = "check".into();
        let mut anchor = gain(Target::All, -4.0);
        anchor.stage = "anchor".into();
        let mut off = anchor.clone();
        off.on = false;
        let session = with_moves(vec![check, gain(Target::Mix, 1.0), off, anchor]);
        let stages: Vec<_> = session.steps().iter().map(|s| s.stage.as_str()).collect();
        assert_eq!(stages, ["anchor", "rest", "check"]);
    }
}
