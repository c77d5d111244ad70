//! Why a track should move, in words: where it owns the mix, and what the mix
//! is there beside the reference.

use cupel_units::{read_hertz, round_to_step};

/// A track is at home where its share of the mix is at least this part of its
/// largest share (common practice, no source).
const HOME_PART: f64 = 0.5;

/// What is known of one track in the passage, band by band.
pub(crate) struct Ownership<'a> {
    /// Band edges, low and high, in hertz.
    pub edges_hz: &'a [(f64, f64)],
    /// The track's share of the mix in every band, 0 to 1.
    pub share: &'a [f64],
    /// Mix less reference before the moves, at equal loudness, dB.
    pub before_db: &'a [Option<f64>],
}

/// A sentence for a move of `gain_db`.
pub(crate) fn reason(ownership: &Ownership<'_>, gain_db: f64) -> String {
    let Some((low_hz, high_hz, difference_db)) = strongest_place(ownership) else {
        return "it shows in no band that the reference has".to_owned();
    };
    let place = format!("{}-{}", read_hertz(nice(low_hz)), read_hertz(nice(high_hz)));
    let agrees = difference_db * gain_db < 0.0;
    let side = if difference_db > 0.0 { "over" } else { "under" };
    if agrees && difference_db.abs() >= 0.5 {
        format!(
            "{place}, where it is strongest, is {:.1} dB {side} the reference's at equal loudness",
            difference_db.abs()
        )
    } else if gain_db < 0.0 {
        format!("{place}, where it is strongest, must make room as the rest comes up")
    } else {
        format!("{place}, where it is strongest, must keep up as the rest changes")
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
}
