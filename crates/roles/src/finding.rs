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

/// Weighs what a name says (see [`role_of_name`](crate::role_of_name)) against
/// the sound.
pub fn role_of(name: Option<Role>, sound: &SoundFinding) -> RoleFinding {
    match name {
        Some(role) => RoleFinding {
            role: Some(role),
            group: role.group(),
            sure: 0.9,
            by: By::Name,
        },
        None => RoleFinding {
            role: None,
            group: sound.group.0,
            sure: sound.ranked.first().map_or(0.0, |&(_, p)| p),
            by: By::Sound,
        },
    }
}
