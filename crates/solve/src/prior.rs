//! How loud an element usually is beside the kick.
//!
//! Common practice, no source: no study of club multitracks was found. The
//! figures are those of the levels at which the demo's styles are drawn (means
//! over the styles, in the demo's words for roles; for the others their nearest
//! kin). That table lies near what a few measured electronic sessions had.
//!
//! How firmly a level is believed was found on files of made sessions (seeds 700 to
//! 705 and 800 to 805, references of another song): drums are read off another song
//! well, and the bass fairly, so little is believed of them beforehand. Sounds with notes
//! are not, for another song plays other notes: what a reference seems to say of a voice,
//! a lead or chords was off by 6 dB in the middle, and they are believed more firmly
//! than a drawn table would have them. For acoustic drums and pop mixes De Man,
//! Leonard, King and Reiss (ISMIR 2014) found spreads of 1.6 LU (voice) to 6.2 LU
//! (snare) against the whole mix.

use cupel_units::Role;

/// A level beside the kick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualLevel {
    /// Integrated loudness of the track less that of the kick, in LU.
    pub mean_lu: f64,
    /// How firmly it is believed, as a standard deviation in dB.
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
        Some(Role::Tom) => (-9.5, 1.8),
        Some(Role::DrumLoop) => (-7.0, 5.0),
        Some(Role::Sub) => (-4.5, 2.5),
        Some(Role::Bass) => (-3.0, 5.0),
        Some(Role::Chords | Role::Piano | Role::Guitar | Role::Pluck | Role::Brass) => (-8.0, 1.8),
        Some(Role::Pad | Role::Strings) => (-11.0, 1.8),
        Some(Role::Lead) => (-7.0, 1.8),
        Some(Role::Voice) => (-2.5, 2.5),
        Some(Role::Effects) => (-12.0, 1.8),
        Some(Role::Texture) => (-14.0, 1.8),
        Some(Role::Mix) | None => (-9.0, 3.0),
    };
    UsualLevel { mean_lu, spread_db }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_role_has_a_level_and_the_kick_is_the_zero() {
        for &role in Role::ALL {
            assert!(usual_level(Some(role)).spread_db >= 1.5, "{role}");
        }
        assert_eq!(usual_level(Some(Role::Kick)).mean_lu, 0.0);
        assert!(usual_level(None).spread_db > usual_level(Some(Role::Pad)).spread_db);
    }
}
