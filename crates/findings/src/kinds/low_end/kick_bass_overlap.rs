//! Kick and bass sound at once, in one place.

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::{listed, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "kick-bass-overlap",
    family: Family::LowEnd,
    title: "the bass sounds through the kick",
    cause: Cause::Arrangement,
    sizes: Sizes::look("percent of the hits", 50.0),
    weight: 0.6,
    brings: &[],
    unsure: false,
    measures: "The part of the kick's hits on which the bass, below 150 Hz, is as strong as the \
               kick less 3 dB, or stronger.",
    matters: "Where both sound at once in one place, neither is clear: the kick loses its \
              start, the bass its note, and the sum eats the headroom.",
    threshold: "Half of the hits with the bass no more than 3 dB below the kick, only to look \
                at. One of both owns what lies below 60 Hz, and the bass makes room while the \
                kick sounds (common practice, no source).",
    mend: "Play the bass between the kicks, or start its notes later. If both must sound, let \
           the bass duck while the kick sounds.",
    wrong: "When one long low note is the kick and the bass in one, or when a soft kick over a \
            loud sub is the style.",
    hear: "Solo kick and bass through a low pass at 150 Hz and count the kicks: where the bass \
           runs through them, they are hard to count.",
    train: "Mute the bass on every other kick of a loop, and compare how clear the kick is.",
};

/// The bass stands in the way of the kick from this level on, against the kick.
const IN_THE_WAY_DB: f64 = -3.0;
/// Fewer hits tell nothing.
const LEAST_HITS: usize = 8;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let low_end = &evidence.low_end;
    let hits = low_end.hits.iter().filter(|[kick, ..]| *kick > 0.0).count();
    if hits < LEAST_HITS || low_end.bass.is_empty() {
        return Vec::new();
    }
    let in_the_way = low_end.hits.iter().filter(|[kick, bass, _]| {
        *kick > 0.0 && *bass > 0.0 && ratio_db(*bass, *kick) >= IN_THE_WAY_DB
    });
    let part = 100.0 * in_the_way.count() as f64 / hits as f64;
    let bass = listed(&evidence.names(&low_end.bass));
    let finding = match KIND.sizes.grade(part) {
        Some(grade) => {
            let words = format!(
                "On {part:.0} percent of the kicks the bass ({bass}) is as strong as the kick \
                 below 150 Hz, or stronger: both want one place at one time.",
            );
            Finding::new(&KIND, grade, part, words).mend(format!(
                "Play {bass} between the kicks or start its notes later; if both must sound, \
                 let it duck while the kick sounds."
            ))
        }
        None if part <= 10.0 => {
            let hits = match part > 0.0 {
                true => format!("{:.0} percent of the hits", 100.0 - part),
                false => "every hit".to_owned(),
            };
            let words = format!(
                "The bass leaves room for the kick: below 150 Hz it stays well under it on {hits}."
            );
            Finding::new(&KIND, Grade::Good, part, words)
        }
        None => return Vec::new(),
    };
    let tracks: Vec<usize> = [&low_end.kick[..], &low_end.bass[..]].concat();
    vec![
        finding
            .on(evidence.ids(&tracks))
            .at(passage_span(evidence))
            .in_band((20.0, 150.0))
            .against(50.0, "the bass in the way on half of the hits")
            .hear("Kick and bass alone, below 150 Hz: can every kick be counted?")
            .picture(Picture::Bars {
                unit: "percent of the hits".into(),
                rows: vec![PictureRow {
                    name: "bass in the way".into(),
                    value: part,
                    meant: true,
                }],
                limit: KIND.sizes.look,
            }),
    ]
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::session;

    fn with(hits: Vec<[f64; 3]>) -> Option<Grade> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        evidence.low_end.hits = hits;
        find(&evidence).first().map(|finding| finding.grade)
    }

    #[test]
    fn looked_at_from_half_of_the_hits_on() {
        let mut hits = vec![[1.0, 0.6, 1.6]; 10];
        assert_eq!(with(hits.clone()), Some(Grade::Look));
        hits[..6].fill([1.0, 0.4, 1.4]);
        assert_eq!(with(hits.clone()), None);
        hits.fill([1.0, 0.1, 1.1]);
        assert_eq!(with(hits), Some(Grade::Good));
    }

    #[test]
    fn few_hits_tell_nothing() {
        assert_eq!(with(vec![[1.0, 1.0, 2.0]; 7]), None);
    }
}
