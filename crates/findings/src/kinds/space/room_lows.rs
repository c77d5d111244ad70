//! A room with lows in it.

use cupel_units::Role;

use super::rooms::wet_db;
use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};

/// The lows.
const BAND_HZ: (f64, f64) = (20.0, 120.0);

pub(crate) const KIND: Kind = Kind {
    name: "room-lows",
    family: Family::Space,
    title: "a room has lows in it",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", -16.0, -10.0),
    weight: 0.6,
    brings: &["wide-lows", "kick-bass-overlap"],
    unsure: true,
    measures: "Below 120 Hz, the power of what follows a drum's hits and is unlike on both sides, \
               against the drum itself.",
    matters: "Lows of a room fill the gaps between kick and bass, smear both, and differ from \
              seat to seat.",
    threshold: "Look from -16, mend from -10 dB against the drum's own lows on (common practice, \
                no source). A drum with less than -15 dB of its power there has no lows to ask \
                about.",
    mend: "Take the lows out of what goes into the reverb: a low cut at 200 to 600 Hz on its \
           send or return. Or take the reverb off the kick.",
    wrong: "When the drum is a recording of a room and is meant to boom, or a wide effect on its \
            lows was made on purpose.",
    hear: "Solo the sides below 120 Hz: after each hit a rumble that should not be there.",
    train: "Send a kick into a reverb, and sweep a low cut on the return from 50 to 500 Hz until \
            the low end is dry again.",
};

/// A drum with less of its power in the lows has none that a room could have, dB.
const OWN_DB: f64 = -15.0;

/// The lows of a track against all of it, dB.
fn own_part_db(evidence: &Evidence, track: usize) -> Option<f64> {
    let passage = evidence.passage.as_ref()?;
    let powers = &passage.tracks.get(track)?.whole;
    let in_band =
        |low_hz, high_hz| passage.in_bands(powers, &passage.bands_within(low_hz, high_hz));
    Some(ratio_db(
        in_band(BAND_HZ.0, BAND_HZ.1),
        in_band(0.0, f64::INFINITY),
    ))
}

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    (0..evidence.tracks.len())
        .filter_map(|track| of_track(evidence, track))
        .collect()
}

fn of_track(evidence: &Evidence, place: usize) -> Option<Finding> {
    let track = &evidence.tracks[place];
    let owns_lows = track.is_kick || matches!(track.role, Some(Role::Kick | Role::Tom));
    if !owns_lows {
        return None;
    }
    if own_part_db(evidence, place)? < OWN_DB {
        return None;
    }
    let wet_db = wet_db(evidence, place, BAND_HZ)?;
    let grade = KIND.sizes.grade(wet_db)?;
    let name = &track.file.name;
    let words = format!(
        "The room of {name} has lows in it, {:.0} dB under its own.",
        (-wet_db).max(0.0)
    );
    let finding = Finding::new(&KIND, grade, wet_db, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .in_band(BAND_HZ)
        .against(-16.0, "common practice, no source")
        .mend("Put a low cut at 200 to 600 Hz on what goes into the reverb.")
        .hear("its sides below 120 Hz: a rumble after each hit")
        .sides(Sides::Difference)
        .picture(Picture::Bars {
            unit: "dB against the drum".into(),
            rows: vec![PictureRow {
                name: "room below 120 Hz".into(),
                value: wet_db,
                meant: true,
            }],
            limit: Some(-16.0),
        })
        .sure(0.7);
    Some(finding)
}
