//! Joining a session with an edit that someone made to its file meanwhile.

use std::path::Path;

use crate::ids::unique;
use crate::{Move, Session, SessionError, Target, Track};

impl Session {
    /// Reads the file again and applies to it what was changed here since it
    /// was read.
    ///
    /// Where both changed the same thing the file wins: its edit may be by
    /// hand, while Cupel can compute its own again.
    ///
    /// # Errors
    /// Those of [`Session::load`].
    pub fn merge(&mut self, path: impl AsRef<Path>) -> Result<(), SessionError> {
        let theirs = Self::load(path)?;
        let base = match &self.origin.text {
            Some(text) => Self::parse(text)?,
            None => Self::empty(crate::origin::Origin::new()),
        };
        *self = merged(&base, self, theirs);
        Ok(())
    }
}

/// The file's value where the file changed it, else ours.
fn pick<T: PartialEq + Clone>(base: &T, ours: &T, theirs: &T) -> T {
    if theirs == base {
        ours.clone()
    } else {
        theirs.clone()
    }
}

fn merged(base: &Session, ours: &Session, theirs: Session) -> Session {
    let tracks = merged_tracks(base, ours, &theirs);
    let moves = merged_moves(base, ours, &theirs, &tracks);
    let kick = pick(&base.kick, &ours.kick, &theirs.kick)
        .filter(|id| tracks.iter().any(|track| &track.id == id));
    Session {
        format: theirs.format,
        name: pick(&base.name, &ours.name, &theirs.name),
        sample_rate_hz: pick(
            &base.sample_rate_hz,
            &ours.sample_rate_hz,
            &theirs.sample_rate_hz,
        ),
        reference: pick(&base.reference, &ours.reference, &theirs.reference),
        rough: pick(&base.rough, &ours.rough, &theirs.rough),
        targets: pick(&base.targets, &ours.targets, &theirs.targets),
        music: pick(&base.music, &ours.music, &theirs.music),
        passage: pick(&base.passage, &ours.passage, &theirs.passage),
        kick,
        tracks,
        moves,
        origin: theirs.origin,
    }
}

fn merged_tracks(base: &Session, ours: &Session, theirs: &Session) -> Vec<Track> {
    let mut tracks: Vec<Track> = Vec::new();
    for their in &theirs.tracks {
        match (base.track(&their.id), ours.track(&their.id)) {
            (Some(base), Some(our)) => tracks.push(merged_track(base, our, their)),
            (Some(base), None) if base == their => {}
            _ => tracks.push(their.clone()),
        }
    }
    for our in &ours.tracks {
        let known = base.track(&our.id).is_some() || theirs.track(&our.id).is_some();
        if !known && tracks.iter().all(|track| track.file != our.file) {
            tracks.push(our.clone());
        }
    }
    tracks
}

fn merged_track(base: &Track, ours: &Track, theirs: &Track) -> Track {
    Track {
        id: theirs.id.clone(),
        file: pick(&base.file, &ours.file, &theirs.file),
        content: pick(&base.content, &ours.content, &theirs.content),
        role: pick(&base.role, &ours.role, &theirs.role),
        group: pick(&base.group, &ours.group, &theirs.group),
        include: pick(&base.include, &ours.include, &theirs.include),
        why_left_out: pick(&base.why_left_out, &ours.why_left_out, &theirs.why_left_out),
        start_s: pick(&base.start_s, &ours.start_s, &theirs.start_s),
    }
}

fn merged_moves(base: &Session, ours: &Session, theirs: &Session, tracks: &[Track]) -> Vec<Move> {
    let find = |moves: &[Move], id: &str| moves.iter().find(|step| step.id == id).cloned();
    let mut moves: Vec<Move> = Vec::new();
    for their in &theirs.moves {
        match (find(&base.moves, &their.id), find(&ours.moves, &their.id)) {
            (Some(base), Some(our)) => moves.push(pick(&base, &our, their)),
            (Some(base), None) if base == *their => {}
            _ => moves.push(their.clone()),
        }
    }
    for our in &ours.moves {
        let twin = moves
            .iter()
            .any(|step| step.id == our.id && step.does_as(our));
        if find(&base.moves, &our.id).is_none() && !twin {
            let id = unique(&our.id, |id| moves.iter().any(|step| step.id == id));
            moves.push(Move { id, ..our.clone() });
        }
    }
    moves.retain(|step| match &step.target {
        Target::Track(id) => tracks.iter().any(|track| &track.id == id),
        _ => true,
    });
    moves
}
