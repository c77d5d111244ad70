//! From the evidence to the verdict.

use crate::clues::Clues;
use crate::gains::Gains;
use crate::pass::Residuals;
use crate::session::Session;
use crate::thresholds::{ADDS_UP_DB, BALANCE_DB, EXPLAINED_DB, EXPLAINS_BY_DB, UNITY_TOLERANCE_DB};
use crate::{Cause, Difference, Trust, Verdict, words};
use cupel_units::power_to_db;

/// Everything that is known when the verdict falls.
pub(crate) struct Evidence<'a> {
    pub session: &'a Session<'a>,
    /// Columns in the sum.
    pub used: &'a [usize],
    pub gains: &'a Gains,
    pub residuals: &'a Residuals,
    pub clues: Option<&'a Clues>,
}

pub(crate) fn decide(evidence: &Evidence, trust: &mut Trust) {
    let r = evidence.residuals;
    let db = |power: f64| power_to_db((power / r.bounce.max(f64::MIN_POSITIVE)).max(1e-15));
    let sp = |power: f64| {
        power_to_db((power / r.powers.bounce_total().max(f64::MIN_POSITIVE)).max(1e-15))
    };
    if std::env::var("CLUES").is_ok() {
        let c = evidence.clues;
        println!(
            "   left {:.1} raw {:.1} gain {:.1} curve {:.1} tone {:.1} chain {:.1} added {:.3} lost {:.3} | absent {:.3} imitated {:.3} tail {:.3} follows {:?} sends {:?}",
            db(r.left),
            db(r.left_raw),
            db(r.left_after_gain),
            db(r.left_after_curve),
            sp(r.powers.after_tone()),
            sp(r.powers.after_chain),
            r.powers.left_added / r.powers.left_total(),
            r.powers.left_lost / r.powers.left_total(),
            c.map_or(0.0, |c| c.absent),
            c.map_or(0.0, |c| c.imitated),
            c.map_or(0.0, |c| c.tail),
            c.map(|c| c
                .follows
                .iter()
                .map(|f| (f * 100.0).round())
                .collect::<Vec<_>>()),
            c.map(|c| c
                .sends
                .iter()
                .map(|f| (f * 100.0).round())
                .collect::<Vec<_>>())
        );
        let mut total = 0.0;
        let _ = &mut total;
        let lv: Vec<String> = r
            .by_level
            .iter()
            .enumerate()
            .filter(|(_, (_, p))| *p > 1e-4 * r.bounce)
            .map(|(i, (c, p))| format!("{}:{:.2}", i as i32 - 90, 20.0 * (c / p).abs().log10()))
            .collect();
        println!("   levels {}", lv.join(" "));
    }
    trust.residual_db = Some(db(r.left));
    trust.raw_residual_db = Some(db(r.left_raw));
    let _ = (
        BALANCE_DB,
        EXPLAINED_DB,
        EXPLAINS_BY_DB,
        UNITY_TOLERANCE_DB,
        Cause::Small,
        evidence.session,
        evidence.used,
        evidence.gains,
    );
    let _: Option<Difference> = None;
    trust.verdict = if db(r.left) <= ADDS_UP_DB {
        Verdict::AddsUp
    } else {
        Verdict::DoesNotAddUp
    };
    let _ = words::untested;
}
