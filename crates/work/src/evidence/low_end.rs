//! Kick and bass.

use cupel_barmap::LowPlace;
use cupel_findings::{LowEndFacts, LowPlaceFacts};
use cupel_units::{Group, Role};

use crate::Assayed;
use crate::beside::Passage;
use crate::evidence::passage::together;

/// What counts as low.
const LOW_HZ: f64 = 150.0;

pub(super) fn of(assayed: &Assayed, passage: Option<&Passage>) -> LowEndFacts {
    let with = |wanted: &dyn Fn(Role) -> bool| -> Vec<usize> {
        let tracks = assayed.plan.tracks.iter().enumerate();
        tracks
            .filter(|(_, planned)| {
                let known = assayed.surveyed.session.track(&planned.id);
                known.and_then(|track| track.role).is_some_and(wanted)
            })
            .map(|(place, _)| place)
            .collect()
    };
    let kick = with(&|role| role == Role::Kick);
    let bass = with(&|role| role.group() == Group::LowEnd);
    let hits = assayed.bars.as_ref().map_or(&[][..], |bars| &bars.low_hits);
    let sixteenths = match passage {
        Some(passage) if !kick.is_empty() && !bass.is_empty() => {
            by_sixteenth(passage, &kick, &bass)
        }
        _ => Vec::new(),
    };
    LowEndFacts {
        hits: hits
            .iter()
            .map(|hit| [hit.kick, hit.bass, hit.both])
            .collect(),
        sixteenths,
        places: places(assayed),
        kick,
        bass,
    }
}

/// Powers below 150 Hz of kick, bass and both in every sixteenth of the bar.
fn by_sixteenth(passage: &Passage, kick: &[usize], bass: &[usize]) -> Vec<[f64; 3]> {
    let layout = &passage.scene.layout;
    let both: Vec<usize> = kick.iter().chain(bass).copied().collect();
    let sounds = [kick, bass, &both].map(|tracks| together(&passage.scene, tracks));
    let low = |band: &usize| layout.bands[*band].high_hz <= LOW_HZ + 5.0;
    let bands: Vec<usize> = (0..layout.bands.len()).filter(low).collect();
    (0..layout.slots)
        .map(|slot| {
            [0, 1, 2].map(|of| {
                let cells = bands.iter();
                cells
                    .map(|band| sounds[of].whole[band * layout.slots + slot])
                    .sum()
            })
        })
        .collect()
}

/// The low places on both sides at equal loudness.
fn places(assayed: &Assayed) -> Vec<LowPlaceFacts> {
    let Some(bars) = &assayed.bars else {
        return Vec::new();
    };
    let gain_db = assayed
        .passages
        .as_ref()
        .and_then(|p| p.equal_loudness_db());
    let reference = bars.reference.as_ref().zip(gain_db);
    LowPlace::ALL
        .into_iter()
        .map(|place| LowPlaceFacts {
            name: place.words().to_owned(),
            of_kick: place.is_kick(),
            mix_db: bars.mix.low.level_db(place),
            reference_db: reference
                .and_then(|(side, gain_db)| Some(side.low.level_db(place)? + gain_db)),
        })
        .collect()
}
