//! The path of the distance, and what no fader mends, for the report.

use cupel_compare::Distance;
use cupel_report::{Cause, PathPart, PathView, Unmended};
use cupel_session::Target;
use cupel_solve::Balance;
use cupel_units::{read_db_change, read_hertz};

use crate::view::State;

/// At most so many differences are shown.
const MOST: usize = 6;

/// How the distance falls with the moves of single tracks that are on, those that do
/// most first.
pub(crate) fn path(state: &State<'_>, found: &Balance) -> Option<PathView> {
    let is_on = |track: &str| {
        let target = Target::Track(track.to_owned());
        let mut moves = state.moves.iter();
        moves.any(|step| step.on && step.at.is_none() && step.target == target)
    };
    let steps: Vec<_> = found
        .path
        .steps
        .iter()
        .filter(|step| is_on(&step.track))
        .collect();
    // What is off comes after all that is on, so that the figures are those of a run.
    let first_off = found.path.steps.iter().position(|step| !is_on(&step.track));
    if steps.is_empty() || first_off.is_some_and(|off| off < steps.len()) {
        return None;
    }
    let start = found.path.start.values();
    let parts = Distance::NAMES
        .iter()
        .enumerate()
        .filter_map(|(part, name)| {
            let values: Option<Vec<f64>> = steps
                .iter()
                .map(|step| step.distance.values()[part])
                .collect();
            let values = values?;
            Some(PathPart {
                name: name.words.to_owned(),
                unit: "dB".to_owned(),
                start: start[part]?,
                end: *values.last()?,
                steps: values,
            })
        });
    Some(PathView {
        parts: parts.collect(),
        steps: steps
            .iter()
            .map(|step| state.name_of(&step.track))
            .collect(),
    })
}

/// What stays after every move.
pub(crate) fn unmended(state: &State<'_>, found: &Balance) -> Vec<Unmended> {
    let remains = found.remains.iter().take(MOST);
    remains
        .map(|left| Unmended {
            place: format!(
                "{} to {}",
                read_hertz(left.low_hz.round()),
                read_hertz(left.high_hz.round())
            ),
            how_much: read_db_change(left.difference_db),
            whose: Some(state.name_of(&left.track)),
            cause: if left.arrangement {
                Cause::Arrangement
            } else {
                Cause::Sound
            },
            sentence: match left.arrangement {
                true => "Other things play there in the reference.".to_owned(),
                false => format!(
                    "{:.0} percent of it is this track; another sound would mend it, no fader.",
                    100.0 * left.share
                ),
            },
        })
        .collect()
}
