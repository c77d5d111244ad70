//! What is told of the levels beside the moves.

use cupel_compare::Cells;

use crate::balance::{Balance, BandLeft, CannotTell};
use crate::faders::kept_gains;
use crate::input::{BalanceInput, Beside};
use crate::levels::{Levels, Told};
use crate::remains::{band_differences, remains};

/// Writes down what the levels tell, beside the moves.
pub(crate) fn tell(
    input: &BalanceInput<'_>,
    beside: &Beside<'_>,
    (reference, levels): (&Cells, &Levels),
    result: &mut Balance,
) {
    let as_is = kept_gains(input);
    let ids: Vec<&str> = input.tracks.iter().map(|track| track.id).collect();
    result.reference = Some(levels.kind);
    result.print = levels.print_place();
    result.print_spread_db = levels.print_spread_db;
    result.cannot_tell = cannot_tell(input, levels, &ids);
    result.spreads = input
        .tracks
        .iter()
        .zip(&levels.spread_db)
        .zip(&levels.told)
        .filter(|(_, told)| matches!(told, Told::Fitted | Told::AsOneWith(_)))
        .map(|((track, &spread_db), _)| (track.id.to_owned(), spread_db))
        .collect();
    let before = band_differences(&beside.scene.cells(&as_is), reference);
    let after = band_differences(&beside.scene.cells(&levels.gain_db), reference);
    let layout = &beside.scene.layout;
    result.bands = layout
        .bands
        .iter()
        .zip(before.iter().zip(&after))
        .map(|(band, (&before_db, &after_db))| BandLeft {
            centre_hz: band.centre_hz(),
            before_db,
            after_db,
        })
        .collect();
    let spans = (as_is.as_slice(), levels.gain_db.as_slice());
    result.remains = remains(beside.scene, reference, &ids, spans, beside.elsewhere_hz);
}

fn cannot_tell(input: &BalanceInput<'_>, levels: &Levels, ids: &[&str]) -> Vec<CannotTell> {
    let told = input.tracks.iter().zip(&levels.told);
    told.filter_map(|(track, told)| {
        let why = match told {
            Told::Silent => "silent in the passage".to_owned(),
            Told::Buried => "buried under the others, here and in the reference".to_owned(),
            Told::AsOneWith(other) => {
                format!(
                    "as good as the same as {}; moved along with it",
                    ids[*other]
                )
            }
            Told::Fitted | Told::Settled => return None,
        };
        Some(CannotTell {
            track: track.id.to_owned(),
            why,
        })
    })
    .collect()
}
