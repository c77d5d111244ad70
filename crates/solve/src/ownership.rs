//! Whose a band is, and how the bass stands against the kick.

use cupel_barmap::LowPlace;
use cupel_compare::Cells;

use crate::mix_scene::MixScene;

/// A band with less than this part of the track's loudest (-12 dB) is not its home.
const OWN_PART: f64 = 0.06;

/// Bass note against kick, mix less reference, dB.
pub(crate) fn against_kick_db(mix: &Cells, reference: &Cells) -> Option<f64> {
    let relation = |cells: &Cells| {
        let power = |place: LowPlace| cells.powers[cells.layout.low(place)];
        let (note, kick) = power(LowPlace::Note).zip(power(LowPlace::KickBody))?;
        (note > 0.0 && kick > 0.0).then(|| 10.0 * (note / kick).log10())
    };
    Some(relation(mix)? - relation(reference)?)
}

/// A track's share of every band over the bar; 0 where the band holds next to
/// nothing of its loudness.
pub(crate) fn band_shares(scene: &MixScene, gain_db: &[f64], track: usize) -> Vec<f64> {
    let layout = &scene.layout;
    let gain = |t: usize| 10f64.powf(gain_db[t] / 10.0);
    let over_bar = |band: usize, t: usize| -> f64 {
        let cells = (0..layout.slots).map(|slot| layout.whole(band, slot));
        cells.map(|cell| gain(t) * scene.scene.alone(t, cell)).sum()
    };
    let own: Vec<f64> = (0..layout.bands.len())
        .map(|band| over_bar(band, track))
        .collect();
    let loud: Vec<f64> = own
        .iter()
        .zip(layout.band_weights())
        .map(|(p, w)| p * w)
        .collect();
    let loudest = loud.iter().copied().fold(0.0, f64::max);
    (0..layout.bands.len())
        .map(|band| {
            let sum: f64 = (0..gain_db.len()).map(|t| over_bar(band, t)).sum();
            match sum > 0.0 && loud[band] > OWN_PART * loudest {
                true => own[band] / sum,
                false => 0.0,
            }
        })
        .collect()
}
