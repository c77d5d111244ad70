//! What no fader mends: where mix and reference still differ after the balance.

use cupel_compare::Cells;
use serde::{Deserialize, Serialize};

use crate::mix_scene::MixScene;

/// Differences are named from here up (common practice, no source; `max(3 dB, the
/// reference's own spread)` is the usual check).
const NAMED_DB: f64 = 3.0;
/// Bands this far under the strongest of the reference are not spoken of.
const HEARD_RANGE_DB: f64 = 40.0;

/// A band in which the balance leaves a difference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Remains {
    /// Lower edge, hertz.
    pub low_hz: f64,
    /// Upper edge, hertz.
    pub high_hz: f64,
    /// Mix less reference at equal loudness after the balance, dB.
    pub difference_db: f64,
    /// The same before, dB.
    pub before_db: f64,
    /// Id of the track that fills most of the band.
    pub track: String,
    /// Its share of the band, 0 to 1.
    pub share: f64,
    /// Whether other things play there in the reference: then it is the
    /// arrangement, else the sound.
    pub arrangement: bool,
}

/// Mix less reference by band at equal loudness, dB; `None` where the reference
/// has next to nothing.
pub fn band_differences(mix: &Cells, reference: &Cells) -> Vec<Option<f64>> {
    let gain = mix.loudness() / reference.loudness();
    let strongest = (0..reference.layout.bands.len())
        .map(|band| reference.band(band, false))
        .fold(0.0, f64::max);
    let floor = strongest * 10f64.powf(-HEARD_RANGE_DB / 10.0);
    let bands = mix.layout.bands.len().min(reference.layout.bands.len());
    (0..bands)
        .map(|band| {
            let powers = (mix.band(band, false), gain * reference.band(band, false));
            let heard = reference.band(band, false) > floor && powers.0 > 0.0 && gain > 0.0;
            heard.then(|| 10.0 * (powers.0 / powers.1).log10())
        })
        .collect()
}

/// What remains at gains; neighbouring bands of one owner and sign are one.
/// `elsewhere` has the bands (low and high edge) where other things play.
pub fn remains(
    scene: &MixScene,
    reference: &Cells,
    ids: &[&str],
    (before_db, after_db): (&[f64], &[f64]),
    elsewhere: &[(f64, f64)],
) -> Vec<Remains> {
    let before = band_differences(&scene.cells(before_db), reference);
    let after = band_differences(&scene.cells(after_db), reference);
    let gains: Vec<f64> = after_db.iter().map(|g| 10f64.powf(g / 20.0)).collect();
    let layout = &scene.layout;
    let mut parts = vec![0.0; gains.len()];
    let mut found: Vec<Remains> = Vec::new();
    let mut last = None;
    for (band, (before, after)) in before.iter().zip(&after).enumerate() {
        let (Some(before_db), Some(difference_db)) = (*before, *after) else {
            continue;
        };
        if difference_db.abs() < NAMED_DB {
            continue;
        }
        let mut owned = vec![0.0; gains.len()];
        for slot in 0..layout.slots {
            scene
                .scene
                .parts(layout.whole(band, slot), &gains, &mut parts);
            owned
                .iter_mut()
                .zip(&parts)
                .for_each(|(sum, part)| *sum += part);
        }
        let sum: f64 = owned.iter().map(|part| part.max(0.0)).sum();
        let owner = (0..owned.len()).max_by(|&a, &b| owned[a].total_cmp(&owned[b]));
        let Some(owner) = owner.filter(|_| sum > 0.0) else {
            continue;
        };
        let edges = (layout.bands[band].low_hz, layout.bands[band].high_hz);
        let next = Remains {
            low_hz: edges.0,
            high_hz: edges.1,
            difference_db,
            before_db,
            track: ids
                .get(owner)
                .map_or_else(String::new, |id| (*id).to_owned()),
            share: owned[owner].max(0.0) / sum,
            arrangement: elsewhere
                .iter()
                .any(|&(low_hz, high_hz)| low_hz < edges.1 && high_hz > edges.0),
        };
        match found.last_mut() {
            Some(previous)
                if last == Some(band.wrapping_sub(1))
                    && previous.track == next.track
                    && previous.arrangement == next.arrangement
                    && previous.difference_db * next.difference_db > 0.0 =>
            {
                previous.high_hz = next.high_hz;
                if next.difference_db.abs() > previous.difference_db.abs() {
                    previous.difference_db = next.difference_db;
                    previous.before_db = next.before_db;
                    previous.share = next.share;
                }
            }
            _ => found.push(next),
        }
        last = Some(band);
    }
    found.sort_by(|a, b| b.difference_db.abs().total_cmp(&a.difference_db.abs()));
    found
}
