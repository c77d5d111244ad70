//! The lows are wide.

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, Sides};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::{listed, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "wide-lows",
    family: Family::LowEnd,
    title: "the lows are wide",
    cause: Cause::Sound,
    sizes: Sizes::both("dB", -12.0, -6.0),
    weight: 0.7,
    brings: &[
        "lows-off-centre",
        "width-band",
        "negative-correlation",
        "mono-loss",
        "mono-loss-band",
    ],
    unsure: false,
    measures: "Below 120 Hz, the power of what differs between left and right against that of \
               what both share.",
    matters: "On a club system and on small speakers the lows are played from one place. What \
              differs between the sides there is lost, and the low end changes from room to \
              room.",
    threshold: "-12 dB to look at, -6 dB to mend (common practice, no source). Systems that \
                pan by rule keep lows centred below 200 Hz (Perez-Gonzalez and Reiss, 2010; \
                Mansbridge and others, 2012).",
    mend: "Take off what widens the low sound: chorus, unison, a stereo delay or a wide room. \
           If its highs should stay wide, split it: lows to the middle, highs as they are.",
    wrong: "When the wide part is so soft in the low end that nobody hears it, or when the \
            reference is as wide there on purpose.",
    hear: "Listen to the difference of left and right through a low pass at 120 Hz: what still \
           rumbles there is lost in mono.",
    train: "Widen a bass with a chorus and switch mono on and off: the low note comes and goes.",
};

/// What counts as low.
const LOW_HZ: f64 = 120.0;
/// Lows this far below the whole mix do not matter, dB.
const LEAST_SHARE_DB: f64 = -25.0;
/// With this part of the side explained by sounds that only stand aside, it is no
/// width: what is panned has findings of its own.
const LEANING_PART: f64 = 0.5;
/// A track owns the wide part with this share of the side.
const OWNER_SHARE: f64 = 0.25;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let bands = passage.bands_within(0.0, LOW_HZ);
    let all: Vec<usize> = (0..passage.bands_hz.len()).collect();
    let low = passage.in_bands(&passage.mix.whole, &bands);
    let side = passage.in_bands(&passage.mix.side, &bands);
    let whole = passage.in_bands(&passage.mix.whole, &all);
    if low <= 0.0 || ratio_db(low, whole) < LEAST_SHARE_DB {
        return Vec::new();
    }
    let width_db = ratio_db(side, low - side);
    let Some(grade) = KIND.sizes.grade(width_db) else {
        return good(evidence, width_db);
    };
    if side_of_leaning(passage, &bands) > LEANING_PART * side {
        return Vec::new();
    }
    let reference_db = passage.reference.as_ref().map(|reference| {
        let side = passage.in_bands(&reference.side, &bands);
        ratio_db(side, passage.in_bands(&reference.whole, &bands) - side)
    });
    // As wide as the reference: it may be meant.
    let grade = match reference_db {
        Some(reference_db) if reference_db >= width_db - 3.0 => Grade::Look,
        _ => grade,
    };
    let owners = owners(passage, &bands);
    let who = match owners.is_empty() {
        true => "the mix".to_owned(),
        false => listed(&evidence.names(&owners)),
    };
    let words = format!(
        "The lows are wide: below 120 Hz what differs between left and right is only {:.0} dB \
         below what they share, most of it from {who}.",
        -width_db.min(0.0)
    );
    let words = match width_db > 0.0 {
        true => format!(
            "The lows are wide: below 120 Hz more differs between left and right than they \
             share ({width_db:+.0} dB), most of it from {who}."
        ),
        false => words,
    };
    let mut finding = Finding::new(&KIND, grade, width_db, words)
        .on(evidence.ids(&owners))
        .at(passage_span(evidence))
        .in_band((20.0, LOW_HZ))
        .against(-12.0, "lows are kept to the middle")
        .sides(Sides::Difference)
        .mend(format!(
            "Take off what widens {who} in the lows (chorus, unison, stereo delay, room), or \
             fold it to mono below 120 Hz."
        ))
        .hear("Only the difference of left and right, below 120 Hz: it should be nearly silent.")
        .picture(curve(passage));
    // A value that is worse the nearer it comes to zero.
    finding.weight = KIND.weight * if grade == Grade::Mend { 1.2 } else { 0.4 };
    vec![finding]
}

fn good(evidence: &Evidence, width_db: f64) -> Vec<Finding> {
    let stereo = evidence.mix.as_ref().and_then(|mix| mix.summary.width_db);
    if width_db > -15.0 || stereo.is_none() {
        return Vec::new();
    }
    let words = format!(
        "The lows are in the middle: below 120 Hz the sides hold {:.0} dB less than the middle.",
        -width_db
    );
    vec![
        Finding::new(&KIND, Grade::Good, width_db, words)
            .in_band((20.0, LOW_HZ))
            .against(-12.0, "lows are kept to the middle")
            .sides(Sides::Difference),
    ]
}

/// Side power that the tracks have because they stand aside, were each one sound: half
/// the difference of the heights of left and right, squared.
fn side_of_leaning(passage: &PassageFacts, bands: &[usize]) -> f64 {
    let of_track = |track: &Vec<[f64; 2]>| -> f64 {
        let sides = bands.iter().filter_map(|&band| track.get(band));
        sides
            .map(|[left, right]| (0.5 * (left.sqrt() - right.sqrt())).powi(2))
            .sum()
    };
    passage.track_sides.iter().map(of_track).sum()
}

/// The tracks with most of the side, the largest first.
fn owners(passage: &PassageFacts, bands: &[usize]) -> Vec<usize> {
    let sides: Vec<f64> = passage
        .tracks
        .iter()
        .map(|track| passage.in_bands(&track.side, bands))
        .collect();
    let all: f64 = sides.iter().sum();
    let mut owners: Vec<usize> = (0..sides.len())
        .filter(|&track| all > 0.0 && sides[track] >= OWNER_SHARE * all)
        .collect();
    owners.sort_by(|&a, &b| sides[b].total_cmp(&sides[a]).then(a.cmp(&b)));
    owners
}

/// Side over middle by band.
fn curve(passage: &PassageFacts) -> Picture {
    let point = |band: usize| {
        let side = passage.band(&passage.mix.side, band);
        let middle = passage.band(&passage.mix.whole, band) - side;
        (middle > 0.0).then(|| (passage.centre_hz(band), ratio_db(side, middle).max(-40.0)))
    };
    Picture::Curve {
        along: "Hz".into(),
        unit: "dB".into(),
        points: (0..passage.bands_hz.len()).filter_map(point).collect(),
        against: vec![(20.0, -12.0), (LOW_HZ, -12.0)],
        mark: Some((20.0, LOW_HZ)),
    }
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{add, session};

    const ALL: [usize; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15];

    /// A narrow kick and a bass with so much side over its middle, alone in the lows.
    fn with(side_over_mid_db: f64) -> Evidence {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let part = 10f64.powf(side_over_mid_db / 10.0);
        let side = part / (1.0 + part);
        add(&mut evidence, 1, (20.0, 300.0), &ALL, ([1.0, 1.0], side));
        evidence
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        let grade = |db: f64| find(&with(db)).first().map(|f| f.grade);
        assert_eq!(grade(-5.8), Some(Grade::Mend));
        assert_eq!(grade(-6.2), Some(Grade::Look));
        assert_eq!(grade(-11.8), Some(Grade::Look));
        assert_eq!(grade(-12.2), None);
        assert_eq!(grade(-30.0), Some(Grade::Good));
        assert_eq!(find(&with(-5.0))[0].tracks, ["t1"]);
    }

    #[test]
    fn a_wide_pad_whose_lows_do_not_matter_is_no_fault() {
        let mut evidence = session(&[Role::Kick, Role::Pad]);
        add(&mut evidence, 0, (20.0, 110.0), &ALL, ([1.0, 1.0], 0.0));
        add(&mut evidence, 1, (20.0, 8000.0), &ALL, ([0.02, 0.02], 0.01));
        assert!(find(&evidence).iter().all(|f| f.grade == Grade::Good));
    }

    #[test]
    fn a_bass_that_only_stands_aside_is_not_wide() {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        // One sound, 12 dB louder on the left: side (1 - 0.25)^2 / 4.
        let side = 0.25 * 0.75f64.powi(2);
        let sides = [1.0, 0.0625];
        add(&mut evidence, 1, (20.0, 300.0), &ALL, (sides, side));
        assert!(find(&evidence).is_empty());
    }

    #[test]
    fn as_wide_as_the_reference_is_only_looked_at() {
        let mut evidence = with(-4.0);
        if let Some(passage) = &mut evidence.passage {
            passage.reference = Some(passage.mix.clone());
        }
        assert_eq!(find(&evidence)[0].grade, Grade::Look);
    }
}
