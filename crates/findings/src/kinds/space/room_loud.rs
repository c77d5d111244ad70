//! A room that is too loud.

use cupel_units::Role;

use super::rooms::{is_struck, wet_db};
use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};

/// Below this it is the lows of the room, another finding.
const BAND_HZ: (f64, f64) = (250.0, 16_000.0);
/// Toms that are panned one by one look like this much of a room, dB.
const PANNED_DB: f64 = 3.0;
/// Shorter decays are no room, seconds.
const LEAST_S: f64 = 0.3;

pub(crate) const KIND: Kind = Kind {
    name: "room-loud",
    family: Family::Space,
    title: "a room is too loud",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", -12.0, -9.0),
    weight: 0.5,
    brings: &[],
    unsure: true,
    measures: "The power of what follows a struck track's hits and is unlike on both sides, \
               against the rest, above 250 Hz: a diffuse room sends half of itself to the side.",
    matters: "A loud room pulls a hit back from the front and fills the gaps that make a groove.",
    threshold: "Look from -12, mend from -9 dB against the dry sound on. About -14 LU was found \
                to be right by listeners (De Man, McNally, Reiss, JAES 65(1/2), 2017); the limits \
                are common practice, no source.",
    mend: "Turn its send to the reverb down by the figure; nothing else needs to change.",
    wrong: "When the sound is meant to stand far away, or its width comes from a chorus or an \
            echo to the sides that follows the hit.",
    hear: "Solo the sides of the track: dry sound goes away and the room stays.",
    train: "Turn a send up until you notice the room in the full mix, then down until you miss \
            it: the right place is between, nearer to the second.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    (0..evidence.tracks.len())
        .filter_map(|track| of_track(evidence, track))
        .collect()
}

fn of_track(evidence: &Evidence, place: usize) -> Option<Finding> {
    let track = &evidence.tracks[place];
    let decay = track.file.traits.decay.as_ref()?;
    if !is_struck(track) || decay.seconds < LEAST_S {
        return None;
    }
    let panned_db = if track.role == Some(Role::Tom) {
        PANNED_DB
    } else {
        0.0
    };
    let wet_db = wet_db(evidence, place, BAND_HZ)? - panned_db;
    let grade = KIND.sizes.grade(wet_db)?;
    let name = &track.file.name;
    let words = format!(
        "The room of {name} lies {:.0} dB under its dry sound.",
        -wet_db
    );
    let words = match wet_db > -0.5 {
        true => format!("The room of {name} is as loud as its dry sound."),
        false => words,
    };
    let finding = Finding::new(&KIND, grade, wet_db, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .in_band(BAND_HZ)
        .against(-14.0, "De Man, McNally, Reiss 2017")
        .mend(format!(
            "Turn its send to the reverb down by {:.0} dB.",
            wet_db + 14.0
        ))
        .hear("its sides alone: the room without the hit")
        .sides(Sides::Difference)
        .picture(Picture::Bars {
            unit: "dB against the dry sound".into(),
            rows: vec![PictureRow {
                name: "room".into(),
                value: wet_db,
                meant: true,
            }],
            limit: Some(-14.0),
        })
        .sure(0.7);
    Some(finding)
}
