//! What no fader mends: sound or arrangement.

use crate::evidence::{Evidence, RemainsFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "unmended",
    family: Family::Sound,
    title: "a difference that no fader mends",
    cause: Cause::Sound,
    sizes: Sizes::look("dB", 4.0),
    weight: 0.4,
    brings: &[],
    unsure: true,
    measures: "What still differs between mix and reference in a band at equal loudness, after \
               the best balance that faders can reach.",
    matters: "It is of no use to turn faders for it. Either a sound holds more or less there \
              than the reference's, or other things play there.",
    threshold: "4 dB over more than half an octave that the reference fills, only to look at: two \
                sessions of other sounds always differ by some dB in narrow bands (common \
                practice, no source).",
    mend: "Look at the sound that fills the band: another preset, another octave, less of what \
           was added to it. Where other things play in the reference, nothing needs mending.",
    wrong: "When the reference is of another arrangement, or when the difference is the point \
            of your song.",
    hear: "Mix and reference at equal loudness through a filter around the band.",
    train: "Raise one third octave of a mix you know by 6 dB and find out which sound it \
            belongs to.",
};

/// A track that fills less of the band is not named.
const NAMED_SHARE: f64 = 0.4;
/// Bands spoken of at most.
const MOST: usize = 2;
/// Higher and lower bands are read too roughly.
const HEARD_HZ: (f64, f64) = (35.0, 14_000.0);
/// Narrower stretches hold one partial or none, by chance: 0.6 octaves, which no band
/// fills alone.
const NARROWEST: f64 = 1.515;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let print = evidence
        .reference
        .as_ref()
        .is_some_and(|reference| reference.is_print);
    let Some(passage) = evidence.passage.as_ref().filter(|_| !print) else {
        return Vec::new();
    };
    let mut found: Vec<Finding> = stretches(&passage.remains)
        .iter()
        .filter(|remains| is_heard(remains.band_hz))
        .filter_map(|remains| finding(evidence, remains))
        .collect();
    found.sort_by(|a, b| b.value.total_cmp(&a.value));
    found.truncate(MOST);
    found
}

fn is_heard((low_hz, high_hz): (f64, f64)) -> bool {
    let middle_hz = (low_hz.max(20.0) * high_hz).sqrt();
    high_hz >= NARROWEST * low_hz && (HEARD_HZ.0..HEARD_HZ.1).contains(&middle_hz)
}

/// Neighbouring bands of one sign as one, whoever fills them: the mean difference by
/// width.
fn stretches(remains: &[RemainsFacts]) -> Vec<RemainsFacts> {
    let mut bands = remains.to_vec();
    bands.sort_by(|a, b| a.band_hz.0.total_cmp(&b.band_hz.0));
    let mut found: Vec<RemainsFacts> = Vec::new();
    for next in bands {
        match found.last_mut() {
            Some(last)
                if (last.band_hz.1 / next.band_hz.0 - 1.0).abs() < 0.01
                    && last.difference_db * next.difference_db > 0.0 =>
            {
                let [one, other] = [&*last, &next].map(|band| {
                    let (low_hz, high_hz) = band.band_hz;
                    (high_hz / low_hz.max(20.0)).log2()
                });
                let mean = |a: f64, b: f64| (one * a + other * b) / (one + other);
                last.difference_db = mean(last.difference_db, next.difference_db);
                last.before_db = mean(last.before_db, next.before_db);
                last.share = mean(last.share, next.share);
                last.arrangement |= next.arrangement;
                last.track = last.track.filter(|track| next.track == Some(*track));
                last.band_hz.1 = next.band_hz.1;
            }
            _ => found.push(next),
        }
    }
    found
}

fn finding(evidence: &Evidence, remains: &RemainsFacts) -> Option<Finding> {
    let off_db = remains.difference_db;
    let grade = KIND.sizes.grade(off_db.abs())?;
    let (low_hz, high_hz) = remains.band_hz;
    let way = if off_db > 0.0 { "more" } else { "less" };
    let owner = remains.track.filter(|_| remains.share >= NAMED_SHARE);
    let name = owner.map(|track| evidence.names(&[track]).concat());
    let who = match &name {
        Some(name) => format!(
            "; {:.0} percent of the band is {name}",
            100.0 * remains.share
        ),
        None => String::new(),
    };
    let (cause, why, mend) = match (remains.arrangement, &name) {
        (true, _) => (
            Cause::Arrangement,
            "other things play there in the reference",
            "Compare what plays there in both; where it differs on purpose, leave it.".to_owned(),
        ),
        (false, Some(name)) => (
            Cause::Sound,
            "the sound is another one",
            format!(
                "Look at the sound of {name}: another preset or octave, or less of what was added to it."
            ),
        ),
        (false, None) => (
            Cause::Sound,
            "the sounds are others",
            "Look at the sounds that fill the band, before any filter.".to_owned(),
        ),
    };
    let words = format!(
        "After the best balance the mix still has {:.1} dB {way} than the reference from \
         {:.0} to {high_hz:.0} Hz: {why}{who}.",
        off_db.abs(),
        low_hz.max(20.0)
    );
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    Some(
        Finding::new(&KIND, grade, off_db.abs(), words)
            .on(evidence.ids(owner.as_slice()))
            .at(passage_span(evidence))
            .in_band((low_hz.max(20.0), high_hz))
            .in_the_mix()
            .against(0.0, "the reference after the best balance")
            .cause(cause)
            .sure(0.6)
            .mend(mend)
            .hear("Mix and reference in this band, at equal loudness.")
            .picture(Picture::Bars {
                unit: "dB over the reference".into(),
                rows: vec![
                    row("now", remains.before_db, false),
                    row("after the best balance", off_db, true),
                ],
                limit: KIND.sizes.look,
            }),
    )
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{reference, session};

    fn with(difference_db: f64, band_hz: (f64, f64), arrangement: bool) -> Evidence {
        let mut evidence = session(&[Role::Kick, Role::Pad]);
        evidence.reference = Some(reference());
        if let Some(passage) = &mut evidence.passage {
            passage.remains = vec![RemainsFacts {
                band_hz,
                difference_db,
                before_db: difference_db,
                track: Some(1),
                share: 0.7,
                arrangement,
            }];
        }
        evidence
    }

    #[test]
    fn looked_at_from_4_db_on_with_its_cause() {
        let band = (200.0, 400.0);
        assert!(find(&with(3.9, band, false)).is_empty());
        let found = find(&with(-6.1, band, false));
        assert_eq!(
            (found[0].cause, found[0].tracks[0].as_str()),
            (Cause::Sound, "t1")
        );
        assert!(found[0].sentence.contains("6.1 dB less"));
        assert_eq!(find(&with(7.0, band, true))[0].cause, Cause::Arrangement);
    }

    #[test]
    fn narrow_neighbours_of_one_sign_are_one_stretch() {
        let two = |other_db: f64| {
            let mut evidence = with(5.0, (700.0, 900.0), false);
            if let Some(passage) = &mut evidence.passage {
                let mut next = passage.remains[0].clone();
                (next.band_hz, next.difference_db) = ((900.0, 1157.0), other_db);
                next.track = Some(0);
                passage.remains.insert(0, next);
            }
            find(&evidence)
        };
        let found = two(4.0);
        assert_eq!(found[0].band_hz, Some((700.0, 1157.0)));
        assert!((found[0].value - 4.5).abs() < 0.01);
        assert!(found[0].tracks.is_empty());
        assert!(two(-5.0).is_empty());
    }

    #[test]
    fn the_ends_and_a_print_are_not_spoken_of() {
        assert!(find(&with(9.0, (8.0, 37.8), false)).is_empty());
        assert!(find(&with(9.0, (151.0, 178.0), false)).is_empty());
        let mut evidence = with(9.0, (200.0, 400.0), false);
        if let Some(reference) = &mut evidence.reference {
            reference.is_print = true;
        }
        assert!(find(&evidence).is_empty());
    }
}
