//! The kick is far from its anchor.

use cupel_units::read_dbfs;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "kick-off-anchor",
    family: Family::Level,
    title: "the kick is off its anchor",
    cause: Cause::Mix,
    sizes: Sizes::look("dB", 2.0),
    weight: 0.5,
    brings: &[],
    unsure: false,
    measures: "The highest sample of the kick's tracks together, against the anchor that the \
               session aims at.",
    matters: "All other levels are set beside the kick. With the kick at one known level every \
              session starts alike, and there is headroom for the rest.",
    threshold: "2 dB, only to look at: the anchor is a habit, not a law. The usual anchor is \
                about -12 dBFS (common practice, no source).",
    mend: "Trim all tracks by the same amount, so that the balance stays and the kick comes to \
           its anchor.",
    wrong: "When the session has no kick and another low element stands for it. A kick that was \
            lowered to keep the headroom of the mix is no finding: only the trim that the \
            headroom leaves counts.",
    hear: "Nothing sounds wrong: look at the peak of the kick alone, in the busiest passage.",
    train: "Set the monitors once so that a mix with the kick at its anchor is comfortable, and \
            leave them there; a session that is off is then heard at once.",
};

/// A difference that figures of one decimal hide, dB.
const SMALL_DB: f64 = 0.05;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(mix) = &evidence.mix else {
        return Vec::new();
    };
    let Some(peak_dbfs) = mix.kick_peak_dbfs else {
        return Vec::new();
    };
    let aim_dbfs = evidence.aims.kick_peak_dbfs;
    let off_db = peak_dbfs - aim_dbfs;
    // Up it comes only as far as the headroom of the mix lets it.
    let trim_db = match off_db < 0.0 {
        true => -(-off_db).min(room_db(evidence)),
        false => off_db,
    };
    let kick: Vec<usize> = (0..evidence.tracks.len())
        .filter(|&track| evidence.tracks[track].is_kick)
        .collect();
    let peak = read_dbfs(Some(peak_dbfs));
    let finding = match KIND.sizes.grade(trim_db.abs()) {
        Some(grade) => {
            let way = if off_db > 0.0 { "over" } else { "under" };
            let rest = match off_db - trim_db < -SMALL_DB {
                true => format!(", and the headroom leaves {:.1} dB of it", -trim_db),
                false => String::new(),
            };
            let words = format!(
                "The kick peaks at {peak}, {:.1} dB {way} its anchor{rest}.",
                off_db.abs()
            );
            Finding::new(&KIND, grade, trim_db.abs(), words)
                .mend(format!("Trim all tracks by {:+.1} dB.", -trim_db))
        }
        // Lowered for headroom: the sum would be too hot with the kick at its anchor.
        None if KIND.sizes.grade(off_db.abs()).is_some() => return Vec::new(),
        None => {
            let words = format!("The kick peaks at {peak}, within 2 dB of its anchor.");
            Finding::new(&KIND, Grade::Good, off_db.abs(), words)
        }
    };
    let rule = format!("the anchor of the session, {aim_dbfs:.0} dBFS");
    vec![
        finding
            .against(aim_dbfs, rule)
            .on(evidence.ids(&kick))
            .picture(Picture::Bars {
                unit: "dBFS".into(),
                rows: vec![PictureRow {
                    name: "kick".into(),
                    value: peak_dbfs,
                    meant: true,
                }],
                limit: Some(aim_dbfs),
            }),
    ]
}

/// By how much all tracks may be raised until the mix is at its headroom, dB.
fn room_db(evidence: &Evidence) -> f64 {
    let peak_dbfs = evidence
        .mix
        .as_ref()
        .and_then(|mix| mix.summary.sample_peak_dbfs);
    peak_dbfs.map_or(f64::INFINITY, |peak| {
        (evidence.aims.headroom_dbfs - peak).max(0.0)
    })
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::session;

    /// A kick and a mix that peak somewhere; the anchor is -12, the headroom -3 dBFS.
    fn found(kick_dbfs: f64, mix_dbfs: f64) -> Vec<(Grade, f64)> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        if let Some(mix) = &mut evidence.mix {
            mix.kick_peak_dbfs = Some(kick_dbfs);
            mix.summary.sample_peak_dbfs = Some(mix_dbfs);
        }
        let found = find(&evidence);
        found.iter().map(|f| (f.grade, f.value)).collect()
    }

    #[test]
    fn looked_at_from_two_decibels_on() {
        assert_eq!(found(-10.1, -6.0)[0].0, Grade::Good);
        assert_eq!(found(-9.9, -6.0)[0].0, Grade::Look);
        assert_eq!(found(-13.9, -6.0)[0].0, Grade::Good);
        assert_eq!(found(-14.1, -6.0)[0].0, Grade::Look);
    }

    #[test]
    fn what_headroom_does_not_leave_is_no_finding() {
        // lowered for headroom: nothing, or less than 2 dB, is left to trim
        assert!(found(-16.0, -3.0).is_empty());
        assert!(found(-16.0, -4.9).is_empty());
        let some = found(-16.0, -5.1);
        assert_eq!(some[0].0, Grade::Look);
        assert!((some[0].1 - 2.1).abs() < 1e-9, "{some:?}");
        // with room enough all of it counts
        assert!((found(-16.0, -12.0)[0].1 - 4.0).abs() < 1e-9);
        // too high is too high, whatever the mix does
        assert_eq!(found(-9.0, -1.0)[0].0, Grade::Look);
    }
}
