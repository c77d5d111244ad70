//! Name and sound weighed against each other.

use crate::sound::SoundFinding;
use cupel_units::{Group, Role};
use serde::{Deserialize, Serialize};

/// What a role rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// The file name alone; the sound says otherwise or nothing.
    Name,
    /// The sound alone; the name says otherwise or nothing.
    Sound,
    /// Both say the same.
    Both,
}

/// The role of one track.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoleFinding {
    /// The role; `None` where neither name nor sound tells.
    pub role: Option<Role>,
    /// Where it belongs; told more surely than the role.
    pub group: Group,
    /// How sure the role is, 0 to 1; 0.9 and more is called sure.
    pub sure: f64,
    /// What it rests on.
    pub by: By,
}

/// How often a name tells something altogether else than the sound (common
/// practice, no source: people name what they export, and swap a name now and
/// then).
const NAME_WRONG: f64 = 0.03;

/// Words that people use for each other: the role a name tells, what may be meant
/// by it as well, and how often (common practice, no source). The sound decides
/// between them.
const ALIKE: &[(Role, Role, f64)] = &[
    (Role::Chords, Role::Piano, 0.2),
    (Role::Chords, Role::Pad, 0.1),
    (Role::Chords, Role::Pluck, 0.03),
    (Role::Strings, Role::Pad, 0.15),
    (Role::Pad, Role::Strings, 0.05),
    (Role::Pad, Role::Chords, 0.05),
    (Role::Pluck, Role::Lead, 0.1),
    (Role::Pluck, Role::Chords, 0.05),
    (Role::Lead, Role::Pluck, 0.08),
    (Role::Lead, Role::Pad, 0.04),
    (Role::Lead, Role::Chords, 0.04),
    (Role::Lead, Role::Bass, 0.02),
    (Role::Sub, Role::Bass, 0.15),
    (Role::Bass, Role::Sub, 0.05),
    (Role::Effects, Role::Texture, 0.2),
    (Role::Texture, Role::Effects, 0.2),
    (Role::ClosedHat, Role::OpenHat, 0.1),
    (Role::ClosedHat, Role::Shaker, 0.02),
    (Role::Snare, Role::Clap, 0.04),
    (Role::Snare, Role::Rim, 0.03),
    (Role::Percussion, Role::Rim, 0.05),
    (Role::Percussion, Role::Shaker, 0.04),
    (Role::Percussion, Role::Tom, 0.04),
    (Role::Percussion, Role::DrumLoop, 0.06),
    (Role::DrumLoop, Role::Percussion, 0.06),
];

/// Weighs what a name says (see [`role_of_name`](crate::role_of_name)) against
/// the sound: Bayes' rule, with 3 names of 100 altogether wrong, and some that may
/// mean a role close by. The group is decided first, then the role in it.
///
/// Lows that sound on through the gaps of a track whose name tells a role without
/// lows are none of its sound: there the sound tells nothing.
pub fn role_of(name: Option<Role>, sound: &SoundFinding) -> RoleFinding {
    if sound.steady_lows && name.is_some_and(owns_no_lows) {
        let even = 1.0 / Role::ALL.len() as f64;
        let nothing = Role::ALL.iter().map(|&role| (role, even)).collect();
        return weighed(name, &SoundFinding::from_probabilities(nothing));
    }
    weighed(name, sound)
}

/// Roles that have nothing below 100 Hz.
fn owns_no_lows(role: Role) -> bool {
    use Role::*;
    matches!(
        role,
        Clap | Rim | ClosedHat | OpenHat | Shaker | Cymbal | Snare | Voice | Lead | Pluck
    )
}

fn weighed(name: Option<Role>, sound: &SoundFinding) -> RoleFinding {
    let heard = sound.ranked.first();
    if name.is_none() && heard.is_none_or(|&(_, first)| first < 1.5 / Role::ALL.len() as f64) {
        return RoleFinding {
            role: None,
            group: sound.group.0,
            sure: heard.map_or(0.0, |&(_, first)| first),
            by: By::Sound,
        };
    }
    let both = weigh(name, sound);
    let group = both.group.0;
    let (role, sure) = both
        .ranked
        .iter()
        .copied()
        .find(|(role, _)| role.group() == group)
        .unwrap_or((Role::Effects, 0.0));
    let by = match (
        name == Some(role),
        heard.is_some_and(|&(first, _)| first == role),
    ) {
        (true, true) => By::Both,
        (true, false) => By::Name,
        (false, _) => By::Sound,
    };
    RoleFinding {
        role: Some(role),
        group,
        sure,
        by,
    }
}

fn weigh(name: Option<Role>, sound: &SoundFinding) -> SoundFinding {
    let likelihood = |role: Role| name.map_or(1.0, |named| chance_of_name(named, role));
    let weighed: Vec<(Role, f64)> = Role::ALL
        .iter()
        .map(|&role| (role, sound.probability(role).max(1e-6) * likelihood(role)))
        .collect();
    let total: f64 = weighed.iter().map(|(_, weight)| weight).sum();
    SoundFinding::from_probabilities(weighed.iter().map(|&(role, w)| (role, w / total)).collect())
}

/// How likely a track of a role is named for `named`.
fn chance_of_name(named: Role, role: Role) -> f64 {
    if named == role {
        return 1.0;
    }
    ALIKE
        .iter()
        .find(|&&(word, meant, _)| word == named && meant == role)
        .map_or(NAME_WRONG / Role::ALL.len() as f64, |&(.., part)| part)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sound that is most likely one role, with the rest spread evenly.
    fn sounds_like(role: Role, probability: f64) -> SoundFinding {
        let rest = (1.0 - probability) / (Role::ALL.len() - 1) as f64;
        let each = |&other: &Role| (other, if other == role { probability } else { rest });
        SoundFinding::from_probabilities(Role::ALL.iter().map(each).collect())
    }

    #[test]
    fn a_name_decides_where_the_sound_does_not() {
        let found = role_of(Some(Role::Guitar), &sounds_like(Role::Pad, 0.7));
        assert_eq!((found.role, found.by), (Some(Role::Guitar), By::Name));
        // a word that may mean both: the sound decides
        let found = role_of(Some(Role::Strings), &sounds_like(Role::Pad, 0.95));
        assert_eq!((found.role, found.group), (Some(Role::Pad), Group::Music));
        let silent = sounds_like(Role::Kick, 1.0 / Role::ALL.len() as f64);
        let found = role_of(Some(Role::Clap), &silent);
        assert_eq!((found.role, found.group), (Some(Role::Clap), Group::Drums));
        assert!(found.sure > 0.9);
    }

    #[test]
    fn a_wrong_name_does_not_mislead_where_the_sound_is_sure() {
        let found = role_of(Some(Role::ClosedHat), &sounds_like(Role::Kick, 0.9999));
        assert_eq!((found.role, found.by), (Some(Role::Kick), By::Sound));
        let found = role_of(Some(Role::Kick), &sounds_like(Role::Kick, 0.9));
        assert!(found.sure > 0.99 && found.by == By::Both);
    }

    #[test]
    fn steady_lows_make_no_bass_of_a_snare() {
        let bass = sounds_like(Role::Bass, 0.9999);
        let rumbles = SoundFinding {
            steady_lows: true,
            ..bass.clone()
        };
        assert_eq!(role_of(Some(Role::Snare), &bass).role, Some(Role::Bass));
        let found = role_of(Some(Role::Snare), &rumbles);
        assert_eq!((found.role, found.by), (Some(Role::Snare), By::Name));
        // a name that says nothing, or a role that may own lows: the sound is believed
        assert_eq!(role_of(None, &rumbles).role, Some(Role::Bass));
        assert_eq!(role_of(Some(Role::Tom), &rumbles).role, Some(Role::Bass));
    }

    #[test]
    fn without_a_name_the_sound_decides() {
        let found = role_of(None, &sounds_like(Role::Bass, 0.8));
        assert_eq!((found.role, found.by), (Some(Role::Bass), By::Sound));
        assert!((found.sure - 0.8).abs() < 1e-9);
        let even = sounds_like(Role::Kick, 1.0 / Role::ALL.len() as f64);
        assert_eq!(role_of(None, &even).role, None);
    }
}
