//! What several kinds of this family read of health notes.

use cupel_audio::{HealthCode, HealthNote};

use crate::evidence::{FileFacts, TrackFacts};

/// The note of a code, where there is one.
pub(super) fn note(file: &FileFacts, code: HealthCode) -> Option<&HealthNote> {
    file.health.iter().find(|note| note.code == code)
}

/// A moment of a file as a place in the session to listen at.
pub(super) fn around(track: &TrackFacts, at_s: f64, before_s: f64, after_s: f64) -> (f64, f64) {
    let at_s = track.start_s + at_s;
    ((at_s - before_s).max(0.0), at_s + after_s)
}

/// Names joined for a sentence: "A, B and C".
pub(super) fn joined(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The track of an id.
pub(super) fn track_of<'a>(tracks: &'a [TrackFacts], id: &str) -> Option<&'a TrackFacts> {
    tracks.iter().find(|track| track.id == id)
}
