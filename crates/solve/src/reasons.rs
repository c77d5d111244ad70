//! Why a track should move, in words: where it owns the mix, and what the mix
//! is there beside the reference.

use cupel_units::{Role, read_hertz, round_to_step};

/// A track is at home where its share of the mix is at least this part of its
/// largest share (common practice, no source).
const HOME_PART: f64 = 0.5;

/// What is known of one track in the passage, band by band.
pub(crate) struct Ownership<'a> {
    /// Band edges, low and high, in hertz.
    pub edges_hz: &'a [(f64, f64)],
    /// The track's share of the mix in every band, 0 to 1; 0 in bands in which it
    /// has next to nothing of its own loudness.
    pub share: &'a [f64],
    /// Mix less reference before the moves, at equal loudness, dB.
    pub before_db: &'a [Option<f64>],
    /// Bass against kick around their own notes, mix less reference, dB; for a bass
    /// alone.
    pub against_kick_db: Option<f64>,
    /// The gain that would bring it to its usual level beside the kick, dB.
    pub usual_gain_db: Option<f64>,
    /// What it is.
    pub role: Option<Role>,
}

/// Smaller differences are no reason.
const SAID_DB: f64 = 0.5;
const UNUSUAL_DB: f64 = 1.0;

/// A sentence for a move of `gain_db`.
pub(crate) fn reason(ownership: &Ownership<'_>, gain_db: f64) -> String {
    let side = |db: f64| if db > 0.0 { "over" } else { "under" };
    let agrees = |difference_db: f64| difference_db * gain_db < 0.0;
    let mut reasons = Vec::new();
    if let Some(db) = ownership
        .against_kick_db
        .filter(|&db| agrees(db) && db.abs() >= SAID_DB)
    {
        reasons.push(format!(
            "around its own notes it lies {:.1} dB {} where the reference's bass lies against \
             its kick",
            db.abs(),
            side(db)
        ));
    }
    let place = strongest_place(ownership);
    let name = |low_hz: f64, high_hz: f64| {
        format!("{}-{}", read_hertz(nice(low_hz)), read_hertz(nice(high_hz)))
    };
    if let Some((low_hz, high_hz, db)) = place
        && agrees(db)
        && db.abs() >= SAID_DB
    {
        reasons.push(format!(
            "{}, where it is strongest, is {:.1} dB {} the reference's at equal loudness",
            name(low_hz, high_hz),
            db.abs(),
            side(db)
        ));
    }
    if let (Some(usual_db), Some(role)) = (ownership.usual_gain_db, ownership.role)
        && usual_db * gain_db > 0.0
        && usual_db.abs() >= UNUSUAL_DB
    {
        let louder = if usual_db < 0.0 { "louder" } else { "softer" };
        reasons.push(format!(
            "beside the kick it is {:.1} dB {louder} than is usual for {role}",
            usual_db.abs()
        ));
    }
    if !reasons.is_empty() {
        return reasons.join("; ");
    }
    match place {
        Some((low_hz, high_hz, _)) if gain_db < 0.0 => format!(
            "{}, where it is strongest, must make room as the rest comes up",
            name(low_hz, high_hz)
        ),
        Some((low_hz, high_hz, _)) => format!(
            "{}, where it is strongest, must keep up as the rest changes",
            name(low_hz, high_hz)
        ),
        None => "it shows in no band that the reference has".to_owned(),
    }
}

/// The bands a track is at home in around its strongest one, and the mean difference
/// there, weighted by its share.
fn strongest_place(ownership: &Ownership<'_>) -> Option<(f64, f64, f64)> {
    let share = ownership.share;
    let best = (0..share.len())
        .filter(|&b| ownership.before_db[b].is_some())
        .max_by(|&a, &b| share[a].total_cmp(&share[b]))?;
    if share[best] <= 0.0 {
        return None;
    }
    let home = share[best] * HOME_PART;
    let first = (0..=best).rev().take_while(|&b| share[b] >= home).last()?;
    let last = (best..share.len())
        .take_while(|&b| share[b] >= home)
        .last()?;
    let (mut sum, mut weight) = (0.0, 0.0);
    for (difference_db, share) in ownership.before_db[first..=last]
        .iter()
        .zip(&share[first..=last])
    {
        if let Some(difference_db) = difference_db {
            sum += difference_db * share;
            weight += share;
        }
    }
    Some((
        ownership.edges_hz[first].0,
        ownership.edges_hz[last].1,
        sum / weight,
    ))
}

/// Two significant figures: edges as people say them.
fn nice(hertz: f64) -> f64 {
    let step = 10f64.powf((hertz.log10() - 1.0).floor());
    round_to_step(hertz / step, 1.0) * step
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_place_and_the_number() {
        let edges = [
            (89.1, 112.0),
            (112.0, 141.0),
            (141.0, 178.0),
            (178.0, 224.0),
        ];
        let mut ownership = Ownership {
            edges_hz: &edges,
            share: &[0.1, 0.5, 0.9, 0.2],
            before_db: &[Some(9.0), Some(3.0), Some(4.0), None],
            against_kick_db: None,
            usual_gain_db: None,
            role: Some(Role::Lead),
        };
        assert_eq!(
            reason(&ownership, -3.0),
            "110 Hz-180 Hz, where it is strongest, is 3.6 dB over the reference's at equal loudness"
        );
        ownership.share = &[0.1, 0.1, 0.3, 0.1];
        assert_eq!(
            reason(&ownership, -3.0),
            "140 Hz-180 Hz, where it is strongest, is 4.0 dB over the reference's at equal loudness"
        );
    }
    #[test]
    fn what_is_usual_is_a_reason_where_no_band_is() {
        let mut ownership = Ownership {
            edges_hz: &[(100.0, 200.0)],
            share: &[0.5],
            before_db: &[Some(3.0)],
            against_kick_db: None,
            usual_gain_db: Some(4.0),
            role: Some(Role::Pad),
        };
        assert_eq!(
            reason(&ownership, 3.0),
            "beside the kick it is 4.0 dB softer than is usual for pad"
        );
        ownership.usual_gain_db = None;
        assert!(reason(&ownership, 3.0).contains("must keep up"));
        ownership.against_kick_db = Some(2.0);
        assert!(reason(&ownership, -3.0).starts_with("around its own notes it lies 2.0 dB over"));
    }
}
