//! The anchor: one trim of all tracks puts the kick's peak in its place, and a kick that
//! is off beside most tracks is moved itself.

use cupel_session::{By, Move, Parameters, Target, Targets};
use cupel_units::Role;

use crate::balance::presentable;
use crate::input::{BalanceInput, MeasuredTrack};
use crate::levels::{AnchorOff, Levels};
use crate::prior::usual_level;

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

/// The common trim; `moved_db` is what a move of this round does to the anchor itself.
pub(crate) fn trim_move(input: &BalanceInput<'_>, moved_db: f64) -> Option<Move> {
    let (None, Some(exported_dbfs)) = (input.kept_trim_db, input.kick_peak_dbfs) else {
        return None;
    };
    let fader_db = moved_db + kept_anchor_gain_db(input.tracks);
    let peak_dbfs = exported_dbfs + fader_db;
    let anchored = input.tracks.iter().find(|track| track.is_kick);
    let what = match anchored.and_then(|track| track.role) {
        Some(Role::Kick) | None => "the kick".to_owned(),
        Some(role) => format!("there is no kick; the loudest low element, the {role},"),
    };
    let with = match fader_db.abs() < 0.05 {
        true => String::new(),
        false => format!(" with its own move of {fader_db:+.1} dB"),
    };
    let why = format!(
        "{what}{with} peaks at {peak_dbfs:.1} dBFS; its anchor is {:.1} dBFS",
        input.targets.kick_peak_dbfs
    );
    let gain_db = anchor_trim_db(peak_dbfs, &input.targets);
    let mut step = Move::new(
        Target::All,
        Parameters::Trim { gain_db },
        By::Cupel,
        "anchor",
        why,
    );
    step.on = input.stages.anchor;
    Some(step)
}

/// The move of the anchor itself and the place of its track, where it is one track that
/// is off beside most others, and no fader is settled yet.
pub(crate) fn anchor_move(input: &BalanceInput<'_>, levels: &Levels) -> Option<(usize, Move)> {
    let free = |track: &MeasuredTrack<'_>| track.kept_gain_db.is_none();
    let mut anchors = (0..input.tracks.len()).filter(|&t| input.tracks[t].is_kick);
    let (Some(place), None) = (anchors.next(), anchors.next()) else {
        return None;
    };
    if !input.stages.anchor || !input.tracks.iter().all(free) {
        return None;
    }
    let off = levels.anchor_off()?;
    let track = &input.tracks[place];
    let step = Move::new(
        Target::Track(track.id.to_owned()),
        Parameters::Fader {
            gain_db: off.gain_db,
        },
        By::Cupel,
        "anchor",
        why_off(track.role, off),
    );
    Some((place, presentable(step, track.role, input.exact)?))
}

fn why_off(role: Option<Role>, off: AnchorOff) -> String {
    let name = match role {
        Some(Role::Kick) | None => "kick".to_owned(),
        Some(role) => role.to_string(),
    };
    let (others, way) = match off.gain_db > 0.0 {
        true => ("loud", "soft"),
        false => ("soft", "loud"),
    };
    format!(
        "{} of {} tracks stand too {others} beside the {name}: it is the {name} that is too {way}",
        off.tracks_off, off.tracks
    )
}

/// Gain of the moves that stay on the anchor: on the loudest track of it.
pub(crate) fn kept_anchor_gain_db(tracks: &[MeasuredTrack<'_>]) -> f64 {
    let anchors = tracks.iter().filter(|track| track.is_kick);
    let lufs = |track: &&MeasuredTrack<'_>| track.lufs.unwrap_or(f64::NEG_INFINITY);
    anchors
        .max_by(|a, b| lufs(a).total_cmp(&lufs(b)))
        .and_then(|track| track.kept_gain_db)
        .unwrap_or(0.0)
}

/// Loudness of the anchor's tracks together with the moves that stay on them, as powers.
pub(crate) fn anchor_lufs(tracks: &[MeasuredTrack<'_>]) -> Option<f64> {
    let anchors = tracks.iter().filter(|track| track.is_kick);
    let sum: f64 = anchors
        .filter_map(|track| Some(track.lufs? + track.kept_gain_db.unwrap_or(0.0)))
        .map(|lufs| 10f64.powf(lufs / 10.0))
        .sum();
    (sum > 0.0).then(|| 10.0 * sum.log10())
}

/// What is usual for the anchor beside a kick, LU.
pub(crate) fn anchor_lu(tracks: &[MeasuredTrack<'_>]) -> f64 {
    let anchor = tracks.iter().find(|track| track.is_kick);
    anchor.map_or(0.0, |track| usual_level(track.role).mean_lu)
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
