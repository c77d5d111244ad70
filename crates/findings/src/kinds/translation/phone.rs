//! What is lost on a phone.

use cupel_units::Role;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::translation::small_speaker::tracks;
use crate::kinds::translation::through::level_db;
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "phone",
    family: Family::Translation,
    title: "falls out on a phone",
    cause: Cause::Sound,
    sizes: Sizes::look("dB", 3.0),
    weight: 0.25,
    brings: &[],
    unsure: false,
    measures: "How loud snare, lead and voice are in the mix when nothing below 400 Hz is left and both \
               sides are folded to one.",
    matters: "A phone gives hardly anything below 400 Hz. What tells the tune and the beat must live above \
              that too, or the track is not known again.",
    threshold: "Look where one of them lies more than 21 dB under the rest, which is 3 dB beyond 18 dB \
                (common practice, no source).",
    mend: "Give it something above 500 Hz: an octave, a second layer, a less closed filter. If it is lost \
           in mono only, take the widener off.",
    wrong: "When another element carries the same tune higher up.",
    hear: "The mix through everything above 400 Hz, folded to mono, softly.",
    train: "Play known records through such a filter and hum the tune along.",
};

const FROM_HZ: f64 = 400.0;
const HEARD_DB: f64 = -18.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let asked = |role: Role| matches!(role, Role::Snare | Role::Clap | Role::Lead | Role::Voice);
    let elements = evidence.elements.iter().enumerate();
    elements
        .filter(|(_, element)| asked(element.role))
        .filter_map(|(place, element)| {
            let level_db = level_db(evidence, &[place], FROM_HZ)?;
            let below_db = HEARD_DB - level_db;
            let grade = KIND.sizes.grade(below_db)?;
            let tracks = tracks(evidence, &[place]);
            let names = list(&evidence.names(&tracks));
            let words = format!(
                "On a phone the {} falls out: with nothing below 400 Hz it lies {:.0} dB under the rest.",
                element.name, -level_db
            );
            Some(
                Finding::new(&KIND, grade, below_db, words)
                    .on(evidence.ids(&tracks))
                    .in_the_mix()
                    .of_element(&element.name)
                    .at(evidence.passage.iter().map(|p| p.span_s).collect())
                    .in_band((FROM_HZ, 20_000.0))
                    .against(HEARD_DB, "against the mix on that loudspeaker, dB")
                    .mend(format!(
                        "Open a filter on {names} or take a widener off; else add a layer above 500 Hz."
                    ))
                    .hear("Everything above 400 Hz in mono, softly.")
                    .sides(Sides::Mono)
                    .sure(0.7)
                    .picture(Picture::Bars {
                        unit: "dB".into(),
                        rows: vec![PictureRow {
                            name: element.name.clone(),
                            value: level_db,
                            meant: true,
                        }],
                        limit: Some(HEARD_DB),
                    }),
            )
        })
        .collect()
}
