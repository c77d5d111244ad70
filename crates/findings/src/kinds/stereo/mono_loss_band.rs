//! A band of the mix is lost on one loudspeaker.

use crate::evidence::{Evidence, PassageFacts, Powers, ratio_db};
use crate::finding::{Finding, Picture, Sides};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::stereo::width_band::owners;
use crate::say::{band, list};

pub(crate) const KIND: Kind = Kind {
    name: "mono-loss-band",
    family: Family::Stereo,
    title: "a band is lost in mono",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 5.0),
    weight: 0.4,
    brings: &["harsh", "mud"],
    unsure: false,
    measures: "What the mix loses, octave by octave from 120 Hz up, when left and right are \
               folded to one.",
    matters: "Where one octave cancels, the balance on one loudspeaker is another one: sounds \
              that live there step back, and the mix gets hollow.",
    threshold: "Look at 3 dB, mend at 5 dB, unless the reference loses as much there. 3 dB is \
                what two sides lose that have nothing in common (arithmetic); the limits are \
                common practice, no source.",
    mend: "Take wideners, choruses and short delays off the tracks that make the sides there, or \
           bring their sides down.",
    wrong: "When what is lost there is only a room or a pad that nobody misses.",
    hear: "The whole mix through that octave, in stereo and in mono in turn.",
    train: "Listen to one octave at a time through a band filter and switch to mono: say which \
            octave loses most.",
};

const EDGES_HZ: [f64; 8] = [120.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 20000.0];
/// An octave this far under the whole by loudness is not heard as a part of it, dB.
const TOO_SOFT_DB: f64 = -22.0;
/// The reference may lose this much less.
const SPARE_DB: f64 = 2.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let edges = EDGES_HZ.windows(2);
    // The worst octave speaks for its neighbours.
    let worst = edges
        .filter_map(|edge| of_band(evidence, passage, (edge[0], edge[1])))
        .reduce(|worst, next| {
            if next.value > worst.value {
                next
            } else {
                worst
            }
        });
    worst.into_iter().collect()
}

/// What some bands lose in mono, dB.
fn loss_db(passage: &PassageFacts, powers: &Powers, bands: &[usize]) -> f64 {
    let whole = passage.in_bands(&powers.whole, bands);
    let side = passage.in_bands(&powers.side, bands);
    ratio_db(whole, (whole - side).max(1e-4 * whole))
}

fn weighed(passage: &PassageFacts, powers: &[f64], bands: &[usize]) -> f64 {
    let bands = bands.iter();
    let weight = |band: usize| passage.loudness_weights.get(band).copied().unwrap_or(1.0);
    bands
        .map(|&band| passage.band(powers, band) * weight(band))
        .sum()
}

fn of_band(evidence: &Evidence, passage: &PassageFacts, band_hz: (f64, f64)) -> Option<Finding> {
    let bands = passage.bands_within(band_hz.0, band_hz.1);
    let all: Vec<usize> = (0..passage.bands_hz.len()).collect();
    let own = weighed(passage, &passage.mix.whole, &bands);
    let share_db = ratio_db(own, weighed(passage, &passage.mix.whole, &all));
    if own <= 0.0 || share_db < TOO_SOFT_DB {
        return None;
    }
    let value_db = loss_db(passage, &passage.mix, &bands);
    let reference_db = passage
        .reference
        .as_ref()
        .map(|reference| loss_db(passage, reference, &bands));
    let grade = KIND.sizes.grade(value_db)?;
    if reference_db.is_some_and(|reference| value_db < reference + SPARE_DB) {
        return None;
    }
    let owners = owners(passage, &bands, true);
    let names = list(&evidence.names(&owners));
    let place = band(band_hz);
    let beside = reference_db.map_or_else(String::new, |reference| {
        format!("; the reference loses {reference:.1} dB")
    });
    let words =
        format!("{place} loses {value_db:.1} dB on one loudspeaker, most of it {names}{beside}.");
    let curve = |powers: &Powers| -> Vec<(f64, f64)> {
        let bands = 0..passage.bands_hz.len();
        bands
            .map(|band| (passage.centre_hz(band), -loss_db(passage, powers, &[band])))
            .collect()
    };
    Some(
        Finding::new(&KIND, grade, value_db, words)
            .on(evidence.ids(&owners))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(band_hz)
            .against(reference_db.unwrap_or(0.0), "what the reference loses there")
            .mend(format!(
                "Take wideners, choruses and short delays off {names} first; else bring the sides down."
            ))
            .hear("The mix through this octave, in stereo and in mono in turn.")
            .sides(Sides::Mono)
            .picture(Picture::Curve {
                along: "Hz".into(),
                unit: "dB".into(),
                points: curve(&passage.mix),
                against: passage.reference.as_ref().map_or_else(Vec::new, curve),
                mark: Some(band_hz),
            }),
    )
}
