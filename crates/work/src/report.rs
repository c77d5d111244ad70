//! A session as it stands, for its report: nothing is computed anew but what is
//! not in the store, and no move is written. What `assay` finds goes into the
//! session file, as ever.

use cupel_session::Move;

use crate::balance::{in_order, planned, predict};
use crate::{Assayed, Context, Place, Predicted, WorkError, assay, mix_figures};

/// A session with the moves in its file.
#[derive(Debug)]
pub struct Reported {
    /// The session before the moves.
    pub assayed: Assayed,
    /// The moves that are on, in the order to do them, then those that are off.
    pub moves: Vec<Move>,
    /// The mix with the moves that are on; `None` where there are no moves.
    pub after: Option<Predicted>,
}

/// Measures a session as it stands in its file, with the moves that are on.
///
/// # Errors
/// As [`assay`].
pub fn report(place: &Place, context: &Context<'_>) -> Result<Reported, WorkError> {
    let assayed = assay(place, context)?;
    let moves = in_order(&assayed.surveyed.session);
    let after = if moves.is_empty() {
        None
    } else {
        let plan = planned(&assayed);
        let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
        let mix = mix_figures(&assayed.surveyed, &plan, kick, context)?;
        Some(predict(&assayed, &plan, mix, context)?)
    };
    Ok(Reported {
        assayed,
        moves,
        after,
    })
}
