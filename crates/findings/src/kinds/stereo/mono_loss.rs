//! A core element is lost on one loudspeaker.

use crate::evidence::{ElementFacts, Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::stereo::leaning;
use crate::kinds::stereo::width_band::owners;
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "mono-loss",
    family: Family::Stereo,
    title: "a core element is lost in mono",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 5.0),
    weight: 0.55,
    brings: &["mono-loss-band"],
    unsure: false,
    measures: "What kick, snare, hats, bass, lead and voice lose by loudness when left and right \
               are folded to one.",
    matters: "Phones, many small loudspeakers and parts of club systems play one channel. What \
              carries the track must still be there.",
    threshold: "Look at 3 dB, mend at 5 dB. 3 dB is what two sides lose that have nothing in \
                common (arithmetic); the limits are common practice, no source.",
    mend: "Take off wideners, choruses and short delays on it first. If it is made of two takes, \
           keep one in the middle and the other softer at the sides.",
    wrong: "When something else plays the same part in the middle, so that nothing is missed.",
    hear: "Solo the element and switch between stereo and mono: it steps back in mono.",
    train: "Switch a known mix between stereo and mono and name what steps back, one element at \
            a time.",
};

/// Praised up to this loss, dB.
const PRAISED_DB: f64 = 1.5;
/// A track of an element counts by itself from this part of its power on.
const PART: f64 = 0.2;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let mut found = Vec::new();
    for element in evidence.elements.iter().filter(|element| element.core) {
        let Some((loss_db, tracks)) = worst(evidence, element) else {
            continue;
        };
        let heard = element
            .share_db
            .is_none_or(|share| share > leaning::TOO_SOFT_DB - 5.0);
        let Some(grade) = KIND.sizes.grade(loss_db).filter(|_| heard) else {
            continue;
        };
        let names = list(&evidence.names(&tracks));
        let words = if element.tracks.len() == 1 {
            format!(
                "The {} ({names}) loses {loss_db:.1} dB on one loudspeaker.",
                element.name
            )
        } else {
            format!(
                "The {} loses {loss_db:.1} dB on one loudspeaker, because of {names}.",
                element.name
            )
        };
        let words = if element.name.ends_with('s') && element.name != "bass" {
            words.replacen(" loses ", " lose ", 1)
        } else {
            words
        };
        let span_s = evidence.passage.as_ref().map(|passage| passage.span_s);
        found.push(
            Finding::new(&KIND, grade, loss_db, words)
                .on(evidence.ids(&tracks))
                .of_element(&element.name)
                .at(span_s.into_iter().collect())
                .against(3.0, "what two sides lose that have nothing in common, dB")
                .mend(format!(
                    "Take wideners and short delays off {names} first, then look again; else \
                     bring its sides down."
                ))
                .hear(format!(
                    "Solo the {} and switch to mono: it steps back.",
                    element.name
                ))
                .sides(Sides::Mono)
                .picture(Picture::Bars {
                    unit: "dB".into(),
                    rows: vec![PictureRow {
                        name: element.name.clone(),
                        value: -loss_db,
                        meant: true,
                    }],
                    limit: Some(-3.0),
                }),
        );
    }
    if found.is_empty() {
        found.extend(nothing_lost(evidence));
    }
    found
}

/// Praise: no core element loses anything to speak of.
fn nothing_lost(evidence: &Evidence) -> Option<Finding> {
    let core = evidence.elements.iter().filter(|element| element.core);
    let losses: Vec<(&str, f64)> = core
        .filter_map(|element| Some((element.name.as_str(), worst(evidence, element)?.0)))
        .collect();
    let most_db = losses
        .iter()
        .map(|(_, loss_db)| *loss_db)
        .fold(0.0, f64::max);
    if losses.len() < 3 || most_db > PRAISED_DB {
        return None;
    }
    let names: Vec<&str> = losses.iter().map(|(name, _)| *name).collect();
    let words = format!(
        "On one loudspeaker all that carries the track stays: {} lose at most {most_db:.1} dB.",
        list(&names)
    );
    Some(
        Finding::new(&KIND, Grade::Good, most_db, words)
            .against(3.0, "what two sides lose that have nothing in common, dB")
            .hear("The busiest passage in stereo and in mono: nothing steps back.")
            .sides(Sides::Mono),
    )
}

/// What an element loses, dB, and the tracks that make most of its sides; or what one of
/// its tracks loses, where that is more and the track is a real part of it.
fn worst(evidence: &Evidence, element: &ElementFacts) -> Option<(f64, Vec<usize>)> {
    let whole_db = -element.mono_loss_db?;
    let all = (whole_db, wide_tracks(evidence, &element.tracks));
    let Some(passage) = evidence
        .passage
        .as_ref()
        .filter(|_| element.tracks.len() > 1)
    else {
        return Some(all);
    };
    let weighed = |powers: &[f64]| -> f64 {
        let bands = passage.loudness_weights.iter().enumerate();
        bands
            .map(|(band, weight)| passage.band(powers, band) * weight)
            .sum()
    };
    let powers = |track: usize| {
        let own = passage.tracks.get(track)?;
        Some((weighed(&own.whole), weighed(&own.side)))
    };
    let of_tracks = element.tracks.iter().filter_map(|&track| powers(track));
    let sum: f64 = of_tracks.map(|(whole, _)| whole).sum();
    let of_one = element.tracks.iter().filter_map(|&track| {
        let (whole, side) = powers(track)?;
        let loss_db = ratio_db(whole, (whole - side).max(1e-10 * whole));
        (whole > PART * sum).then(|| (loss_db, vec![track]))
    });
    Some(of_one.fold(
        all,
        |worst, next| if next.0 > worst.0 { next } else { worst },
    ))
}

/// Those of the tracks that make most of the sides.
fn wide_tracks(evidence: &Evidence, tracks: &[usize]) -> Vec<usize> {
    let Some(passage) = &evidence.passage else {
        return tracks.to_vec();
    };
    if tracks.len() < 2 {
        return tracks.to_vec();
    }
    let bands: Vec<usize> = (0..passage.bands_hz.len()).collect();
    let mut own = passage.clone();
    own.tracks = tracks
        .iter()
        .map(|&track| passage.tracks[track].clone())
        .collect();
    let widest = owners(&own, &bands, true);
    if widest.is_empty() {
        return tracks.to_vec();
    }
    widest.into_iter().map(|place| tracks[place]).collect()
}
