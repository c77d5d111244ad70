//! Moves of the bass against the kick: turned over, or a little earlier or later.

use cupel_session::{By, Delay, Move, Parameters, Target};
use cupel_units::Group;

use crate::balance::Balance;
use crate::hits::Polarity;
use crate::input::{BalanceInput, MeasuredTrack};
use crate::shift::Offset;

/// The bass turned over or shifted, where that helps; nothing where one of both is
/// set by a move that stays.
pub(crate) fn low_moves(input: &BalanceInput<'_>, found: &Balance) -> Vec<Move> {
    let (parameters, why) = match (found.offset, found.polarity) {
        (
            Some(Offset::Shift {
                delay_ms,
                gain_db,
                hits,
            }),
            _,
        ) => {
            let way = if delay_ms < 0.0 { "earlier" } else { "later" };
            let why = format!(
                "kick and bass work against each other below 150 Hz: the bass {:.1} ms {way}, \
                 their sum gains {gain_db:.1} dB (median of {hits} hits where both sound)",
                delay_ms.abs()
            );
            let delay = Delay::Milliseconds { delay_ms };
            (Parameters::Offset(delay), why)
        }
        (_, Some(Polarity::Turn { gain_db, hits })) => {
            let why = format!(
                "kick and bass cancel below 150 Hz: turned over, their sum gains {gain_db:.1} dB \
                 (median of {hits} hits where both sound)"
            );
            (Parameters::Polarity {}, why)
        }
        _ => return Vec::new(),
    };
    let is_bass = |track: &&MeasuredTrack<'_>| {
        track.role.is_some_and(|role| role.group() == Group::LowEnd) && !track.is_kick
    };
    let basses: Vec<&MeasuredTrack<'_>> = input.tracks.iter().filter(is_bass).collect();
    if basses.iter().any(|t| t.polarity_is_set || t.offset_is_set) {
        return Vec::new();
    }
    let step = |track: &&MeasuredTrack<'_>| {
        let target = Target::Track(track.id.to_owned());
        Move::new(target, parameters, By::Cupel, "low end", why.clone())
    };
    basses.iter().map(step).collect()
}
