//! Everything that is said, in a producer's words.

use crate::bounce::worst_stretches;
use crate::pass::Residuals;
use crate::remarks::note;
use crate::session::Session;
use crate::spectra::octaves;
use crate::{BandResidual, Note, TimeResidual, Trust, Verdict};
use cupel_units::power_to_db;

/// Stretches listed as the worst, and their length in seconds.
const WORST_LISTED: usize = 5;
const WORST_S: usize = 5;

/// How to export so that the files add up.
pub(crate) const HOW_TO_EXPORT: &str = "export all tracks from the same start to the same end, \
     with faders, pan and automation in, each return as a file of its own, nothing on the mix \
     bus, normalising off, 24-bit or float; then bounce the same mix with the same settings and \
     name it with --rough";

pub(crate) fn untested(trust: &mut Trust) {
    trust.verdict = Verdict::Untested;
    trust.sentence = "there is no bounce of your mix here, so whether the files add up to it is \
                      untested; add one with --rough to know"
        .to_owned();
}

pub(crate) fn another_music(trust: &mut Trust) {
    trust.verdict = Verdict::DoesNotAddUp;
    trust.can_judge_balance = false;
    trust.sentence = "the bounce has nothing in common with the tracks, so it is most likely of \
                      another piece; the balance cannot be judged against it"
        .to_owned();
    trust.how_to_export = Some(HOW_TO_EXPORT.to_owned());
}

pub(crate) fn start_unclear(session: &Session, column: usize) -> Note {
    note(
        "start_unclear",
        format!(
            "`{}` may have been trimmed to its first clip, and several places in the bounce fit \
             it equally well: set its start by hand, or export it from the common start",
            session.file(column)
        ),
        vec![session.id(column)],
    )
}

pub(crate) fn start_nowhere(session: &Session, column: usize) -> Note {
    note(
        "start_not_found",
        format!(
            "`{}` begins at once with sound and was not found in the bounce: its start is taken \
             as the common one",
            session.file(column)
        ),
        vec![session.id(column)],
    )
}

/// Where and in which bands most is left.
pub(crate) fn places(residuals: &Residuals, rate_hz: u32, start: u64, trust: &mut Trust) {
    let left = octaves(&residuals.powers.left, rate_hz);
    let bounce = octaves(&residuals.powers.bounce, rate_hz);
    let total = residuals.powers.left_total().max(f64::MIN_POSITIVE);
    trust.residual_by_band = left
        .iter()
        .zip(&bounce)
        .map(|(&(low_hz, high_hz, left), &(_, _, bounce))| BandResidual {
            low_hz,
            high_hz,
            residual_db: (left > 0.0 && bounce > 0.0).then(|| power_to_db(left / bounce)),
            share: left / total,
        })
        .collect();
    let seconds = residuals.by_second.len().max(1) as f64;
    let mean = residuals.bounce / seconds;
    trust.residual_by_time = worst_stretches(residuals, WORST_S, WORST_LISTED)
        .into_iter()
        .filter_map(|second| {
            let end = (second + WORST_S).min(residuals.by_second.len());
            let left: f64 = residuals.by_second[second..end]
                .iter()
                .map(|(_, left)| left)
                .sum();
            let origin_s = start as f64 / f64::from(rate_hz);
            (left > 0.0 && mean > 0.0).then(|| TimeResidual {
                start_s: origin_s + second as f64,
                end_s: origin_s + end as f64,
                residual_db: power_to_db(left / (end - second) as f64 / mean),
            })
        })
        .collect();
}
