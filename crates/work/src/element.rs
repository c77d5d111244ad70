//! Elements of a session: tracks of one role that sound together.

use cupel_measure::LoudnessCurve;
use cupel_roles::{Element, Playing, elements};

use crate::Surveyed;

/// The elements of the tracks that are part of the sum and have a role.
pub(crate) fn elements_of(surveyed: &Surveyed) -> Vec<Element> {
    let curves: Vec<LoudnessCurve> = surveyed
        .included()
        .map(|(state, file)| file.measured.curve.starting_at(state.track.start_s))
        .collect();
    let playing: Vec<Playing<'_>> = surveyed
        .included()
        .zip(&curves)
        .filter_map(|((state, _), curve)| {
            Some(Playing {
                id: &state.track.id,
                role: state.track.role?,
                curve,
            })
        })
        .collect();
    elements(&playing)
}
