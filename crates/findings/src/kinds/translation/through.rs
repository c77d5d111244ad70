//! What is left of sounds on one small loudspeaker.

use crate::evidence::{Evidence, PassageFacts, Powers, ratio_db};

/// Power by loudness over a frequency, both sides folded to one.
fn folded(passage: &PassageFacts, powers: &Powers, from_hz: f64) -> f64 {
    let bands = passage.bands_within(from_hz, f64::INFINITY);
    let weight = |band: usize| passage.loudness_weights.get(band).copied().unwrap_or(1.0);
    bands
        .iter()
        .map(|&band| {
            let whole = passage.band(&powers.whole, band);
            (whole - passage.band(&powers.side, band)).max(0.0) * weight(band)
        })
        .sum()
}

/// Power by loudness of all of it, in stereo.
pub(super) fn whole(passage: &PassageFacts, powers: &Powers) -> f64 {
    let bands = 0..passage.bands_hz.len();
    let weight = |band: usize| passage.loudness_weights.get(band).copied().unwrap_or(1.0);
    bands
        .map(|band| passage.band(&powers.whole, band) * weight(band))
        .sum()
}

/// Some elements together against the whole mix through a loudspeaker that gives
/// nothing under a frequency, dB; `None` where they are silent.
pub(super) fn level_db(evidence: &Evidence, elements: &[usize], from_hz: f64) -> Option<f64> {
    let passage = evidence.passage.as_ref()?;
    let sum = |measure: &dyn Fn(&Powers) -> f64| -> f64 {
        elements
            .iter()
            .filter_map(|&element| passage.elements.get(element))
            .map(measure)
            .sum()
    };
    let all = whole(passage, &passage.mix);
    let alone = sum(&|powers| whole(passage, powers));
    // What cannot be heard in full either does not fall out here.
    if all <= 0.0 || ratio_db(alone, all) < -20.0 {
        return None;
    }
    let own = sum(&|powers| folded(passage, powers, from_hz));
    let mix = folded(passage, &passage.mix, from_hz);
    Some(ratio_db(own.max(1e-6 * alone), mix))
}
