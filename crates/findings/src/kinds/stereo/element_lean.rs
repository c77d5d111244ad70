//! An element leans to one side.

use cupel_units::Role;

use crate::evidence::{ElementFacts, Evidence, ratio_db};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::stereo::leaning;
use crate::say::{clock, list, side};

pub(crate) const KIND: Kind = Kind {
    name: "element-lean",
    family: Family::Stereo,
    title: "an element leans to one side",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 2.0, 4.0),
    weight: 0.45,
    brings: &["mix-lean"],
    unsure: false,
    measures: "The power of the right channel against the left, by loudness, of all tracks of an \
               element together, over stretches of four bars of the busiest passage.",
    matters: "What carries the track, kick, snare, bass, lead and voice, is looked for in the \
              middle. An element that sits aside by accident pulls the whole mix over, and on \
              one loudspeaker of a room it is partly lost.",
    threshold: "Look at 2 dB, mend at 4 dB. Chords, pads, other wide sounds and toms may lean \
                twice as far, since their notes lean by themselves (common practice, no source).",
    mend: "Set pan and balance of its tracks back to the middle. If a delay, a chorus or a room \
           was added on it, take that off first and look again.",
    wrong: "When it is meant: an answer from the other side that comes later, or small \
            percussion set aside that balances other small percussion (that counts as level).",
    hear: "Solo the element on headphones and listen where its middle is; then swap left and \
           right, and it jumps to the other side.",
    train: "Close your eyes, let someone pan a mono sound, and point at it. Steps of 2 dB can be \
            told after a few rounds.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let common_db = leaning::common_db(evidence);
    let found = evidence.elements.iter();
    found
        .filter_map(|element| of_element(evidence, element, common_db))
        .collect()
}

fn of_element(evidence: &Evidence, element: &ElementFacts, common_db: f64) -> Option<Finding> {
    let measured_db = leaning::lean_db(element)?;
    let mut lean_db = measured_db - common_db;
    if leaning::may_sit_aside(element.role) {
        lean_db = smaller(lean_db, left_over_db(evidence, element) - common_db);
    } else {
        // A few notes of a wide sound may lean by chance: the whole file must agree.
        lean_db = smaller(lean_db, leaning::of_files_db(evidence, element) - common_db);
    }
    let strict = element.core || leaning::may_sit_aside(element.role) && element.role != Role::Tom;
    let allowed = if strict { 1.0 } else { 2.0 };
    let grade = KIND.sizes.grade(lean_db.abs() / allowed)?;
    let tracks = leaning_tracks(evidence, element, lean_db);
    let names = list(&evidence.names(&tracks));
    let way = side(lean_db);
    let span_s = evidence.passage.as_ref().map(|passage| passage.span_s);
    let place = span_s.map_or_else(String::new, |(start_s, end_s)| {
        format!(" from {} to {}", clock(start_s), clock(end_s))
    });
    let by = lean_db.abs();
    let words = if element.tracks.len() == 1 {
        format!(
            "The {} ({names}) leans {by:.1} dB to the {way}{place}.",
            element.name
        )
    } else {
        format!(
            "The {} leans {by:.1} dB to the {way}{place}: {names} pulls it there.",
            element.name
        )
    };
    let words = plural(words, element, tracks.len());
    let other = side(-lean_db);
    Some(
        Finding::new(&KIND, grade, lean_db.abs(), words)
            .on(evidence.ids(&tracks))
            .of_element(&element.name)
            .at(span_s.into_iter().collect())
            .against(
                KIND.sizes.look.unwrap_or_default() * allowed,
                "level within this many dB",
            )
            .mend(format!(
                "Bring {names} {:.1} dB over to the {other}: take off a pan, a balance or a \
                 widener that was put on it, else pan it back.",
                lean_db.abs()
            ))
            .hear(format!(
                "Solo the {} on headphones: it stands to the {way} of the middle.",
                element.name
            ))
            .sure(if strict { 0.9 } else { 0.75 })
            .picture(Picture::Beam {
                lean_db,
                limit_db: KIND.sizes.look.unwrap_or_default() * allowed,
            }),
    )
}

/// Of two leans to one side the smaller; level where they go apart.
fn smaller(a_db: f64, b_db: f64) -> f64 {
    if a_db * b_db <= 0.0 {
        0.0
    } else {
        a_db.signum() * a_db.abs().min(b_db.abs())
    }
}

/// What of the lean is left when all small percussion that leans the other way is heard
/// together with it, dB.
fn left_over_db(evidence: &Evidence, element: &ElementFacts) -> f64 {
    let own_db = element.lean_db.unwrap_or_default();
    let others = evidence.elements.iter().filter(|other| {
        leaning::may_sit_aside(other.role)
            && other.name != element.name
            && other.lean_db.unwrap_or_default() * own_db < 0.0
    });
    let [left, right] = others.fold(leaning::channels(element), |sum, other| {
        let [left, right] = leaning::channels(other);
        [sum[0] + left, sum[1] + right]
    });
    let left_over_db = ratio_db(right, left);
    if left_over_db * own_db < 0.0 {
        0.0
    } else {
        left_over_db
    }
}

/// The tracks that pull it aside, the strongest first: all that lean the same way, or the
/// loudest where none does by itself.
fn leaning_tracks(evidence: &Evidence, element: &ElementFacts, lean_db: f64) -> Vec<usize> {
    let pull = |track: usize| {
        let [left, right] = leaning::track_channels(evidence, track);
        (right - left) * lean_db.signum()
    };
    let mut tracks: Vec<usize> = element.tracks.clone();
    tracks.sort_by(|&a, &b| pull(b).total_cmp(&pull(a)).then(a.cmp(&b)));
    let most = tracks.first().map_or(0.0, |&track| pull(track));
    tracks
        .iter()
        .enumerate()
        .filter(|(place, track)| *place == 0 || pull(**track) > 0.3 * most.max(1e-20))
        .map(|(_, &track)| track)
        .collect()
}

/// Words for an element of a plural name, or for several tracks.
fn plural(words: String, element: &ElementFacts, tracks: usize) -> String {
    let words = if element.name.ends_with('s') && element.name != "bass" {
        words.replacen(" leans ", " lean ", 1)
    } else {
        words
    };
    if tracks > 1 {
        words.replace(" pulls it there", " pull it there")
    } else {
        words
    }
}
