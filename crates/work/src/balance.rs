//! Computes moves and writes them into the session file.

use cupel_compare::{Parts, parts_of};
use cupel_measure::Summary;
use cupel_render::{PlacedSection, Plan};
use cupel_session::{By, Keep, Move, MoveKind, Parameters, Session, Target};
use cupel_solve::{
    Balance, BalanceInput, Beside, LeanElement, MeasuredTrack, Prints, Stages, headroom_cut_db,
};
use cupel_units::{Group, round_to_step};

use crate::beside::{Passage, may_be_print, print_passage};
use crate::figures::{indices, passage_figures};
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
    let found = solve(&assayed, passage.as_ref(), prints, options);
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
    let moves = in_order(&assayed.surveyed.session);
    Ok(Balanced {
        assayed,
        moves,
        found,
        sections,
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
fn placed(music: &Musical) -> Vec<PlacedSection> {
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

fn solve(
    assayed: &Assayed,
    passage: Option<&Passage>,
    prints: Option<&Prints<'_>>,
    options: BalanceOptions,
) -> Balance {
    let session = &assayed.surveyed.session;
    let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    let measured = assayed.passages.as_ref().map_or(&[][..], |p| &p.tracks);
    let file_of = |id: &str| {
        let mut included = assayed.surveyed.included();
        included
            .find(|(state, _)| state.track.id == id)
            .map(|(_, file)| file)
    };
    let tracks: Vec<MeasuredTrack<'_>> = assayed
        .plan
        .tracks
        .iter()
        .enumerate()
        .map(|(place, track)| {
            let file = file_of(&track.id);
            MeasuredTrack {
                id: &track.id,
                role: session.track(&track.id).and_then(|t| t.role),
                is_kick: kick.contains(&track.id),
                is_mono: file.is_some_and(|file| file.summary().channels == 1),
                lufs: file.and_then(|file| file.summary().integrated_lufs),
                sounds: measured
                    .get(place)
                    .is_some_and(|p| p.integrated_lufs.is_some()),
                kept_gain_db: kept_gain_db(session, &track.id),
                pan_is_set: has_kept(session, &track.id, MoveKind::Pan),
                polarity_is_set: has_kept(session, &track.id, MoveKind::Polarity),
            }
        })
        .collect();
    let places: Vec<Vec<usize>> = assayed
        .elements
        .iter()
        .map(|element| indices(&assayed.plan, &element.tracks))
        .collect();
    let elements: Vec<LeanElement<'_>> = assayed
        .elements
        .iter()
        .zip(&places)
        .map(|(element, tracks)| LeanElement {
            name: &element.name,
            role: element.role,
            tracks,
        })
        .collect();
    let bars = assayed.bars.as_ref();
    let elsewhere_hz: Vec<(f64, f64)> = bars.map_or_else(Vec::new, |bars| {
        let bands = bars.arrangement.iter();
        bands.map(|band| (band.low_hz, band.high_hz)).collect()
    });
    cupel_solve::balance(&BalanceInput {
        tracks: &tracks,
        beside: passage.map(|passage| Beside {
            scene: &passage.scene,
            reference: passage.reference.as_ref().filter(|_| tracks.len() > 1),
            prints,
            elements: &elements,
            low_hits: bars.map_or(&[][..], |bars| &bars.low_hits),
            elsewhere_hz: &elsewhere_hz,
        }),
        kick_peak_dbfs: assayed.mix.kick_peak_dbfs.filter(|_| !kick.is_empty()),
        kept_trim_db: kept_trim_db(session),
        targets: session.targets,
        stages: options.stages,
        all: options.all,
        exact: options.exact,
        usual: !options.no_usual,
    })
}

/// Whether a move of that kind stays on a track.
fn has_kept(session: &Session, id: &str, kind: MoveKind) -> bool {
    let target = Target::Track(id.to_owned());
    let mut moves = session.moves.iter();
    moves.any(|step| step.kind == kind && step.target == target && is_set(step))
}

/// Writes moves for single sections, off, where none of their kind stands.
fn offer(session: &mut Session, steps: impl Iterator<Item = Move>) {
    for mut step in steps {
        let mut moves = session.moves.iter();
        if moves.any(|other| other.target == step.target && other.at == step.at) {
            continue;
        }
        while session.moves.iter().any(|other| other.id == step.id) {
            step.id.push_str("-again");
        }
        session.moves.push(step);
    }
}

fn stays(step: &Move) -> bool {
    step.locked || step.by == By::Hand
}

/// Whether a move settles its matter: one that is on, or that was locked while
/// it is off.
fn is_set(step: &Move) -> bool {
    step.on || step.locked
}

fn gain_when_on_db(step: &Move) -> Option<f64> {
    let gain_db = step.parameters.gain_db()?;
    Some(if step.on { gain_db } else { 0.0 })
}

/// Gain of the moves that stay on this track or its group, where there are any.
fn kept_gain_db(session: &Session, id: &str) -> Option<f64> {
    let group: Option<Group> = session.track(id)?.group;
    let mut gains = session
        .moves
        .iter()
        .filter(|step| is_set(step) && step.at.is_none())
        .filter(|step| matches!(step.target, Target::Track(_) | Target::Group(_)))
        .filter(|step| step.target.reaches(id, group))
        .filter_map(gain_when_on_db)
        .peekable();
    gains.peek()?;
    Some(gains.sum())
}

fn kept_trim_db(session: &Session) -> Option<f64> {
    let mut trims = session
        .moves
        .iter()
        .filter(|step| stays(step) && is_set(step) && step.kind == MoveKind::Trim)
        .filter_map(gain_when_on_db)
        .peekable();
    trims.peek()?;
    Some(trims.sum())
}

/// Whether someone switched off the common trim of an earlier round.
fn trim_switched_off(session: &Session) -> bool {
    let mut moves = session.moves.iter();
    moves.any(|step| step.target == Target::All && !stays(step) && !step.on)
}

/// Lowers the whole mix: the trim of Cupel takes it, or a new one does, which
/// is off where such a trim was switched off. One that is off is left alone.
fn lower(session: &mut Session, cut_db: f64, on: bool) {
    let trim = session
        .moves
        .iter_mut()
        .find(|step| step.kind == MoveKind::Trim && step.target == Target::All && !stays(step));
    let words = format!("all down by {cut_db:.1} dB to keep the headroom");
    match trim {
        Some(step) if !step.on => {}
        Some(step) => {
            let gain_db = step.parameters.gain_db().unwrap_or(0.0) - cut_db;
            let gain_db = round_to_step(gain_db, 1e-6);
            step.parameters = Parameters::Trim { gain_db };
            step.why = format!("{}; {words}", step.why);
        }
        None => {
            let parameters = Parameters::Trim { gain_db: -cut_db };
            let mut step = Move::new(Target::All, parameters, By::Cupel, "anchor", words);
            step.on = on;
            while session.moves.iter().any(|other| other.id == step.id) {
                step.id.push_str("-headroom");
            }
            session.moves.insert(0, step);
        }
    }
}
