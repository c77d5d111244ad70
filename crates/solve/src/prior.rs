//! How loud an element usually is beside the kick.
//!
//! Common practice, no source: no study of club multitracks was found. The
//! figures are those of the levels at which the demo's styles are drawn (means
//! over the styles, in the demo's words for roles; for the others their nearest
//! kin). That table lies near what a few measured electronic sessions had. The
//! beliefs are weak by intent: their spread is that of a drawn table, and
//! wider where one word covers many sounds. For acoustic drums and pop mixes De
//! Man, Leonard, King and Reiss (ISMIR 2014) found spreads of 1.6 LU (voice) to
//! 6.2 LU (snare) against the whole mix.

use cupel_units::Role;

/// A level beside the kick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualLevel {
    /// Integrated loudness of the track less that of the kick, in LU.
    pub mean_lu: f64,
    /// Its spread as a standard deviation, in dB.
    pub spread_db: f64,
}

/// The usual level of a role; wide where the role is not known.
pub fn usual_level(role: Option<Role>) -> UsualLevel {
    let (mean_lu, spread_db) = match role {
        Some(Role::Kick) => (0.0, 3.0),
        Some(Role::Clap | Role::Snare) => (-4.5, 4.5),
        Some(Role::Rim) => (-11.0, 4.0),
        Some(Role::ClosedHat) => (-11.5, 4.0),
        Some(Role::OpenHat) => (-11.0, 4.5),
        Some(Role::Shaker) => (-14.5, 3.5),
        Some(Role::Cymbal | Role::Percussion) => (-12.0, 4.0),
        Some(Role::Tom) => (-9.5, 3.5),
        Some(Role::DrumLoop) => (-7.0, 5.0),
        Some(Role::Sub) => (-4.5, 5.0),
        Some(Role::Bass) => (-3.0, 9.0),
        Some(Role::Chords | Role::Piano | Role::Guitar | Role::Pluck | Role::Brass) => (-8.0, 3.5),
        Some(Role::Pad | Role::Strings) => (-11.0, 3.5),
        Some(Role::Lead) => (-7.0, 3.5),
        Some(Role::Voice) => (-2.5, 5.0),
        Some(Role::Effects) => (-12.0, 3.5),
        Some(Role::Texture) => (-14.0, 3.5),
        Some(Role::Mix) | None => (-9.0, 6.0),
    };
    UsualLevel { mean_lu, spread_db }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_role_has_a_level_and_the_kick_is_the_zero() {
        for &role in Role::ALL {
            assert!(usual_level(Some(role)).spread_db >= 3.0, "{role}");
        }
        assert_eq!(usual_level(Some(Role::Kick)).mean_lu, 0.0);
        assert!(usual_level(None).spread_db > usual_level(Some(Role::Pad)).spread_db);
    }
}
