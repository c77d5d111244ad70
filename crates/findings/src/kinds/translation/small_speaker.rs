//! What falls out on a small loudspeaker.

use cupel_units::Role;

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::translation::through::level_db;
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "small-speaker",
    family: Family::Translation,
    title: "falls out on a small loudspeaker",
    cause: Cause::Sound,
    sizes: Sizes::look("dB", 3.0),
    weight: 0.35,
    brings: &["phone"],
    unsure: true,
    measures: "How loud kick, bass line, snare, lead and voice are in the mix when nothing below \
               180 Hz is left and both sides are folded to one.",
    matters: "Most people first hear a track on something small. A bass line made of nothing but \
              its fundamental is simply gone there, and with it the tune.",
    threshold: "Look where an element lies more than 21 dB under the rest, which is 3 dB beyond \
                18 dB; small loudspeakers give little below 150 to 200 Hz (common practice, no \
                source). What lies more than 20 dB under the mix in full does not fall out.",
    mend: "Choose or layer a sound that has something between 200 Hz and 1 kHz; a little drive \
           makes such overtones too. Raising its fader does not help, since nothing of it is in \
           reach.",
    wrong: "When a pure sub is the style, for loud places only, and another line carries the \
            tune.",
    hear: "The mix through everything above 180 Hz, folded to mono: is the element still there, \
           or gone.",
    train: "Play known records through such a filter and name the notes of the bass.",
};

const FROM_HZ: f64 = 180.0;
/// Down to this an element still counts as heard, dB under the mix.
const HEARD_DB: f64 = -18.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let lines: [(&str, &[Role]); 5] = [
        ("kick", &[Role::Kick]),
        ("bass line", &[Role::Bass, Role::Sub]),
        ("snare", &[Role::Snare, Role::Clap]),
        ("lead", &[Role::Lead]),
        ("voice", &[Role::Voice]),
    ];
    let levels: Vec<(&str, Vec<usize>, f64)> = lines
        .iter()
        .filter_map(|(name, roles)| {
            let of_role = |element: &usize| roles.contains(&evidence.elements[*element].role);
            let elements: Vec<usize> = (0..evidence.elements.len()).filter(of_role).collect();
            let level_db = level_db(evidence, &elements, FROM_HZ)?;
            Some((*name, elements, level_db))
        })
        .collect();
    let rows = |meant: &str| {
        let row = |(name, _, level_db): &(&str, Vec<usize>, f64)| PictureRow {
            name: (*name).into(),
            value: *level_db,
            meant: *name == meant,
        };
        levels.iter().map(row).collect::<Vec<_>>()
    };
    levels
        .iter()
        .filter_map(|(name, elements, level_db)| {
            let below_db = HEARD_DB - level_db;
            let grade = KIND.sizes.grade(below_db)?;
            let tracks = tracks(evidence, elements);
            let words = format!(
                "On a small loudspeaker the {name} falls out: with nothing below 180 Hz it lies \
                 {:.0} dB under the rest.",
                -level_db
            );
            let names = list(&evidence.names(&tracks));
            Some(
                Finding::new(&KIND, grade, below_db, words)
                    .on(evidence.ids(&tracks))
                    .in_the_mix()
                    .of_element(*name)
                    .at(evidence.passage.iter().map(|p| p.span_s).collect())
                    .in_band((FROM_HZ, 20_000.0))
                    .against(HEARD_DB, "against the mix on that loudspeaker, dB")
                    .mend(format!(
                        "See whether a filter or a fold to mono takes the middle off {names}; else layer a \
                         sound with overtones between 200 Hz and 1 kHz."
                    ))
                    .hear(format!(
                        "Everything above 180 Hz in mono: is the {name} still there?"
                    ))
                    .sides(Sides::Mono)
                    .sure(0.75)
                    .picture(Picture::Bars {
                        unit: "dB".into(),
                        rows: rows(name),
                        limit: Some(HEARD_DB),
                    }),
            )
        })
        .collect()
}

/// The tracks of some elements, the loudest first, those that make nothing left out.
pub(super) fn tracks(evidence: &Evidence, elements: &[usize]) -> Vec<usize> {
    let of_elements = elements
        .iter()
        .flat_map(|&element| evidence.elements[element].tracks.iter().copied());
    let Some(passage) = &evidence.passage else {
        return of_elements.collect();
    };
    let power = |track: usize| {
        let known = passage.tracks.get(track);
        known.map_or(0.0, |powers| super::through::whole(passage, powers))
    };
    let mut tracks: Vec<(usize, f64)> = of_elements.map(|track| (track, power(track))).collect();
    tracks.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let most = tracks.first().map_or(0.0, |(_, power)| *power);
    tracks.retain(|(_, power)| ratio_db(*power, most) > -15.0);
    tracks.into_iter().map(|(track, _)| track).collect()
}
