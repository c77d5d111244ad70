//! What is right already.

use cupel_audio::HealthGrade;
use cupel_compare::{Spectrum, differences};
use cupel_findings::Grade;
use cupel_session::Target;
use cupel_units::read_db_change;

use crate::view::matters::{LEVEL_DB, MONO_LU};
use crate::view::{State, shown_name};

/// A band this near to the reference's, in dB, is near it.
const NEAR_DB: f64 = 3.0;

/// What is right already, one line each.
pub(crate) fn fine(state: &State<'_>) -> Vec<String> {
    let summary = state
        .after
        .map_or(&state.assayed.mix.summary, |after| &after.mix.summary);
    let targets = state.assayed.surveyed.session.targets;
    let mut lines = found(state);
    if summary
        .sample_peak_dbfs
        .is_some_and(|peak| peak <= targets.headroom_dbfs + 0.05)
    {
        lines.push(format!(
            "The mix keeps its headroom of {:.1} dB.",
            -targets.headroom_dbfs
        ));
    }
    if let Some(lean) = summary.lean_db.filter(|lean| lean.abs() < LEVEL_DB) {
        lines.push(format!(
            "Left and right are level: {}.",
            read_db_change(lean)
        ));
    }
    if let Some(loss) = summary.mono_loss_lu.filter(|loss| loss.abs() < MONO_LU) {
        lines.push(format!("Little is lost in mono: {loss:.1} LU."));
    }
    lines.extend(near_bands(state));
    lines.extend(left_alone(state));
    let clean = state
        .assayed
        .surveyed
        .included()
        .filter(|(_, file)| {
            file.measured
                .health
                .iter()
                .all(|n| n.grade == HealthGrade::Info)
        })
        .count();
    if clean > 0 {
        lines.push(format!(
            "{clean} of {} files are in good health.",
            state.assayed.surveyed.included().count()
        ));
    }
    lines
}

/// What was found right on the tracks as they came, as long as no move changed it.
fn found(state: &State<'_>) -> Vec<String> {
    if state.after.is_some() {
        return Vec::new();
    }
    let good = state.assayed.findings.iter();
    good.filter(|finding| finding.grade == Grade::Good)
        .map(|finding| finding.sentence.clone())
        .collect()
}

/// How many bands lie near the reference's, where most of them do.
fn near_bands(state: &State<'_>) -> Option<String> {
    let passages = state.assayed.passages.as_ref()?;
    let newest = state.after.and_then(|after| after.passage.as_ref());
    let mix = Spectrum::of(newest.unwrap_or(&passages.mix))?;
    let reference = Spectrum::of(&passages.reference.as_ref()?.summary)?;
    let gaps = differences(&mix, &reference);
    let gaps = || gaps.iter().filter_map(|band| band.difference_db);
    let near = gaps().filter(|gap_db| gap_db.abs() <= NEAR_DB).count();
    (2 * near > gaps().count()).then(|| {
        format!(
            "{near} of {} third octaves lie within {NEAR_DB:.0} dB of the reference's.",
            gaps().count()
        )
    })
}

/// The tracks on which there is no move, on or off, where there are moves on others.
fn left_alone(state: &State<'_>) -> Option<String> {
    state.after?;
    let session = &state.assayed.surveyed.session;
    let moved = |id: &str, group| {
        let mut moves = session.moves.iter();
        moves.any(|step| step.target != Target::All && step.target.reaches(id, group))
    };
    let tracks = state.assayed.surveyed.included();
    let names: Vec<String> = tracks
        .filter(|(track, _)| !moved(&track.track.id, track.track.group))
        .map(|(track, _)| shown_name(&track.track.file))
        .collect();
    let all = state.assayed.plan.tracks.len();
    (!names.is_empty() && names.len() < all)
        .then(|| format!("Stay where they are: {}.", names.join(", ")))
}
