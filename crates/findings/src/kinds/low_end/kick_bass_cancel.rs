//! Kick and bass take from each other.

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::{median, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "kick-bass-cancel",
    family: Family::LowEnd,
    title: "kick and bass take from each other",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 1.0, 2.5),
    weight: 0.9,
    brings: &["kick-lows", "bass-lows", "club-lows"],
    unsure: false,
    measures: "On the hits where kick and bass sound together: the power below 150 Hz of both \
               in one sum, against what the two hold apart.",
    matters: "Two low waves of opposite direction weaken each other. The low end gets thin \
              just where it should be strongest, and no fader brings it back.",
    threshold: "Median loss of 1 dB to look at, 2.5 dB to mend, with a loss on at least three \
                of four hits (common practice, no source). Two waves without any relation \
                lose nothing on average.",
    mend: "Turn the polarity of the bass over, or move it by a few milliseconds, and keep what \
           is stronger. Shorter bass notes under the kick help too.",
    wrong: "When the bass changes its notes often: what cancels at one note helps at another. \
            Then the hits differ, and nothing is said unless most of them lose.",
    hear: "Solo kick and bass through a low pass at 150 Hz, and turn the polarity of the bass \
           over: the stronger of both is right.",
    train: "Play one low sine against a copy, and turn the copy slowly from in step to out of \
            step: the note loses weight before it disappears.",
};

/// Fewer hits tell nothing.
const LEAST_HITS: usize = 8;
/// A hit counts where the softer of both is not further below the louder.
const RANGE_DB: f64 = 15.0;
/// Praised only where the bass is at least this strong on enough hits, against the
/// kick.
const STRONG_DB: f64 = -10.0;
/// Part of the hits that must lose something.
const LEAST_PART: f64 = 0.75;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let low_end = &evidence.low_end;
    let together = low_end.hits.iter().filter(|[kick, bass, _]| {
        kick.min(*bass) > 0.0 && ratio_db(*kick, *bass).abs() <= RANGE_DB
    });
    let losses_db: Vec<f64> = together
        .map(|[kick, bass, both]| ratio_db(kick + bass, *both))
        .collect();
    let hits = losses_db.len();
    if hits < LEAST_HITS {
        return Vec::new();
    }
    let losing = losses_db.iter().filter(|&&loss_db| loss_db > 0.5).count();
    let part = losing as f64 / hits as f64;
    let Some(loss_db) = median(losses_db) else {
        return Vec::new();
    };
    // Only where the bass is strong enough to take something.
    let level = low_end
        .hits
        .iter()
        .filter(|[kick, bass, _]| kick.min(*bass) > 0.0 && ratio_db(*bass, *kick) >= STRONG_DB);
    let level = level.count() >= LEAST_HITS;
    let tracks: Vec<usize> = [&low_end.kick[..], &low_end.bass[..]].concat();
    let finding = match KIND.sizes.grade(loss_db) {
        Some(grade) if part >= LEAST_PART => {
            let words = format!(
                "Kick and bass take from each other: on {losing} of the {hits} hits where both \
                 sound, their sum below 150 Hz is {loss_db:.1} dB weaker than the two apart.",
            );
            Finding::new(&KIND, grade, loss_db, words)
                .mend(
                    "Turn the polarity of the bass over, or move the bass by a few \
                     milliseconds, and keep what is stronger below 150 Hz.",
                )
                .sure(0.6 + 0.35 * part)
        }
        None if loss_db < 0.5 && level => {
            let words = if loss_db < -0.5 {
                format!(
                    "Kick and bass help each other: on the {hits} hits where both sound, their \
                     sum below 150 Hz is {:.1} dB stronger than the two apart.",
                    -loss_db
                )
            } else {
                format!(
                    "Kick and bass do not take from each other on the {hits} hits where both \
                     sound."
                )
            };
            Finding::new(&KIND, Grade::Good, loss_db, words)
        }
        _ => return Vec::new(),
    };
    vec![
        finding
            .on(evidence.ids(&tracks))
            .at(passage_span(evidence))
            .in_band((20.0, 150.0))
            .against(0.0, "what kick and bass hold apart")
            .hear(
                "Kick and bass alone, below 150 Hz: listen whether the kick keeps its weight \
                 when the bass comes in.",
            )
            .picture(Picture::Bars {
                unit: "dB lost".into(),
                rows: vec![PictureRow {
                    name: "both together".into(),
                    value: loss_db,
                    meant: true,
                }],
                limit: KIND.sizes.mend,
            }),
    ]
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::session;

    /// Hits of equal kick and bass whose sum has lost so many dB.
    fn with_losses(losses_db: &[f64]) -> Vec<Finding> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let hit = |loss_db: &f64| [1.0, 1.0, 2.0 * 10f64.powf(-loss_db / 10.0)];
        evidence.low_end.hits = losses_db.iter().map(hit).collect();
        find(&evidence)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        let grade = |loss_db: f64| with_losses(&[loss_db; 16]).first().map(|f| f.grade);
        assert_eq!(grade(0.8), None);
        assert_eq!(grade(1.1), Some(Grade::Look));
        assert_eq!(grade(2.4), Some(Grade::Look));
        assert_eq!(grade(2.6), Some(Grade::Mend));
        assert_eq!(grade(0.0), Some(Grade::Good));
        let found = with_losses(&[3.0; 16]);
        assert_eq!(found[0].tracks, ["t0", "t1"]);
    }

    #[test]
    fn a_bass_that_helps_on_some_hits_and_hurts_on_others_is_no_fault() {
        let mixed: Vec<f64> = (0..16)
            .map(|n| if n % 8 < 5 { 3.0 } else { -2.0 })
            .collect();
        assert!(with_losses(&mixed).is_empty());
    }

    #[test]
    fn few_hits_or_a_faint_bass_tell_nothing() {
        assert!(with_losses(&[6.0; 7]).is_empty());
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        evidence.low_end.hits = vec![[1.0, 0.01, 0.5]; 16];
        assert!(find(&evidence).is_empty());
    }
}
