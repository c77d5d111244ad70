//! An element that is not heard.

use cupel_units::{Group, Role};

use crate::evidence::{ElementFacts, Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::say::{clock, list};

pub(crate) const KIND: Kind = Kind {
    name: "hidden",
    family: Family::Masking,
    title: "an element is not heard",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 1.5, 3.0),
    weight: 0.6,
    brings: &[],
    unsure: false,
    measures: "In every sixteenth in which an element plays, its best band: how far it stands \
               over or under all else there, in the busiest passage. The value is what it lacks \
               to be heard in half of them.",
    matters: "What cannot be heard anywhere in its own band takes up headroom and gives nothing. \
              If it is the lead or the beat, the track has lost what carries it.",
    threshold: "Heard is what lies less than 5.5 dB under the rest in one band, the point at \
                which noise hides a tone (Johnston 1988). Look from 1.5 dB, mend from 3 dB \
                beyond that for kick, snare, hats, bass, lead and voice; others only where they \
                are heard nowhere (common practice, no source).",
    mend: "Lower what covers it, or let the two play at different times or in different octaves. \
           Raise it only after that. Take off what was added to the other in that band before \
           you cut.",
    wrong: "When the element is meant to be felt only, or doubles another one that is heard.",
    hear: "The mix through the band named, at the place named: switch the element off and on, \
           and nothing changes.",
    train: "In a known mix, follow one instrument that is not the lead for a whole minute.",
};

/// Heard down to this under all else in one band, dB.
const HEARD_DB: f64 = -5.5;
/// It plays where it has this much of its loudest sixteenth, dB.
const PLAYS_DB: f64 = -10.0;
/// Bands with less than this part of its loudest band by loudness are not what it is
/// heard by.
const REMAINDER: f64 = 0.01;
/// Part of its sixteenths in which a core element may be covered.
const MAY_BE_COVERED: f64 = 0.5;
/// Core elements heard in this part of their sixteenths are praised.
const PRAISED: f64 = 0.75;
/// Elements that carry nothing by themselves are asked for only over this share, dB.
const SHARE_DB: f64 = -28.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let elements = evidence.elements.iter().enumerate();
    let mut found: Vec<Finding> = elements
        .filter_map(|(place, element)| of_element(evidence, passage, place, element))
        .collect();
    if found.is_empty() {
        found.extend(all_heard(evidence, passage));
    }
    found
}

/// Praise: all that carries the track is heard nearly wherever it plays.
fn all_heard(evidence: &Evidence, passage: &PassageFacts) -> Option<Finding> {
    let elements = evidence.elements.iter().enumerate();
    let parts: Vec<(&str, f64)> = elements
        .filter(|(_, element)| element.core)
        .filter_map(|(place, element)| {
            let slots = slots(passage, place);
            let heard = slots.iter().filter(|slot| slot.over_db >= HEARD_DB).count();
            let part = heard as f64 / slots.len() as f64;
            (!slots.is_empty()).then_some((element.name.as_str(), part))
        })
        .collect();
    let (name, least) = parts
        .iter()
        .copied()
        .reduce(|least, next| if next.1 < least.1 { next } else { least })?;
    if parts.len() < 3 || least < PRAISED {
        return None;
    }
    let names: Vec<&str> = parts.iter().map(|(name, _)| *name).collect();
    let all = list(&names);
    let words = if least > 0.99 {
        format!("What carries the track is heard wherever it plays: {all}.")
    } else {
        format!(
            "What carries the track is heard where it plays: {all}. The {name} is covered most, and still \
             comes through in {:.0} of 100 sixteenths.",
            100.0 * least
        )
    };
    let rows = parts.iter().map(|(name, part)| PictureRow {
        name: (*name).into(),
        value: 100.0 * part,
        meant: false,
    });
    Some(
        Finding::new(&KIND, Grade::Good, 0.0, plural(words, name))
            .at(vec![passage.span_s])
            .against(
                HEARD_DB,
                "under the rest in one band, where noise hides a tone, dB",
            )
            .hear("The busiest passage: follow each of them by itself.")
            .sure(0.8)
            .picture(Picture::Bars {
                unit: "percent".into(),
                rows: rows.collect(),
                limit: Some(100.0 * PRAISED),
            }),
    )
}

/// `are` for names of more than one.
fn plural(words: String, name: &str) -> String {
    if name.ends_with('s') && name != "bass" {
        words
            .replace(&format!("The {name} is "), &format!("The {name} are "))
            .replace(" still comes through", " still come through")
            .replace(" it plays in, even", " they play in, even")
            .replace(": it lacks", ": they lack")
    } else {
        words
    }
}

/// What covers an element most in a sixteenth.
struct Slot {
    slot: usize,
    band: usize,
    over_db: f64,
}

fn of_element(
    evidence: &Evidence,
    passage: &PassageFacts,
    place: usize,
    element: &ElementFacts,
) -> Option<Finding> {
    let mut slots = slots(passage, place);
    if slots.is_empty() {
        return None;
    }
    slots.sort_by(|a, b| a.over_db.total_cmp(&b.over_db));
    let (lacks_db, grade) = if element.core {
        let at = ((slots.len() as f64 * MAY_BE_COVERED) as usize).min(slots.len() - 1);
        let lacks_db = HEARD_DB - slots[at].over_db;
        (lacks_db, KIND.sizes.grade(lacks_db)?)
    } else {
        let may_be_asked = matches!(element.role.group(), Group::Music | Group::Voice)
            && element.role != Role::Mix
            && element.share_db.is_some_and(|share| share > SHARE_DB);
        let lacks_db = HEARD_DB - slots.last()?.over_db;
        if !may_be_asked || lacks_db < KIND.sizes.look? {
            return None;
        }
        (lacks_db, Grade::Look)
    };
    let covered: Vec<&Slot> = slots
        .iter()
        .filter(|slot| slot.over_db < HEARD_DB)
        .collect();
    let by = cover(passage, place, &covered)?;
    let cover = &evidence.elements[by];
    // Where it is nearest to being heard is where to listen.
    let nearest = covered.last()?;
    let band_hz = passage.bands_hz[nearest.band];
    let span_s = span_s(passage, nearest.slot);
    let part = covered.len() as f64 / slots.len() as f64;
    let where_to = if part > 0.95 {
        "nowhere in the passage".to_owned()
    } else {
        format!(
            "not heard in {:.0} of 100 sixteenths it plays in",
            100.0 * part
        )
    };
    let words = format!(
        "{} {} {where_to}, even in the best band, about {:.0} Hz: it lacks {lacks_db:.1} dB there, \
         covered mostly by the {}; listen at {}.",
        capital(&element.name),
        if part > 0.95 { "is heard" } else { "is" },
        passage.centre_hz(nearest.band),
        cover.name,
        clock(span_s.0)
    );
    let words = plural(words, &element.name);
    let mut spans_s: Vec<(f64, f64)> = vec![span_s];
    let others = covered.iter().filter(|slot| slot.slot != nearest.slot);
    spans_s.extend(others.map(|slot| self::span_s(passage, slot.slot)));
    Some(
        Finding::new(&KIND, grade, lacks_db, words)
            .on(evidence.ids(&element.tracks))
            .in_the_mix()
            .of_element(&element.name)
            .at(spans_s)
            .in_band((band_hz.0.max(20.0), band_hz.1))
            .against(
                HEARD_DB,
                "under the rest in one band, where noise hides a tone, dB",
            )
            .mend(format!(
                "Lower the {} or let it leave room there; else raise the {} by about {:.0} dB.",
                cover.name,
                element.name,
                lacks_db.ceil()
            ))
            .hear(format!(
                "The mix in this band at {}: switch the {} off and on, and little changes.",
                clock(span_s.0),
                element.name
            ))
            .sure(if element.core { 0.8 } else { 0.65 })
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: vec![PictureRow {
                    name: element.name.clone(),
                    value: HEARD_DB - lacks_db,
                    meant: true,
                }],
                limit: Some(HEARD_DB),
            }),
    )
}

/// The sixteenths an element plays in, each with the band in which it stands best.
fn slots(passage: &PassageFacts, place: usize) -> Vec<Slot> {
    let Some(own) = passage.elements.get(place) else {
        return Vec::new();
    };
    let bands: Vec<usize> = (0..passage.bands_hz.len()).collect();
    let of_slot = |slot: usize| passage.in_slot(&own.whole, &bands, slot);
    let loudest = (0..passage.slots).map(of_slot).fold(0.0, f64::max);
    if loudest < 1e-12 {
        return Vec::new();
    }
    let least = loudest * 10f64.powf(PLAYS_DB / 10.0);
    let plays = (0..passage.slots).filter(|&slot| of_slot(slot) >= least);
    plays
        .filter_map(|slot| {
            let own_in = |band: usize| own.whole[band * passage.slots + slot];
            let weight = |band: usize| passage.loudness_weights.get(band).copied().unwrap_or(1.0);
            let by_loudness = |band: usize| own_in(band) * weight(band);
            let most = bands
                .iter()
                .map(|&band| by_loudness(band))
                .fold(0.0, f64::max);
            // A mere remainder in an empty band is nothing to be heard by.
            let real = bands
                .iter()
                .filter(|&&band| by_loudness(band) > REMAINDER * most);
            let over = |&band: &usize| {
                let alone = own_in(band);
                let mix = passage.mix.whole[band * passage.slots + slot];
                let over_db = ratio_db(alone, (mix - alone).max(1e-3 * alone));
                Slot {
                    slot,
                    band,
                    over_db,
                }
            };
            real.map(over).reduce(|best, next| {
                if next.over_db > best.over_db {
                    next
                } else {
                    best
                }
            })
        })
        .collect()
}

/// The element that is strongest where this one is covered.
fn cover(passage: &PassageFacts, place: usize, covered: &[&Slot]) -> Option<usize> {
    let strength = |other: usize| -> f64 {
        let cells = covered.iter();
        let share = |slot: &&Slot| {
            let cell = slot.band * passage.slots + slot.slot;
            let mix = passage.mix.whole[cell];
            if mix > 0.0 {
                passage.elements[other].whole[cell] / mix
            } else {
                0.0
            }
        };
        cells.map(share).sum()
    };
    let others = (0..passage.elements.len()).filter(|&other| other != place);
    others
        .map(|other| (other, strength(other)))
        .reduce(|best, next| if next.1 > best.1 { next } else { best })
        .filter(|(_, strength)| *strength > 0.0)
        .map(|(other, _)| other)
}

/// A sixteenth in the first bar of the passage.
fn span_s(passage: &PassageFacts, slot: usize) -> (f64, f64) {
    let step_s = passage.bar_s / passage.slots.max(1) as f64;
    let start_s = passage.span_s.0 + step_s * slot as f64;
    (start_s, start_s + step_s)
}

fn capital(name: &str) -> String {
    format!("The {name}")
}
