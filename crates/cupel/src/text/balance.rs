//! Summary of `balance`.

use cupel_units::read_dbfs;
use cupel_work::Balanced;

use crate::text::{moves, notes, standing, wrap};
use crate::view::State;

pub(crate) fn summary(balanced: &Balanced, state: &State<'_>) -> String {
    let mut text = format!("Moves, in the order to do them:\n{}", moves(state));
    let mut lines = Vec::new();
    if balanced.headroom_cut_db > 0.0 {
        let kick = balanced.predicted.mix.kick_peak_dbfs;
        lines.push(match kick.filter(|_| balanced.assayed.kick.is_some()) {
            Some(_) => format!(
                "the whole mix is {:.1} dB lower than the anchor asks, to keep the headroom; the \
                 kick then peaks at {}",
                balanced.headroom_cut_db,
                read_dbfs(kick)
            ),
            None => {
                format!(
                    "all down by {:.1} dB to keep the headroom",
                    balanced.headroom_cut_db
                )
            }
        });
    }
    lines.extend(over_headroom(balanced));
    if balanced.assayed.kick.is_none() {
        lines.push("no kick can be told apart here, so nothing is anchored".into());
    }
    if !balanced.cannot_tell.is_empty() {
        let names: Vec<_> = balanced
            .cannot_tell
            .iter()
            .map(|id| state.name_of(id))
            .collect();
        lines.push(format!(
            "cannot tell, silent or buried in the passage, left as they are: {}",
            names.join(", ")
        ));
    }
    if balanced
        .assayed
        .passages
        .as_ref()
        .is_none_or(|p| p.reference.is_none())
    {
        lines.push("without a reference only the anchor is set".into());
    }
    text.push_str(&notes(&lines));
    text.push_str(&format!("\nExpected:\n{}", standing(state)));
    let worse = state.worse();
    if !worse.is_empty() {
        text.push_str(&format!("\nIt gets worse here:\n{}", notes(&worse)));
    }
    let next = "Next: cupel render. Values are relative to the tracks as exported; each can be \
                changed, switched off or locked in the session file.";
    text.push_str(&format!("\n{}", wrap(next, 0)));
    text
}

/// Said where the headroom is not kept because no trim of Cupel's may act.
fn over_headroom(balanced: &Balanced) -> Option<String> {
    let headroom_dbfs = balanced.assayed.surveyed.session.targets.headroom_dbfs;
    let peak_dbfs = balanced.predicted.mix.summary.sample_peak_dbfs?;
    (peak_dbfs > headroom_dbfs + 0.05).then(|| {
        format!(
            "the sample peak of the mix is {peak_dbfs:.1} dBFS, over the headroom of \
             {headroom_dbfs:.1} dBFS: the trim of all tracks is yours or off, so it is left alone"
        )
    })
}
