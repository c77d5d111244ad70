//! The whole mix leans to one side.

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::stereo::leaning;
use crate::say::{list, side};

pub(crate) const KIND: Kind = Kind {
    name: "mix-lean",
    family: Family::Stereo,
    title: "the mix leans to one side",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 1.5, 3.0),
    weight: 0.6,
    brings: &[],
    unsure: false,
    measures: "The power of the right channel against the left, by loudness, of the sum of all \
               tracks in the busiest passage.",
    matters: "A mix that leans feels unsteady on headphones, wastes headroom on one side, and is \
              heard as a fault of the loudspeakers by everybody else.",
    threshold: "Look at 1.5 dB, mend at 3 dB. In student mixes the two sides differed by 8.8 \
                percent of their power on average, which is 0.8 dB (De Man and others, ISMIR \
                2014); the limits are common practice, no source.",
    mend: "Find what pulls it over and put that back, or place something equal on the other \
           side. If everything leans alike, look for a balance control or a one-sided effect on \
           the sum.",
    wrong: "When only a short stretch is measured in which something at one side answers what \
            plays at the other side later.",
    hear: "Listen to the whole mix on headphones with closed eyes: where is the middle? Swap \
           left and right, and compare.",
    train: "Mix a known record 1, 2 and 3 dB to one side without looking, and say which side it \
            is.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let [left, right] = leaning::weighed(&passage.mix_sides, &passage.loudness_weights);
    if left + right <= 0.0 {
        return Vec::new();
    }
    let lean_db = ratio_db(right, left);
    let way = side(lean_db);
    let off_db = lean_db.abs();
    let picture = Picture::Beam {
        lean_db,
        limit_db: 1.5,
    };
    let finding = match KIND.sizes.grade(off_db) {
        None => {
            let words = format!("Left and right are level: the mix is within {off_db:.1} dB.");
            Finding::new(&KIND, Grade::Good, off_db, words)
        }
        Some(grade) => {
            let alike_db = leaning::common_db(evidence);
            let everything = alike_db.abs() > 1.0 && alike_db * lean_db > 0.0;
            let owners = if everything {
                Vec::new()
            } else {
                owners(evidence, lean_db)
            };
            let names = list(&evidence.names(&owners));
            let why = if everything || owners.is_empty() {
                ", and all elements lean alike".to_owned()
            } else {
                format!(", most of it from {names}")
            };
            let words = format!("The mix leans {off_db:.1} dB to the {way}{why}.");
            let mend = if everything || owners.is_empty() {
                "Look for a balance control or a one-sided effect on the sum, and set it back."
                    .into()
            } else {
                format!("Bring {names} back to the middle, or give it an equal on the other side.")
            };
            Finding::new(&KIND, grade, off_db, words)
                .on(evidence.ids(&owners))
                .in_the_mix()
                .mend(mend)
                .at(vec![passage.span_s])
        }
    };
    vec![
        finding
            .against(1.5, "level within this many dB")
            .hear("The whole mix on headphones: point at its middle.")
            .picture(picture),
    ]
}

/// The tracks that make most of what one side has more, the strongest first.
fn owners(evidence: &Evidence, lean_db: f64) -> Vec<usize> {
    let pull = |track: usize| {
        let [left, right] = leaning::track_channels(evidence, track);
        (right - left) * lean_db.signum()
    };
    let mut tracks: Vec<(usize, f64)> = (0..evidence.tracks.len())
        .map(|track| (track, pull(track)))
        .filter(|(_, pull)| *pull > 0.0)
        .collect();
    tracks.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let all: f64 = tracks.iter().map(|(_, pull)| pull).sum();
    let mut sum = 0.0;
    tracks
        .into_iter()
        .take(4)
        .take_while(|(_, pull)| {
            let wanted = sum < 0.8 * all && *pull > 0.1 * all;
            sum += pull;
            wanted
        })
        .map(|(track, _)| track)
        .collect()
}
