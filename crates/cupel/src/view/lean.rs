//! The level beam: lean of the elements over four bars.

use cupel_report::{LeanRow, LeanView};
use cupel_roles::Element;
use cupel_session::{Move, PanLaw, Parameters};
use cupel_units::{db_to_power, power_to_db};

use crate::view::State;
use crate::view::low_end::sides;

/// Powers below this are silence (-140 dB).
const SILENCE: f64 = 1e-14;
/// A lean that changes by less has not moved.
const NO_CHANGE_DB: f64 = 0.05;

/// Lean of every element as power over four bars, in the middle one of all such
/// stretches in which it plays; a mirrored pair, or a centre hit with a wide pair, is
/// one element and level. `None` without bars.
pub(crate) fn lean(state: &State<'_>) -> Option<LeanView> {
    let bars = state.assayed.bars.as_ref()?;
    let passages = state.assayed.passages.as_ref()?;
    let elements = state.assayed.elements.iter();
    let rows = elements.filter_map(|element| {
        let (_, map) = bars
            .elements
            .iter()
            .find(|(name, _)| *name == element.name)?;
        let over_four_bars = state.assayed.leans.iter();
        let over_four_bars = over_four_bars.filter(|(name, _)| *name == element.name);
        let before_db = over_four_bars
            .map(|(_, lean_db)| *lean_db)
            .next()
            .or_else(|| lean_db(sides(map)));
        let change_db = change_db(state, element).unwrap_or(0.0);
        Some(LeanRow {
            name: element.name.clone(),
            before_db,
            after_db: before_db
                .filter(|_| change_db.abs() >= NO_CHANGE_DB)
                .map(|before_db| before_db + change_db),
        })
    });
    let after = state.after.and_then(|after| after.passage.as_ref());
    Some(LeanView {
        sentence: String::new(),
        rows: rows.collect(),
        mix: Some(LeanRow {
            name: "Whole mix".into(),
            before_db: passages.mix.lean_db,
            after_db: after.and_then(|summary| summary.lean_db),
        }),
        reference_db: passages
            .reference
            .as_ref()
            .and_then(|side| side.summary.lean_db),
    })
}

fn lean_db((left, right): (f64, f64)) -> Option<f64> {
    (left + right > SILENCE).then(|| power_to_db((right + 1e-10 * left) / (left + 1e-10 * right)))
}

/// What the moves that are on do to an element's lean: the powers of its tracks
/// with them against those without.
fn change_db(state: &State<'_>, element: &Element) -> Option<f64> {
    state.after?;
    let bars = state.assayed.bars.as_ref()?;
    let (mut before, mut after) = ((0.0, 0.0), (0.0, 0.0));
    for (id, map) in bars
        .tracks
        .iter()
        .filter(|(id, _)| element.tracks.contains(id))
    {
        let (left, right) = sides(map);
        let (left_db, right_db) = gains_db(state, id);
        before = (before.0 + left, before.1 + right);
        after.0 += left * db_to_power(left_db);
        after.1 += right * db_to_power(right_db);
    }
    Some(lean_db(after)? - lean_db(before)?)
}

/// Gains of the moves that are on, on the left and on the right of a track.
fn gains_db(state: &State<'_>, id: &str) -> (f64, f64) {
    let session = &state.assayed.surveyed.session;
    let group = session.track(id).and_then(|track| track.group);
    let gain_db = session.net_gain_db(id);
    let reaches = |step: &&Move| step.on && step.target.reaches(id, group);
    let position =
        session
            .moves
            .iter()
            .filter(reaches)
            .rev()
            .find_map(|step| match step.parameters {
                Parameters::Pan { position, .. } => Some(position),
                _ => None,
            });
    let Some(position) = position else {
        return (gain_db, gain_db);
    };
    let mut files = state.assayed.surveyed.included();
    let is_mono = files
        .find(|(track, _)| track.track.id == id)
        .is_some_and(|(_, file)| file.measured.info.channels == 1);
    let law = if is_mono {
        PanLaw::Mono
    } else {
        PanLaw::Stereo
    };
    let (left_db, right_db) = law.sides_db(position);
    // A side that a pan silences is held at -100 dB.
    let side = |db: Option<f64>| gain_db + db.unwrap_or(-100.0);
    (side(left_db), side(right_db))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twice_the_power_on_the_right_leans_by_three_decibels() {
        let lean = lean_db((1.0, 2.0)).unwrap_or_default();
        assert!((lean - 3.01).abs() < 0.01);
        assert_eq!(lean_db((0.0, 0.0)), None);
        assert!(lean_db((0.0, 1.0)).is_some_and(|lean| (lean - 100.0).abs() < 0.01));
    }
}
