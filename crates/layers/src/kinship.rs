//! Which layers can stand in for each other at all, whatever their places.

use crate::layer::{Layer, LayerKind};
use crate::matching::{LayerFacts, shared_places};

/// Farthest that the middles of two layers of one kind lie apart, in octaves.
const APART_OCTAVES: f64 = 1.5;
/// The same where the kinds are neighbours: a drum between hit and note, a click
/// between hit and hat, a low note between bass and notes.
const NEIGHBOURS_OCTAVES: f64 = 1.0;
/// Share of places that a pad and a held note or voice must have in common.
const HELD_PLACES: f64 = 0.75;

/// What a layer is in substance.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Substance {
    Kick,
    Bass,
    Drum,
    High,
    Tone,
}

fn substance(kind: LayerKind) -> Substance {
    match kind {
        LayerKind::Kick => Substance::Kick,
        LayerKind::Bass => Substance::Bass,
        LayerKind::Hit => Substance::Drum,
        LayerKind::Hat | LayerKind::OpenHat | LayerKind::Shaker => Substance::High,
        LayerKind::Notes | LayerKind::Pad | LayerKind::Voice => Substance::Tone,
    }
}

fn middle(layer: &Layer) -> f64 {
    0.5 * (layer.band_hz.0.log2() + layer.band_hz.1.log2())
}

/// Whether two layers can be one and the same: of one substance, or of
/// neighbouring ones that a description does not tell apart.
pub(crate) fn may_be_one(one: &Layer, other: &Layer) -> bool {
    use Substance::{Bass, Drum, High, Tone};
    let apart = (middle(one) - middle(other)).abs();
    let struck = !one.sustained && !other.sustained;
    match (substance(one.kind), substance(other.kind)) {
        (Tone, Tone) => one.kind == other.kind || held_alike(one, other),
        (a, b) if a == b => true,
        (Drum, Tone) | (Tone, Drum) | (Drum, High) | (High, Drum) => {
            struck && apart <= NEIGHBOURS_OCTAVES
        }
        (Bass, Tone) | (Tone, Bass) => {
            one.sustained == other.sustained && apart <= 0.5 * NEIGHBOURS_OCTAVES
        }
        _ => false,
    }
}

/// A pad and held notes are told apart by little: their places must agree.
fn held_alike(one: &Layer, other: &Layer) -> bool {
    let pads = [one, other].map(|layer| layer.kind == LayerKind::Pad);
    if pads[0] == pads[1] {
        return true;
    }
    one.sustained == other.sustained
        && shared_places(&LayerFacts::from(one), &LayerFacts::from(other)) >= HELD_PLACES
}

/// Whether both are of one kind, so that one can be called the other's
/// counterpart though it plays elsewhere.
pub(crate) fn counterparts(one: &Layer, other: &Layer) -> bool {
    let (a, b) = (substance(one.kind), substance(other.kind));
    let pads = [one, other].map(|layer| layer.kind == LayerKind::Pad);
    a == b && pads[0] == pads[1] && (middle(one) - middle(other)).abs() <= APART_OCTAVES
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layer(kind: LayerKind, places: &[usize], band_hz: (f64, f64), sustained: bool) -> Layer {
        Layer {
            kind,
            name: kind.word().to_owned(),
            id: None,
            places: places.to_vec(),
            pattern_bars: 1,
            slots: 16,
            band_hz,
            length_ms: 100.0,
            sustained,
            side: 0.0,
            wide: 0.0,
            level_db: 0.0,
            sure: 0.8,
        }
    }

    #[test]
    fn kick_bass_hats_and_held_sounds_are_never_one() {
        let all: Vec<usize> = (0..16).collect();
        // the same places and nearly the same band, so that only the kind tells
        let eighths: Vec<usize> = (0..8).map(|n| 2 * n).collect();
        let band = (100.0, 400.0);
        let kinds = [
            (LayerKind::Kick, false),
            (LayerKind::Bass, false),
            (LayerKind::Hat, false),
            (LayerKind::Pad, true),
        ];
        for (n, &(kind, held)) in kinds.iter().enumerate() {
            let places = if held { &all } else { &eighths };
            let one = layer(kind, places, band, held);
            assert!(may_be_one(&one, &one) && counterparts(&one, &one));
            for &(other, held) in &kinds[n + 1..] {
                let places = if held { &all } else { &eighths };
                let other = layer(other, places, band, held);
                assert!(!may_be_one(&one, &other), "{} {}", one.name, other.name);
                assert!(!counterparts(&one, &other), "{} {}", one.name, other.name);
            }
        }
    }

    #[test]
    fn a_pad_is_a_held_piano_only_where_their_places_agree() {
        let all: Vec<usize> = (0..16).collect();
        let pad = layer(LayerKind::Pad, &all, (200.0, 800.0), true);
        let held = layer(LayerKind::Notes, &all[..15], (200.0, 800.0), true);
        let half = layer(LayerKind::Notes, &all[..9], (200.0, 800.0), true);
        let struck = layer(LayerKind::Notes, &all, (200.0, 800.0), false);
        assert!(may_be_one(&pad, &held));
        assert!(!may_be_one(&pad, &half));
        assert!(!may_be_one(&pad, &struck));
    }

    #[test]
    fn a_tom_may_be_heard_as_a_note_but_not_as_a_hat() {
        let tom = layer(LayerKind::Hit, &[6, 14], (150.0, 700.0), false);
        let note = layer(LayerKind::Notes, &[6, 14], (200.0, 800.0), false);
        let hat = layer(LayerKind::Hat, &[6, 14], (6000.0, 12000.0), false);
        assert!(may_be_one(&tom, &note));
        assert!(!may_be_one(&tom, &hat));
    }
}
