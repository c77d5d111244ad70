//! Left and right work against each other.

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::stereo::leaning;

pub(crate) const KIND: Kind = Kind {
    name: "negative-correlation",
    family: Family::Stereo,
    title: "left and right work against each other",
    cause: Cause::Mix,
    sizes: Sizes::both("below zero", 0.0, 0.3),
    weight: 0.55,
    brings: &["mono-loss", "mono-loss-band", "width-band"],
    unsure: false,
    measures: "How alike left and right are, from 1 (the same) over 0 (nothing in common) to -1 \
               (one is the other upside down), of the mix and of every track that matters in it.",
    matters: "Below zero the two sides cancel more than they add. On one loudspeaker the sound \
              gets thin or is lost, and on two it has no place.",
    threshold: "Look below 0, mend below -0.3. At 0 a fold to mono loses 3 dB, at -0.5 already 6 \
                dB (arithmetic); the limits are common practice, no source.",
    mend: "Take off wideners and very short delays first. If the sound itself is made so, turn \
           the polarity of one side, or bring its sides down.",
    wrong: "When a wide pad or a room is meant to be heard only at the sides and nothing is \
            missed when it is gone.",
    hear: "Solo it and fold to mono: it gets much softer or thinner. On two loudspeakers it \
           seems to come from beside or behind you.",
    train: "Turn the polarity of one channel of a known stereo track and listen how it loses its \
            place; do it at random until you always know.",
};

/// Less than this below zero is chance.
const CHANCE: f64 = 0.03;
/// Tracks this far under the mix by loudness do not matter, dB.
const TOO_SOFT_DB: f64 = -22.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let mut found = Vec::new();
    let of_mix = evidence.mix.as_ref().and_then(|mix| {
        let summary = mix.in_passage.as_ref().unwrap_or(&mix.summary);
        summary.correlation
    });
    let whole = matters(evidence);
    for (track, facts) in evidence.tracks.iter().enumerate() {
        if !whole[track] {
            continue;
        }
        if let Some(correlation) = correlation(facts) {
            found.extend(of_one(evidence, Some(track), correlation));
        }
    }
    if let Some(correlation) = of_mix {
        found.extend(of_one(evidence, None, correlation));
    }
    found
}

fn correlation(facts: &TrackFacts) -> Option<f64> {
    let in_passage = facts.in_passage.as_ref().and_then(|own| own.correlation);
    // The milder of the two: a stretch of few notes may be odd by chance.
    match (in_passage, facts.file.summary.correlation) {
        (Some(a), Some(b)) => Some(a.max(b)),
        (a, b) => a.or(b),
    }
}

/// Which tracks are loud enough in the passage; without one, all of them are.
fn matters(evidence: &Evidence) -> Vec<bool> {
    let Some(passage) = &evidence.passage else {
        return vec![true; evidence.tracks.len()];
    };
    let all = leaning::weighed(&passage.mix_sides, &passage.loudness_weights);
    let least = (all[0] + all[1]) * 10f64.powf(TOO_SOFT_DB / 10.0);
    let tracks = 0..evidence.tracks.len();
    tracks
        .map(|track| {
            let [left, right] = leaning::track_channels(evidence, track);
            left + right > least
        })
        .collect()
}

fn of_one(evidence: &Evidence, track: Option<usize>, correlation: f64) -> Option<Finding> {
    let below = -correlation;
    if below < CHANCE {
        return None;
    }
    let grade = KIND.sizes.grade(below)?;
    let tracks: Vec<usize> = track.into_iter().collect();
    let names = evidence.names(&tracks);
    let name = names.first().map_or("the mix", |name| *name);
    let begins = track.map_or("In the mix", |_| "In");
    let of = track.map_or_else(String::new, |_| format!(" {name}"));
    // What a fold to mono loses where both sides are equally loud.
    let loss_db = -10.0 * (0.5 * (1.0 + correlation)).max(1e-6).log10();
    let words = format!(
        "{begins}{of} left and right work against each other (correlation {correlation:.2}): \
         folded to mono it loses about {loss_db:.0} dB."
    );
    let span_s = evidence.passage.as_ref().map(|passage| passage.span_s);
    Some(
        Finding::new(&KIND, grade, below, words)
            .on(evidence.ids(&tracks))
            .at(span_s.into_iter().collect())
            .against(0.0, "left and right have nothing in common at 0")
            .mend(format!(
                "Take a widener or a short delay off {name}; if there is none, turn the polarity \
                 of one side or bring the sides down."
            ))
            .hear("Fold it to mono: it gets softer and thinner than in stereo.")
            .sides(Sides::Mono)
            .picture(Picture::Bars {
                unit: "correlation".into(),
                rows: vec![PictureRow {
                    name: name.into(),
                    value: correlation,
                    meant: true,
                }],
                limit: Some(0.0),
            }),
    )
}
