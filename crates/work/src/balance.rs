//! Computes moves and writes them into the session file.

use cupel_compare::{Parts, parts_of};
use cupel_measure::Summary;
use cupel_render::{PlacedSection, Plan};
use cupel_session::{Keep, Move, Session, Target};
use cupel_solve::{Balance, MonoLoss, Prints, Stages, headroom_cut_db};

use crate::asked::{HeardPassage, ask, mono};
use crate::beside::{Passage, may_be_print, print_passage};
use crate::figures::passage_figures;
use crate::kept::{Keeps, kept_trim_db, lower, offer, stays, trim_switched_off};
use crate::low_waves_read::low_waves;
use crate::sections::hurt_sections;
use crate::{Assayed, Context, MixFigures, Musical, Place, WorkError, assay, mix_figures};

/// Steps of the common trim, in dB.
const TRIM_STEP_DB: f64 = 0.1;

/// What was asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BalanceOptions {
    /// Turn on every move, not only the few that do most.
    pub all: bool,
    /// Write moves unrounded and keep small ones.
    pub exact: bool,
    /// Go on although the tracks do not add up to the bounce.
    pub anyway: bool,
    /// Stages asked for.
    pub stages: Stages,
    /// Go by the reference alone, not by what is usual for a role.
    pub no_usual: bool,
}

/// What is expected of the moves that are on, measured on the mix with them.
#[derive(Clone, Debug)]
pub struct Predicted {
    /// The mix with the moves.
    pub mix: MixFigures,
    /// Its passage.
    pub passage: Option<Summary>,
    /// Its distance from the reference, in parts.
    pub parts: Option<Parts>,
}

/// A session with its moves.
#[derive(Debug)]
pub struct Balanced {
    /// The session before; its session file now holds the moves.
    pub assayed: Assayed,
    /// The moves in the order to do them, those that are off last.
    pub moves: Vec<Move>,
    /// What was found, and what each move does.
    pub found: Balance,
    /// Sections that suffer from the moves, in words.
    pub sections: Vec<String>,
    /// What every element loses in mono with the moves that are on.
    pub mono: Vec<MonoLoss>,
    /// By how much the whole mix was lowered for headroom, in dB.
    pub headroom_cut_db: f64,
    /// What the moves do.
    pub predicted: Predicted,
}

/// Assays, computes the moves, and writes them into the session file. Locked
/// moves and moves by hand stay as they are.
///
/// # Errors
/// [`WorkError::CannotJudge`] where the tracks do not add up to the bounce,
/// unless `anyway`; others as [`assay`].
pub fn balance(
    place: &Place,
    options: BalanceOptions,
    context: &Context<'_>,
) -> Result<Balanced, WorkError> {
    let mut assayed = assay(place, context)?;
    if !assayed.trust.can_judge_balance && !options.anyway {
        return Err(WorkError::CannotJudge {
            sentence: assayed.trust.sentence.clone(),
            how_to_export: assayed.trust.how_to_export.clone(),
        });
    }
    let passage = Passage::of(&assayed, context)?;
    let prints = |semitones: i32, bars: i32| print_passage(&assayed, semitones, bars, context);
    let prints = may_be_print(&assayed).then_some(&prints as &Prints<'_>);
    let low_waves = match options.stages.low_end {
        true => low_waves(&assayed, context)?,
        false => None,
    };
    let heard = HeardPassage {
        passage: passage.as_ref(),
        prints,
        low_waves: low_waves.as_ref(),
    };
    let found = ask(&assayed, &heard, (options, Keeps::Set), |input| {
        cupel_solve::balance(input)
    });
    let kept_trim = kept_trim_db(&assayed.surveyed.session).is_some();
    let trim_on = !trim_switched_off(&assayed.surveyed.session) && options.stages.anchor;
    let mut moves = found.moves.clone();
    moves.retain_mut(|step| {
        if step.target != Target::All {
            return true;
        }
        step.on = trim_on;
        if !options.exact {
            // Nothing may be left of it.
            let Some(rounded) = cupel_session::round_for_hand(step, true) else {
                return false;
            };
            *step = rounded;
        }
        true
    });
    let session = &mut assayed.surveyed.session;
    // The common trim is found anew in every round.
    session
        .moves
        .retain(|step| stays(step) || step.target != Target::All);
    session.replace_moves(moves, Keep::On);
    let kick = assayed
        .kick
        .as_ref()
        .map_or(&[][..], |kick| &kick.tracks)
        .to_vec();
    let mut plan = planned(&assayed);
    let mut mix = mix_figures(&assayed.surveyed, &plan, &kick, context)?;
    let cut_db = match mix.summary.sample_peak_dbfs {
        Some(peak_dbfs) if !kept_trim && options.stages.check => {
            let step = (!options.exact).then_some(TRIM_STEP_DB);
            headroom_cut_db(peak_dbfs, &assayed.surveyed.session.targets, step)
        }
        _ => 0.0,
    };
    if cut_db > 0.0 {
        lower(&mut assayed.surveyed.session, cut_db, trim_on);
    }
    if cut_db > 0.0 && trim_on {
        plan = planned(&assayed);
        mix = mix_figures(&assayed.surveyed, &plan, &kick, context)?;
    }
    let hurt = match options.stages.check {
        true => hurt_sections(&assayed),
        false => Vec::new(),
    };
    let sections = hurt.iter().map(|hurt| hurt.sentence.clone()).collect();
    offer(
        &mut assayed.surveyed.session,
        hurt.into_iter().map(|hurt| hurt.step),
    );
    assayed.surveyed.session.save_merged(&place.file)?;
    let predicted = predict(&assayed, &plan, mix, context)?;
    let mono = match options.stages.check {
        true => mono(&assayed, passage.as_ref()),
        false => Vec::new(),
    };
    let moves = in_order(&assayed.surveyed.session);
    Ok(Balanced {
        assayed,
        moves,
        found,
        sections,
        mono,
        headroom_cut_db: if trim_on { cut_db } else { 0.0 },
        predicted,
    })
}

/// The plan with the session's moves.
pub(crate) fn planned(assayed: &Assayed) -> Plan {
    let surveyed = &assayed.surveyed;
    Plan::of(
        &surveyed.playable(),
        &surveyed.place.folder,
        surveyed.sample_rate_hz,
        &placed(&assayed.music),
    )
}

/// The sections, for moves that hold in some only.
pub(crate) fn placed(music: &Musical) -> Vec<PlacedSection> {
    let sections = music.form.sections.iter();
    sections
        .map(|section| PlacedSection {
            name: section.name.name().to_owned(),
            start_s: section.start_s,
            end_s: section.end_s,
        })
        .collect()
}

/// The moves that are on in the order to do them, then those that are off.
pub(crate) fn in_order(session: &Session) -> Vec<Move> {
    let off = session.moves.iter().filter(|step| !step.on);
    session.steps().into_iter().chain(off).cloned().collect()
}

/// Measures what the moves do.
pub(crate) fn predict(
    assayed: &Assayed,
    plan: &Plan,
    mix: MixFigures,
    context: &Context<'_>,
) -> Result<Predicted, WorkError> {
    let Some(passages) = &assayed.passages else {
        return Ok(Predicted {
            mix,
            passage: None,
            parts: None,
        });
    };
    let stretch = passages.stretch;
    let passage = passage_figures(
        &assayed.surveyed,
        plan,
        stretch.start_s,
        stretch.end_s,
        context,
    )?;
    let parts = passages
        .reference
        .as_ref()
        .map(|r| parts_of(&passage, &r.summary));
    Ok(Predicted {
        mix,
        passage: Some(passage),
        parts,
    })
}
