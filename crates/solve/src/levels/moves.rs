//! From levels to the gains worth moving by.

use super::{Levels, ReferenceKind, Told};

/// So far a level read off another song is off in the middle (measured by
/// `cargo xtask prove-levels`: 1.5 to 1.8 dB).
pub const SONG_ERROR_DB: f64 = 1.5;
/// What part of the way a fader goes beside another song: such a reading is off by some
/// 3 dB (standard deviation), tracks as exported by some 7 at most, and what is read is
/// the sum of both, so that its likeliest value is 7^2 / (3^2 + 7^2) of it. The part was
/// set on files of made sessions, seeds 700 to 705: 0.75 to 0.9 do equally well there.
pub const SONG_PART: f64 = 0.8;
/// Fewer tracks say nothing of the anchor.
const LEAST_TRACKS: usize = 6;
/// The anchor is moved itself where most tracks stand at least this far from their
/// level, on one side (common practice, no source: a core sound is off by 2 dB).
const ANCHOR_OFF_DB: f64 = 2.0;
/// What part of them is most.
const MOST: f64 = 2.0 / 3.0;

impl Levels {
    /// The gains worth moving by, with the anchor at `anchor_db` beside where it was:
    /// beside another song a track goes a part of the way, and without `exact` stays
    /// where it is already as near as can be told.
    pub fn moves_db(&self, anchor_db: f64, exact: bool) -> Vec<f64> {
        let gains = self.gain_db.iter().zip(&self.told);
        gains
            .map(|(&gain_db, &told)| match told {
                Told::Fitted | Told::AsOneWith(_) => match self.kind {
                    ReferenceKind::Song => beside_song_db(gain_db + anchor_db, exact),
                    ReferenceKind::Print => gain_db + anchor_db,
                },
                Told::Settled | Told::Silent | Told::Buried => gain_db,
            })
            .collect()
    }

    /// How far the anchor itself is off, where most tracks stand too loud beside it, or
    /// most too soft: with this gain on the anchor the middle one of them stays.
    pub fn anchor_off(&self) -> Option<AnchorOff> {
        let fitted = self.gain_db.iter().zip(&self.told);
        let fitted = fitted.filter(|(_, told)| **told == Told::Fitted);
        anchor_off(fitted.map(|(&gain_db, _)| gain_db).collect())
    }
}

fn anchor_off(mut gains_db: Vec<f64>) -> Option<AnchorOff> {
    let tracks = gains_db.len();
    if tracks < LEAST_TRACKS {
        return None;
    }
    gains_db.sort_by(f64::total_cmp);
    let middle_db = 0.5 * (gains_db[(tracks - 1) / 2] + gains_db[tracks / 2]);
    let off = |gain_db: &&f64| **gain_db * middle_db.signum() >= ANCHOR_OFF_DB;
    let tracks_off = gains_db.iter().filter(off).count();
    let is_off = middle_db.abs() >= ANCHOR_OFF_DB && tracks_off as f64 >= MOST * tracks as f64;
    is_off.then_some(AnchorOff {
        gain_db: -middle_db,
        tracks_off,
        tracks,
    })
}

/// An anchor that is off beside most tracks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnchorOff {
    /// The gain that puts it right, dB.
    pub gain_db: f64,
    /// How many tracks stand off beside it, on the same side.
    pub tracks_off: usize,
    /// Of how many.
    pub tracks: usize,
}

fn beside_song_db(gain_db: f64, exact: bool) -> f64 {
    match exact || gain_db.abs() >= SONG_ERROR_DB {
        true => SONG_PART * gain_db,
        false => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beside_a_song_moves_go_a_part_of_the_way() {
        assert_eq!(beside_song_db(5.0, false), 4.0);
        assert_eq!(beside_song_db(-5.0, true), -4.0);
        assert_eq!(beside_song_db(1.4, false), 0.0);
        assert!((beside_song_db(1.4, true) - 1.12).abs() < 1e-12);
    }

    /// By hand: the middle of six is the mean of the third and the fourth.
    #[test]
    fn an_anchor_is_off_beside_most() {
        let off = anchor_off(vec![-9.0, -5.0, -4.0, -6.0, 1.0, -3.0]).unwrap();
        assert_eq!(off.gain_db, 4.5);
        assert_eq!((off.tracks_off, off.tracks), (5, 6));
        let off = anchor_off(vec![9.0, 5.0, 4.0, 6.0, 1.0, 3.0]).unwrap();
        assert_eq!(off.gain_db, -4.5);
        // Too few; half of them; too little.
        assert_eq!(anchor_off(vec![-9.0; 5]), None);
        assert_eq!(
            anchor_off(vec![-9.0, -9.0, -9.0, -9.0, 0.0, 0.0, 1.0]),
            None
        );
        assert_eq!(anchor_off(vec![-1.9; 12]), None);
    }
}
