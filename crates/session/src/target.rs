//! What a move acts on.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::Group;

/// What a move acts on: written `all`, `mix`, `group drums` or a track's id.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// Every track.
    All,
    /// The sum.
    Mix,
    /// The sum of a group.
    Group(Group),
    /// The track with that id.
    Track(String),
}

impl Target {
    /// Reads the written form. A word after `group` that names no group gives
    /// `None`; any other word is taken for a track's id.
    pub fn from_text(text: &str) -> Option<Self> {
        match text {
            "all" => Some(Self::All),
            "mix" => Some(Self::Mix),
            _ => match text.strip_prefix("group ") {
                Some(name) => Group::from_name(name.trim()).map(Self::Group),
                None => Some(Self::Track(text.to_owned())),
            },
        }
    }

    /// Whether a track with that id, in that group, passes through the target.
    pub fn reaches(&self, track_id: &str, group: Option<Group>) -> bool {
        match self {
            Self::All | Self::Mix => true,
            Self::Group(own) => group == Some(*own),
            Self::Track(id) => id == track_id,
        }
    }
}

impl fmt::Display for Target {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::All => f.write_str("all"),
            Self::Mix => f.write_str("mix"),
            Self::Group(group) => write!(f, "group {}", group.name()),
            Self::Track(id) => f.write_str(id),
        }
    }
}

impl Serialize for Target {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_and_read() {
        for text in ["all", "mix", "group low end", "kick-2"] {
            let target = Target::from_text(text).unwrap();
            assert_eq!(target.to_string(), text);
        }
        assert_eq!(Target::from_text("group brass"), None);
    }
}
