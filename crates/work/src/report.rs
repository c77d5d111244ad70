//! A session as it stands, for its report: nothing is computed anew but what is
//! not in the store, and no move is written. What `assay` finds goes into the
//! session file, as ever.

use cupel_session::{Move, MoveKind, Target};
use cupel_solve::{Balance, MonoLoss, Prints};

use crate::asked::{HeardPassage, ask, mono};
use crate::balance::{in_order, planned, predict};
use crate::beside::{Passage, may_be_print, print_passage};
use crate::kept::{Keeps, stays};
use crate::{Assayed, BalanceOptions, Context, Place, Predicted, WorkError, assay, mix_figures};

/// A session with the moves in its file.
#[derive(Debug)]
pub struct Reported {
    /// The session before the moves.
    pub assayed: Assayed,
    /// The moves that are on, in the order to do them, then those that are off.
    pub moves: Vec<Move>,
    /// The mix with the moves that are on; `None` where there are no moves.
    pub after: Option<Predicted>,
    /// What the moves of single tracks that are on do, one by one, and what no fader
    /// would mend; `None` where there are no moves, or the tracks cannot be judged.
    pub found: Option<Balance>,
    /// What every element loses in mono with the moves that are on.
    pub mono: Vec<MonoLoss>,
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
    let (mut found, mut losses) = (None, Vec::new());
    if after.is_some() && assayed.trust.can_judge_balance {
        let passage = Passage::of(&assayed, context)?;
        found = Some(as_it_stands(&assayed, passage.as_ref(), context));
        losses = mono(&assayed, passage.as_ref());
    }
    Ok(Reported {
        assayed,
        moves,
        after,
        found,
        mono: losses,
    })
}

/// What Cupel's faders in the session file do, after what is locked or by hand.
fn as_it_stands(assayed: &Assayed, passage: Option<&Passage>, context: &Context<'_>) -> Balance {
    let prints = |semitones: i32, bars: i32| print_passage(assayed, semitones, bars, context);
    let heard = HeardPassage {
        passage,
        prints: may_be_print(assayed).then_some(&prints as &Prints<'_>),
        low_waves: None,
    };
    let session = &assayed.surveyed.session;
    let made: Vec<(usize, f64)> = assayed
        .plan
        .tracks
        .iter()
        .enumerate()
        .filter_map(|(place, track)| {
            let target = Target::Track(track.id.clone());
            let mut moves = session.moves.iter();
            let step = moves.find(|step| {
                let plain = step.on && step.at.is_none() && !stays(step);
                plain && step.kind == MoveKind::Fader && step.target == target
            })?;
            Some((place, step.parameters.gain_db()?))
        })
        .collect();
    let asked = (BalanceOptions::default(), Keeps::Staying);
    ask(assayed, &heard, asked, |input| {
        cupel_solve::standing(input, &made)
    })
}
