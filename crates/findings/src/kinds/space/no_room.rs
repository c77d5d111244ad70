//! Everything dry.

use cupel_units::Role;

use super::rooms::{Unlike, is_struck, slow_part, wide_db};
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// Where a room is looked for.
const BAND_HZ: (f64, f64) = (250.0, 16_000.0);
/// From here on it is one, dB against the dry sound.
const HEARD_DB: f64 = -18.0;
/// Fewest tracks that could carry one, and of those that tell.
const FEWEST: usize = 5;
const FEWEST_TELL: usize = 2;

pub(crate) const KIND: Kind = Kind {
    name: "no-room",
    family: Family::Space,
    title: "everything is dry",
    cause: Cause::Mix,
    sizes: Sizes::look("", 1.0),
    weight: 0.4,
    brings: &[],
    unsure: true,
    measures: "Whether any of the tracks that usually carry a room (clap, snare, toms, chords, \
               melodies, voices) has one: sounds that grow wider as they die away, or struck \
               ones with a slow part in their decay; others that are the same on both sides have \
               none.",
    matters: "Dry sounds stand side by side like cut-outs. A bit of one common room puts them in \
              one place without anybody noticing it.",
    threshold: "No track of at least five has a room over -18 dB against its dry sound, and at \
                least two of them tell (common practice, no source).",
    mend: "Make one short room of 0.4 to 0.5 s, cut its lows at 200 to 600 Hz, and send clap, \
           snare and melodies there, about 14 LU under the dry sound.",
    wrong: "When dry is the style, when the room is on the mix and not on the tracks, or is mono. \
            Sounds that are wide by themselves and never pause tell nothing.",
    hear: "Stop the music in a busy bar: nothing rings on.",
    train: "Add one short room to a dry mix so softly that you only notice when you switch it \
            off.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let carries: Vec<usize> = (0..evidence.tracks.len())
        .filter(|&place| carries_a_room(&evidence.tracks[place]))
        .collect();
    let told: Vec<bool> = carries
        .iter()
        .filter_map(|&place| has_a_room(evidence, place))
        .collect();
    if evidence.passage.is_none()
        || carries.len() < FEWEST
        || told.len() < FEWEST_TELL
        || told.contains(&true)
    {
        return Vec::new();
    }
    let words = "Everything is dry: no track has a room that could be heard.";
    vec![
        Finding::new(&KIND, Grade::Look, 1.0, words)
            .against(-14.0, "LU of a common room; De Man, McNally, Reiss 2017")
            .mend(
                "Send clap, snare and melodies to one short room of about half a second, without \
                 its lows.",
            )
            .hear("a stop in a busy bar: nothing rings on")
            .in_the_mix()
            .sure(0.6),
    ]
}

/// Whether a track has a room; `None` where it cannot tell, since it is wide by itself.
/// What is played may stand elsewhere note by note: there only what ends all diffuse
/// tells of a room, and nothing tells of none.
fn has_a_room(evidence: &Evidence, place: usize) -> Option<bool> {
    let track = &evidence.tracks[place];
    let is_wide = wide_db(evidence, place, BAND_HZ).is_some_and(|wide| wide >= HEARD_DB);
    if !is_wide {
        // the room of a track that is the same on both sides is so, too
        return Some(slow_part(track).is_some());
    }
    let unlike = Unlike::of(evidence, place, BAND_HZ)?;
    match is_struck(track) {
        true => Some(unlike.grows()),
        false => unlike.ends_diffuse().then_some(true),
    }
}

fn carries_a_room(track: &TrackFacts) -> bool {
    matches!(
        track.role,
        Some(
            Role::Clap
                | Role::Snare
                | Role::Rim
                | Role::Tom
                | Role::Chords
                | Role::Piano
                | Role::Lead
                | Role::Pluck
                | Role::Voice
        )
    )
}
