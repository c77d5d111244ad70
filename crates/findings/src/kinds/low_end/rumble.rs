//! Lows in tracks that own none.

use cupel_units::Role;

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::{listed, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "rumble",
    family: Family::LowEnd,
    title: "lows where none belong",
    cause: Cause::Sound,
    sizes: Sizes::both("dB", 0.5, 1.5),
    weight: 0.6,
    brings: &["kick-lows", "bass-lows", "club-lows"],
    unsure: true,
    measures: "By how much tracks that own no lows raise the sum of all tracks below 60 Hz; \
               hats, claps, voices and leads also below 100 Hz.",
    matters: "Rumble is seldom heard by itself, but it fills the room of kick and bass, moves \
              every limiter and costs headroom.",
    threshold: "0.5 dB in the sum to look at, 1.5 dB to mend (common practice, no source). \
                What does not raise the sum is no rumble, however it looks on a meter.",
    mend: "Find where it comes from first: a room, a stand that was kicked, a low layer of a \
           preset. Take that off. Only then cut the track below its lowest note.",
    wrong: "When the low part is meant: an impact, a tom, a piano's left hand, a drone that \
            plays the bass.",
    hear: "Solo the track through a low pass at 100 Hz: what is heard there is no part of its \
           sound.",
    train: "Cut a hat and a pad below 100 Hz with a filter and switch it on and off in the mix: \
            listen to the kick, not to the hat.",
};

/// Up to where a track that plays notes may own nothing, and any other.
const NOTES_HZ: f64 = 60.0;
const OTHERS_HZ: f64 = 100.0;
/// A track is named with this share of the rumble.
const NAMED_SHARE: f64 = 0.2;
/// A track of notes whose role is a guess owns its lows where they are its body: what
/// lies below this frequency, so much below all of it.
const BODY_HZ: f64 = 120.0;
const BODY_DB: f64 = -1.0;
const ROLE_SURE: f64 = 0.8;

/// Up to which frequency a role owns nothing; `None` where it may own lows.
fn free_below_hz(role: Role) -> Option<f64> {
    use Role::*;
    match role {
        Clap | Rim | ClosedHat | OpenHat | Shaker | Cymbal | Snare | Voice | Lead | Pluck => {
            Some(OTHERS_HZ)
        }
        Chords | Pad | Strings | Piano | Guitar | Brass | Texture => Some(NOTES_HZ),
        Kick | Tom | Percussion | DrumLoop | Sub | Bass | Effects | Mix => None,
    }
}

/// What raises the sum below a limit.
struct Raise {
    limit_hz: f64,
    raise_db: f64,
    /// Tracks with their share of it, the largest first.
    tracks: Vec<(usize, f64)>,
}

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let raises = [NOTES_HZ, OTHERS_HZ].map(|limit_hz| raise(evidence, passage, limit_hz));
    let worst = raises
        .into_iter()
        .flatten()
        .max_by(|a, b| a.raise_db.total_cmp(&b.raise_db));
    let Some(worst) = worst else {
        return Vec::new();
    };
    let Some(grade) = KIND.sizes.grade(worst.raise_db) else {
        return Vec::new();
    };
    let named = worst
        .tracks
        .iter()
        .filter(|(_, share)| *share >= NAMED_SHARE);
    let tracks: Vec<usize> = named.map(|(track, _)| *track).collect();
    let who = listed(&evidence.names(&tracks));
    let limit_hz = worst.limit_hz;
    let (verb, own) = match tracks.len() {
        1 => ("raises", "it owns"),
        _ => ("raise", "they own"),
    };
    let words = format!(
        "{who} {verb} the sum of all tracks below {limit_hz:.0} Hz by {:.1} dB, where {own} \
         nothing.",
        worst.raise_db
    );
    let rows = worst
        .tracks
        .iter()
        .take(4)
        .map(|&(track, share)| PictureRow {
            name: evidence.names(&[track]).concat(),
            value: 100.0 * share,
            meant: tracks.contains(&track),
        });
    vec![
        Finding::new(&KIND, grade, worst.raise_db, words)
            .on(evidence.ids(&tracks))
            .at(passage_span(evidence))
            .in_band((20.0, limit_hz))
            .against(0.0, "the sum without them")
            .mend(format!(
                "Take off what brings the lows into {who} (a room, a low layer, handling \
                 noise); if nothing was added, cut below its lowest note."
            ))
            .hear("The track alone, only its lows: nothing of its sound should be missing there.")
            .picture(Picture::Bars {
                unit: "percent of the rumble".into(),
                rows: rows.collect(),
                limit: None,
            }),
    ]
}

/// By how much tracks that own nothing below a limit raise what the others hold.
fn raise(evidence: &Evidence, passage: &PassageFacts, limit_hz: f64) -> Option<Raise> {
    let bands = passage.bands_within(0.0, limit_hz);
    let all: Vec<usize> = (0..passage.bands_hz.len()).collect();
    let body_bands = passage.bands_within(0.0, BODY_HZ);
    let mut owned = 0.0;
    let mut rumble: Vec<(usize, f64)> = Vec::new();
    for (place, (track, powers)) in evidence.tracks.iter().zip(&passage.tracks).enumerate() {
        let low = passage.in_bands(&powers.whole, &bands);
        let is_body = || {
            let body = passage.in_bands(&powers.whole, &body_bands);
            ratio_db(body, passage.in_bands(&powers.whole, &all)) > BODY_DB
        };
        let notes = track.role.and_then(free_below_hz) == Some(NOTES_HZ);
        let body = notes && track.role_sure < ROLE_SURE && is_body();
        let free = track
            .role
            .and_then(free_below_hz)
            .is_some_and(|free_hz| free_hz >= limit_hz);
        if free && !track.is_kick && !body {
            rumble.push((place, low));
        } else {
            owned += low;
        }
    }
    let sum: f64 = rumble.iter().map(|(_, low)| low).sum();
    if owned <= 0.0 || sum <= 0.0 {
        return None;
    }
    rumble.iter_mut().for_each(|(_, low)| *low /= sum);
    rumble.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    Some(Raise {
        limit_hz,
        raise_db: ratio_db(owned + sum, owned),
        tracks: rumble,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::Grade;
    use crate::kinds::low_end::trial::{add, session};

    const ALL: [usize; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15];

    /// A kick, and another track whose lows raise the sum by so much.
    fn with(role: Role, raise_db: f64, body: f64) -> Evidence {
        let mut evidence = session(&[Role::Kick, role]);
        add(&mut evidence, 0, (20.0, 110.0), &ALL, ([1.0, 1.0], 0.0));
        let low = 10f64.powf(raise_db / 10.0) - 1.0;
        add(&mut evidence, 1, (20.0, 110.0), &ALL, ([low, low], 0.0));
        add(&mut evidence, 1, (300.0, 8000.0), &ALL, ([body, body], 0.0));
        evidence
    }

    fn grade(role: Role, raise_db: f64) -> Option<Grade> {
        find(&with(role, raise_db, 5.0)).first().map(|f| f.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        assert_eq!(grade(Role::ClosedHat, 0.45), None);
        assert_eq!(grade(Role::ClosedHat, 0.55), Some(Grade::Look));
        assert_eq!(grade(Role::Pad, 1.4), Some(Grade::Look));
        assert_eq!(grade(Role::Pad, 1.6), Some(Grade::Mend));
        assert_eq!(find(&with(Role::Pad, 2.0, 5.0))[0].tracks, ["t1"]);
    }

    #[test]
    fn who_may_own_lows_does_not_rumble() {
        for role in [Role::Tom, Role::Effects, Role::Sub, Role::DrumLoop] {
            assert_eq!(grade(role, 3.0), None, "{role}");
        }
        // A guess at a pad that is nothing but lows: it may play the bass.
        let mut evidence = with(Role::Pad, 3.0, 0.01);
        assert_eq!(find(&evidence).len(), 1);
        evidence.tracks[1].role_sure = 0.5;
        assert!(find(&evidence).is_empty());
        // A hat plays no bass, and rumble makes its role less sure.
        let mut evidence = with(Role::ClosedHat, 3.0, 0.01);
        evidence.tracks[1].role_sure = 0.5;
        assert_eq!(find(&evidence).len(), 1);
    }
}
