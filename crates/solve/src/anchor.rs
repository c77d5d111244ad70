//! The anchor: one trim of all tracks puts the kick's peak in its place.

use cupel_session::Targets;

/// The trim that brings a kick element of that peak to its anchor, in dB.
pub fn anchor_trim_db(kick_peak_dbfs: f64, targets: &Targets) -> f64 {
    targets.kick_peak_dbfs - kick_peak_dbfs
}

/// How far the whole mix must come down so that its peak keeps the headroom, in
/// dB, 0 or more; in steps of `step_db` (upwards) where one is given.
///
/// The balance is never bent for headroom: kick and all else go down together.
pub fn headroom_cut_db(mix_peak_dbfs: f64, targets: &Targets, step_db: Option<f64>) -> f64 {
    let over_db = mix_peak_dbfs - targets.headroom_dbfs;
    if over_db <= 0.0 {
        return 0.0;
    }
    match step_db {
        // A hair of tolerance, so that an exact fit is not cut by a whole step.
        Some(step) => ((over_db / step - 1e-6).ceil() * step).max(0.0),
        None => over_db,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trim_and_cut() {
        let targets = Targets::default();
        assert_eq!(anchor_trim_db(-7.5, &targets), -4.5);
        assert_eq!(headroom_cut_db(-4.0, &targets, None), 0.0);
        assert_eq!(headroom_cut_db(-2.5, &targets, None), 0.5);
        assert!((headroom_cut_db(-2.53, &targets, Some(0.1)) - 0.5).abs() < 1e-9);
        assert_eq!(headroom_cut_db(-3.0, &targets, Some(0.1)), 0.0);
    }
}
