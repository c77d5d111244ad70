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
    unsure: true,
    measures: "How loud bass line, snare, lead and voice are in the mix when nothing below 400 \
               Hz is left and both sides are folded to one.",
    matters: "A phone gives hardly anything below 400 Hz. What tells the tune and the beat must \
              live above that too, or the track is not known again.",
    threshold: "Look where one of them lies more than 21 dB under the rest, which is 3 dB beyond \
                18 dB; of a bass line a trace is enough, down to 33 dB (common practice, no \
                source). What lies more than 20 dB under the mix in full does not fall out.",
    mend: "Give it something above 500 Hz: an octave, a second layer, a less closed filter. If \
           it is lost in mono only, take the widener off.",
    wrong: "When another element carries the same tune higher up.",
    hear: "The mix through everything above 400 Hz, folded to mono, softly.",
    train: "Play known records through such a filter and hum the tune along.",
};

const FROM_HZ: f64 = 400.0;
const HEARD_DB: f64 = -18.0;
/// Of a bass line a trace is enough there: its overtones.
const TRACE_DB: f64 = -30.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let lines: [(&str, &[Role], f64); 4] = [
        ("bass line", &[Role::Bass, Role::Sub], TRACE_DB),
        ("snare", &[Role::Snare, Role::Clap], HEARD_DB),
        ("lead", &[Role::Lead], HEARD_DB),
        ("voice", &[Role::Voice], HEARD_DB),
    ];
    let found = lines.iter();
    found
        .filter_map(|(name, roles, limit_db)| of_line(evidence, name, roles, *limit_db))
        .collect()
}

fn of_line(evidence: &Evidence, name: &str, roles: &[Role], limit_db: f64) -> Option<Finding> {
    let of_role = |element: &usize| roles.contains(&evidence.elements[*element].role);
    let elements: Vec<usize> = (0..evidence.elements.len()).filter(of_role).collect();
    let level_db = level_db(evidence, &elements, FROM_HZ)?;
    let below_db = limit_db - level_db;
    let grade = KIND.sizes.grade(below_db)?;
    let tracks = tracks(evidence, &elements);
    let names = list(&evidence.names(&tracks));
    let words = format!(
        "On a phone the {name} falls out: with nothing below 400 Hz it lies {:.0} dB under the rest.",
        -level_db
    );
    Some(
        Finding::new(&KIND, grade, below_db, words)
            .on(evidence.ids(&tracks))
            .in_the_mix()
            .of_element(name)
            .at(evidence.passage.iter().map(|p| p.span_s).collect())
            .in_band((FROM_HZ, 20_000.0))
            .against(limit_db, "against the mix on that loudspeaker, dB")
            .mend(format!(
                "Open a filter on {names} or take a widener off; else choose a sound or add a layer with \
                 something above 500 Hz."
            ))
            .hear("Everything above 400 Hz in mono, softly.")
            .sides(Sides::Mono)
            .sure(0.7)
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: vec![PictureRow {
                    name: name.into(),
                    value: level_db,
                    meant: true,
                }],
                limit: Some(limit_db),
            }),
    )
}
