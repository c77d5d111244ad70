//! Elements: all tracks of one role that sound together.
//!
//! Some roles do one job between them: closed and open hats share the off-beats,
//! snare and clap the backbeat. A rim stays by itself: it commonly plays a
//! pattern of its own between the backbeats (common practice, no source).
//!
//! Two tracks sound together where both are active for a quarter of the time of
//! the shorter one; active means less than 20 LU under the track's loudest
//! moment. Drums are heard over 3 s, so that hits which alternate count as
//! together; everything else over 400 ms, so that call and answer do not.

use cupel_measure::LoudnessCurve;
use cupel_units::{Group, Role};
use serde::{Deserialize, Serialize};

/// How far under its loudest moment a track still sounds.
const ACTIVE_RANGE_LU: f32 = 20.0;
/// Loudness under which nothing sounds, the absolute gate of ITU-R BS.1770.
const GATE_LUFS: f32 = -70.0;
/// Share of the shorter one's time that both must sound.
const SHARED: f64 = 0.25;

/// One track as it plays.
#[derive(Clone, Copy, Debug)]
pub struct Playing<'a> {
    /// Its id.
    pub id: &'a str,
    /// What it plays.
    pub role: Role,
    /// Its loudness over time; curves of all tracks start at one time.
    pub curve: &'a LoudnessCurve,
}

/// All tracks that do one job together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Element {
    /// What it is called: `kick`, `hats`, `snare and clap`, `lead 2`.
    pub name: String,
    /// Its role; of several, the first in the list of roles.
    pub role: Role,
    /// Ids of its tracks, in the order given.
    pub tracks: Vec<String>,
}

/// Puts tracks together into elements, in the order of the list of roles. Each
/// track is in one element.
pub fn elements(tracks: &[Playing<'_>]) -> Vec<Element> {
    let active: Vec<Vec<bool>> = tracks.iter().map(activity).collect();
    let mut parent: Vec<usize> = (0..tracks.len()).collect();
    for second in 0..tracks.len() {
        for first in 0..second {
            if job(tracks[first].role) == job(tracks[second].role)
                && together(&active[first], &active[second])
            {
                let (one, other) = (root(&parent, first), root(&parent, second));
                parent[one.max(other)] = one.min(other);
            }
        }
    }
    let mut found: Vec<Element> = Vec::new();
    let mut roots: Vec<usize> = Vec::new();
    for (index, track) in tracks.iter().enumerate() {
        let own = root(&parent, index);
        if let Some(at) = roots.iter().position(|&other| other == own) {
            found[at].tracks.push(track.id.to_owned());
            found[at].role = found[at].role.min(track.role);
        } else {
            roots.push(own);
            found.push(Element {
                name: String::new(),
                role: track.role,
                tracks: vec![track.id.to_owned()],
            });
        }
    }
    found.sort_by_key(|element| element.role);
    name_them(&mut found, tracks);
    found
}

/// The role that stands for all roles with the same job.
fn job(role: Role) -> Role {
    match role {
        Role::OpenHat => Role::ClosedHat,
        Role::Clap => Role::Snare,
        other => other,
    }
}

fn root(parent: &[usize], mut index: usize) -> usize {
    while parent[index] != index {
        index = parent[index];
    }
    index
}

/// Whether the track sounds, every 100 ms.
fn activity(track: &Playing<'_>) -> Vec<bool> {
    let loudness = match track.role.group() {
        Group::Drums => &track.curve.short_term_lufs,
        _ => &track.curve.momentary_lufs,
    };
    let loudness = if loudness.iter().any(|&l| l > GATE_LUFS) {
        loudness
    } else {
        &track.curve.momentary_lufs
    };
    let loudest = loudness.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let limit = (loudest - ACTIVE_RANGE_LU).max(GATE_LUFS);
    loudness.iter().map(|&l| l > limit).collect()
}

fn together(first: &[bool], second: &[bool]) -> bool {
    let count = |active: &[bool]| active.iter().filter(|&&on| on).count();
    let both = first.iter().zip(second).filter(|(a, b)| **a && **b).count();
    let shorter = count(first).min(count(second));
    shorter > 0 && both as f64 >= SHARED * shorter as f64
}

fn name_them(found: &mut [Element], tracks: &[Playing<'_>]) {
    let names: Vec<String> = found.iter().map(|one| plain_name(one, tracks)).collect();
    for (index, element) in found.iter_mut().enumerate() {
        let same = names.iter().filter(|name| **name == names[index]).count();
        let before = names[..index]
            .iter()
            .filter(|name| **name == names[index])
            .count();
        element.name = if same > 1 {
            format!("{} {}", names[index], before + 1)
        } else {
            names[index].clone()
        };
    }
}

fn plain_name(element: &Element, tracks: &[Playing<'_>]) -> String {
    let holds = |role: Role| {
        tracks
            .iter()
            .any(|track| track.role == role && element.tracks.iter().any(|id| id == track.id))
    };
    match element.role {
        Role::ClosedHat if holds(Role::OpenHat) => "hats".to_owned(),
        Role::Snare if holds(Role::Clap) => "snare and clap".to_owned(),
        role => role.name().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A curve that sounds in the given stretches of seconds, of 60.
    fn curve(stretches: &[(usize, usize)]) -> LoudnessCurve {
        let at = |index: usize| {
            let on = stretches
                .iter()
                .any(|&(from, to)| (from * 10..to * 10).contains(&index));
            if on { -20.0 } else { f32::NEG_INFINITY }
        };
        let lufs: Vec<f32> = (0..600).map(at).collect();
        LoudnessCurve {
            hop_s: 0.1,
            momentary_lufs: lufs.clone(),
            short_term_lufs: lufs,
            k_power: vec![0.0; 600],
        }
    }

    fn found(tracks: &[(&str, Role, &LoudnessCurve)]) -> Vec<(String, Vec<String>)> {
        let playing: Vec<Playing<'_>> = tracks
            .iter()
            .map(|&(id, role, curve)| Playing { id, role, curve })
            .collect();
        elements(&playing)
            .into_iter()
            .map(|element| (element.name, element.tracks))
            .collect()
    }

    #[test]
    fn layers_and_pairs_are_one() {
        let whole = curve(&[(0, 60)]);
        let half = curve(&[(30, 60)]);
        let tracks = [
            ("oh", Role::OpenHat, &half),
            ("k1", Role::Kick, &whole),
            ("ch", Role::ClosedHat, &whole),
            ("cl", Role::Clap, &whole),
            ("sn", Role::Snare, &half),
            ("k2", Role::Kick, &half),
            ("rim", Role::Rim, &whole),
        ];
        let say = |name: &str, ids: &[&str]| {
            let ids = ids.iter().map(|id| (*id).to_owned()).collect::<Vec<_>>();
            (name.to_owned(), ids)
        };
        assert_eq!(
            found(&tracks),
            [
                say("kick", &["k1", "k2"]),
                say("snare and clap", &["cl", "sn"]),
                say("rim", &["rim"]),
                say("hats", &["oh", "ch"]),
            ]
        );
    }

    #[test]
    fn shakers_that_answer_each_other_are_a_pair() {
        // left and right in turns of a second
        let turns = |first: usize| {
            (first..60)
                .step_by(2)
                .map(|s| (s, s + 1))
                .collect::<Vec<_>>()
        };
        let hits = |stretches: &[(usize, usize)]| {
            let mut curve = curve(stretches);
            // over 3 s both never stop
            curve.short_term_lufs = vec![-22.0; 600];
            curve
        };
        let (left, right) = (hits(&turns(0)), hits(&turns(1)));
        let tracks = [
            ("shaker L", Role::Shaker, &left),
            ("conga", Role::Percussion, &left),
            ("shaker R", Role::Shaker, &right),
        ];
        let elements = found(&tracks);
        assert_eq!(elements.len(), 2);
        assert_eq!(elements[0].0, "shaker");
        assert_eq!(elements[0].1, ["shaker L", "shaker R"]);
        // the same turns of a voice are call and answer
        let tracks = [("a", Role::Voice, &left), ("b", Role::Voice, &right)];
        assert_eq!(found(&tracks).len(), 2);
    }

    #[test]
    fn leads_that_never_meet_are_two() {
        let (early, late) = (curve(&[(0, 20)]), curve(&[(40, 60)]));
        let tracks = [("a", Role::Lead, &early), ("b", Role::Lead, &late)];
        let names: Vec<String> = found(&tracks).into_iter().map(|(name, _)| name).collect();
        assert_eq!(names, ["lead 1", "lead 2"]);
        let silent = curve(&[]);
        let tracks = [("a", Role::Lead, &early), ("b", Role::Lead, &silent)];
        assert_eq!(found(&tracks).len(), 2);
        assert!(found(&[]).is_empty());
    }
}
