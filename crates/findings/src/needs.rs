//! What it would take to tell more.

use cupel_units::Role;
use serde::Serialize;

use crate::evidence::Evidence;
use crate::kind::Family;

/// Something that is not there, and what it would tell.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Need {
    /// What is needed, in words.
    pub what: &'static str,
    /// What it would tell, in words.
    pub tells: &'static str,
    /// Families of findings that wait for it, whole or in part.
    pub families: &'static [Family],
}

const TRACKS: Need = Need {
    what: "the tracks of the session, each exported by itself from one common start",
    tells: "levels of the elements, who leans, what hides what, kick against bass, and faults of \
            single files",
    families: &[
        Family::Level,
        Family::LowEnd,
        Family::Stereo,
        Family::Masking,
        Family::Space,
    ],
};

const REFERENCE: Need = Need {
    what: "a released record as reference (--reference)",
    tells: "levels, low end, width and top beside a record that works",
    families: &[
        Family::Level,
        Family::Reference,
        Family::Sound,
        Family::LowEnd,
        Family::TopAndMiddle,
    ],
};

const BOUNCE: Need = Need {
    what: "a bounce of the mix as it plays (--rough)",
    tells: "whether the tracks are the mix, and whether something limits it",
    families: &[Family::Files, Family::Level],
};

const ROLES: Need = Need {
    what: "the roles of the tracks that have none (in the session file)",
    tells: "what their level should be beside the kick, and what they are an element of",
    families: &[Family::Level, Family::Stereo, Family::Masking],
};

/// What is not there of what findings are made from.
pub fn needs(evidence: &Evidence) -> Vec<Need> {
    let single = is_single(evidence);
    let mut found = Vec::new();
    if single {
        found.push(TRACKS);
    }
    if evidence.reference.is_none() {
        found.push(REFERENCE);
    }
    if evidence.bounce.is_none() && !single {
        found.push(BOUNCE);
    }
    if !single && evidence.tracks.iter().any(|track| track.role.is_none()) {
        found.push(ROLES);
    }
    found
}

/// Whether there is but one file, or a mix.
pub(crate) fn is_single(evidence: &Evidence) -> bool {
    let tracks = &evidence.tracks;
    tracks.len() < 2 || tracks.iter().all(|track| track.role == Some(Role::Mix))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_at_all_needs_tracks_and_a_reference() {
        let needs = needs(&Evidence::default());
        assert_eq!(needs, [TRACKS, REFERENCE]);
    }
}
