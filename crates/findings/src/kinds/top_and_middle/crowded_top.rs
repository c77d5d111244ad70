//! More elements at the top than the reference has.

use cupel_units::{Group, Role};

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "crowded-top",
    family: Family::TopAndMiddle,
    title: "too many elements at the top",
    cause: Cause::Arrangement,
    sizes: Sizes::look("sounds", 2.0),
    weight: 0.35,
    brings: &["harsh"],
    unsure: true,
    measures: "How many sounds hold a real share above 8 kHz in the busiest passage, pairs \
               counted once, against the layers of the reference that reach as high.",
    matters: "The top has room for few: one to three elements. Each further one makes all of \
              them smaller, and the sum turns into noise.",
    threshold: "Look at two sounds more than the reference, and never under five of them; a sound \
                has a real share down to 7 dB under the strongest (common practice, no source).",
    mend: "Choose which of them carries the top, and leave out one of the others, or let them \
           play in turn. Where one only rings along, a darker sound or a filter makes room.",
    wrong: "When the elements answer each other and never sound at once.",
    hear: "The mix through everything above 8 kHz: try to count what plays.",
    train: "Count the sounds above 8 kHz in known records through a filter; it is rarely more \
            than three.",
};

const TOP_HZ: (f64, f64) = (8000.0, 20000.0);
/// A sound counts down to this under the strongest one, dB.
const COUNTS_DB: f64 = -7.0;
/// Halves of a pair lean at least this far, dB.
const ASIDE_DB: f64 = 3.0;
/// Layers of the reference count down to this under its loudest, dB.
const LAYER_DB: f64 = -20.0;
/// The reference is taken to have this many at least: not all of its layers are found.
const AT_LEAST: usize = 3;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(passage), Some(reference)) = (&evidence.passage, &evidence.reference) else {
        return Vec::new();
    };
    if reference.layers.is_empty() {
        return Vec::new();
    }
    let sounds = sounds(evidence, passage);
    let most = sounds.first().map_or(0.0, |sound| sound.power);
    let high: Vec<&Sound> = sounds
        .iter()
        .filter(|sound| most > 0.0 && ratio_db(sound.power, most) > COUNTS_DB)
        .collect();
    let of_reference = reference
        .layers
        .iter()
        .filter(|layer| layer.band_hz.1 > TOP_HZ.0 && layer.level_db > LAYER_DB)
        .count();
    let allowed = of_reference.max(AT_LEAST);
    let over = high.len().saturating_sub(allowed) as f64;
    let Some(grade) = KIND.sizes.grade(over) else {
        return Vec::new();
    };
    let tracks = to_leave_out(evidence, &high);
    let firsts: Vec<usize> = high.iter().map(|sound| sound.tracks[0]).collect();
    let elements = evidence.names(&firsts);
    let words = format!(
        "{} sounds share the top above 8 kHz, {of_reference} in the reference: {}.",
        high.len(),
        list(&elements)
    );
    let rows = high.iter().zip(&elements).map(|(sound, name)| PictureRow {
        name: (*name).into(),
        value: ratio_db(sound.power, most),
        meant: true,
    });
    vec![
        Finding::new(&KIND, grade, over, words)
            .on(evidence.ids(&tracks))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(TOP_HZ)
            .against(of_reference as f64, "layers of the reference that reach as high")
            .mend(format!(
                "Let hats, snare and one more carry the top; leave out {}, or let them play in turn.",
                list(&evidence.names(&tracks))
            ))
            .hear("The mix through everything above 8 kHz: can you count what plays?")
            .sure(0.65)
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: rows.collect(),
                limit: None,
            }),
    ]
}

/// Tracks that can go: those that are no hats, snare or voice; all, where these alone are
/// too many.
fn to_leave_out(evidence: &Evidence, high: &[&Sound]) -> Vec<usize> {
    let may_go = |track: &usize| {
        let role = evidence.tracks.get(*track).and_then(|facts| facts.role);
        !role.is_some_and(|role| {
            matches!(
                role,
                Role::Kick
                    | Role::Snare
                    | Role::Clap
                    | Role::ClosedHat
                    | Role::OpenHat
                    | Role::Lead
                    | Role::Voice
            )
        })
    };
    let all: Vec<usize> = high.iter().flat_map(|sound| sound.tracks.clone()).collect();
    let some: Vec<usize> = all.iter().copied().filter(may_go).collect();
    if some.is_empty() { all } else { some }
}

/// What sounds at the top: a track, or two that mirror each other.
struct Sound {
    tracks: Vec<usize>,
    power: f64,
}

/// The sounds by their power at the top, the strongest first; textures and effects are
/// none.
fn sounds(evidence: &Evidence, passage: &PassageFacts) -> Vec<Sound> {
    let bands = passage.bands_within(TOP_HZ.0, TOP_HZ.1);
    let mut found: Vec<Sound> = Vec::new();
    for (track, powers) in passage.tracks.iter().enumerate() {
        let role = evidence.tracks.get(track).and_then(|facts| facts.role);
        if role.is_some_and(|role| role.group() == Group::Effects) {
            continue;
        }
        let power = passage.in_bands(&powers.whole, &bands);
        let lean = |track: usize| {
            let sides = passage.track_sides.get(track);
            sides.map_or(0.0, |sides| {
                let sum = |side: usize| bands.iter().map(|&band| sides[band][side]).sum::<f64>();
                ratio_db(sum(1), sum(0))
            })
        };
        let own = lean(track);
        let partner = found.iter_mut().find(|other| {
            let theirs = lean(other.tracks[0]);
            let one_role = role.is_some() && role == evidence.tracks[other.tracks[0]].role;
            other.tracks.len() == 1
                && one_role
                && own * theirs < 0.0
                && own.abs().min(theirs.abs()) > ASIDE_DB
        });
        match partner {
            Some(other) => {
                other.tracks.push(track);
                other.power += power;
            }
            None => found.push(Sound {
                tracks: vec![track],
                power,
            }),
        }
    }
    found.sort_by(|a, b| b.power.total_cmp(&a.power).then(a.tracks.cmp(&b.tracks)));
    found
}
