//! Bands that differ because other things play: no matter of mixing.

use serde::{Deserialize, Serialize};

use crate::compare::{LayerPair, Verdict};
use crate::layer::Layer;

/// A band in which the arrangement differs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ArrangementBand {
    /// Low edge, Hz.
    pub low_hz: f64,
    /// High edge, Hz.
    pub high_hz: f64,
    /// Indices of the pairs it comes from.
    pub pairs: Vec<usize>,
    /// In words.
    pub words: String,
}

/// Less sure pairs mark nothing; at 0.7 every second band was wrong in trials.
const SURE: f64 = 0.8;
/// Layers this far under the loudest are no reason for a difference.
const RANGE_DB: f64 = -20.0;
/// No band is wider than this, in octaves.
const WIDEST: f64 = 2.0;
/// Share of a band that a shared layer must fill to take it away.
const FILLED: f64 = 0.7;

/// Bands whose difference is arrangement: those of missing, extra and different
/// layers that are sure enough and within 20 dB of the loudest, less those that a
/// layer which both have fills as loudly. A layer wider than two octaves marks the
/// two about its middle. Bands of different layers stay apart, unless they are
/// nearly the same; in rising order.
pub fn arrangement_bands(
    pairs: &[LayerPair],
    session: &[Layer],
    reference: &[Layer],
) -> Vec<ArrangementBand> {
    let layers = |pair: &LayerPair| {
        let own = pair.session.and_then(|s| session.get(s));
        let other = pair.reference.and_then(|r| reference.get(r));
        [own, other]
    };
    // what both have, as loud as the softer one
    let shared: Vec<((f64, f64), f64)> = pairs
        .iter()
        .filter(|pair| pair.verdict == Verdict::Shared)
        .filter_map(|pair| match layers(pair) {
            [Some(own), Some(other)] => Some((
                common(own.band_hz, other.band_hz),
                own.level_db.min(other.level_db),
            )),
            _ => None,
        })
        .collect();
    let mut bands: Vec<ArrangementBand> = Vec::new();
    for (index, pair) in pairs.iter().enumerate() {
        if pair.verdict == Verdict::Shared || pair.sure < SURE {
            continue;
        }
        for layer in layers(pair).into_iter().flatten() {
            let band = narrowed(layer.band_hz);
            let filled = shared.iter().any(|&(other, level_db)| {
                level_db >= layer.level_db && octaves(common(band, other)) >= FILLED * octaves(band)
            });
            if layer.level_db >= RANGE_DB && !filled {
                bands.push(ArrangementBand {
                    low_hz: band.0,
                    high_hz: band.1,
                    pairs: vec![index],
                    words: pair.words.clone(),
                });
            }
        }
    }
    joined(bands)
}

/// Joins bands that have most of each in common, as long as the whole stays within
/// two octaves.
fn joined(mut bands: Vec<ArrangementBand>) -> Vec<ArrangementBand> {
    bands.sort_by(|a, b| (a.low_hz.total_cmp(&b.low_hz)).then(a.high_hz.total_cmp(&b.high_hz)));
    let mut joined: Vec<ArrangementBand> = Vec::new();
    for band in bands {
        let edges = (band.low_hz, band.high_hz);
        let into = joined.iter_mut().find(|other| {
            let its = (other.low_hz, other.high_hz);
            let both = octaves(common(edges, its));
            let whole = octaves((its.0.min(edges.0), its.1.max(edges.1)));
            both >= FILLED * octaves(edges).max(octaves(its)) && whole <= WIDEST + 1e-9
        });
        let Some(other) = into else {
            joined.push(band);
            continue;
        };
        other.low_hz = other.low_hz.min(band.low_hz);
        other.high_hz = other.high_hz.max(band.high_hz);
        if !other.pairs.contains(&band.pairs[0]) {
            other.words = format!("{}; {}", other.words, band.words);
            other.pairs.extend(band.pairs);
        }
    }
    joined
}

fn octaves((low, high): (f64, f64)) -> f64 {
    if high > low { (high / low).log2() } else { 0.0 }
}

fn common(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0.max(other.0), one.1.min(other.1))
}

/// The band, or the two octaves about its middle.
fn narrowed(band: (f64, f64)) -> (f64, f64) {
    if octaves(band) <= WIDEST {
        return band;
    }
    let middle = (band.0 * band.1).sqrt();
    let half = 2f64.powf(0.5 * WIDEST);
    (middle / half, middle * half)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layer::LayerKind;

    fn layer(band_hz: (f64, f64), level_db: f64) -> Layer {
        Layer {
            kind: LayerKind::Hit,
            name: "hit".to_owned(),
            id: None,
            places: vec![4, 12],
            pattern_bars: 1,
            slots: 16,
            band_hz,
            length_ms: 100.0,
            sustained: false,
            side: 0.0,
            wide: 0.0,
            level_db,
            sure: 0.8,
        }
    }

    fn pair(verdict: Verdict, session: Option<usize>, reference: usize, sure: f64) -> LayerPair {
        LayerPair {
            session,
            reference: Some(reference),
            verdict,
            sure,
            words: format!("{reference}"),
        }
    }

    #[test]
    fn layers_in_a_chain_of_bands_stay_apart() {
        // each overlaps the next: joined, they would be one band of eight octaves
        let chain = [
            (40.0, 160.0),
            (120.0, 480.0),
            (400.0, 1600.0),
            (1200.0, 4800.0),
            (4000.0, 16_000.0),
        ];
        let reference: Vec<Layer> = chain.iter().map(|&band| layer(band, -6.0)).collect();
        let pairs: Vec<LayerPair> = (0..chain.len())
            .map(|r| pair(Verdict::Missing, None, r, 0.8))
            .collect();
        let bands = arrangement_bands(&pairs, &[], &reference);
        assert_eq!(bands.len(), chain.len());
        for (band, edges) in bands.iter().zip(chain) {
            assert_eq!((band.low_hz, band.high_hz), edges);
        }
    }

    #[test]
    fn wide_layers_mark_two_octaves_and_near_ones_are_joined() {
        let reference = [
            layer((500.0, 14_000.0), -6.0),
            layer((1400.0, 5000.0), -6.0),
        ];
        let pairs = [
            pair(Verdict::Missing, None, 0, 0.8),
            pair(Verdict::Missing, None, 1, 0.8),
        ];
        let bands = arrangement_bands(&pairs, &[], &reference);
        assert_eq!(bands.len(), 1, "{bands:?}");
        assert_eq!(bands[0].pairs.len(), 2);
        assert!((bands[0].high_hz / bands[0].low_hz).log2() <= WIDEST + 1e-9);
    }

    #[test]
    fn unsure_soft_and_filled_bands_are_left_out() {
        let layers = [
            layer((1000.0, 2000.0), -6.0),
            layer((4000.0, 8000.0), -21.0),
            layer((300.0, 600.0), -9.0),
            layer((250.0, 700.0), -3.0),
        ];
        let pairs = [
            pair(Verdict::Missing, None, 0, 0.6),
            pair(Verdict::Missing, None, 1, 0.8),
            pair(Verdict::Missing, None, 2, 0.8),
            pair(Verdict::Shared, Some(3), 3, 0.8),
        ];
        assert!(arrangement_bands(&pairs, &layers, &layers).is_empty());
        let sure = [pair(Verdict::Missing, None, 0, 0.8)];
        assert_eq!(arrangement_bands(&sure, &layers, &layers).len(), 1);
    }
}
