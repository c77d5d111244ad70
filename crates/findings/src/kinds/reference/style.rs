//! The reference's kick plays another pattern: another style.

use cupel_layers::{Layer, LayerKind};

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "reference-style",
    family: Family::Reference,
    title: "the reference is of another style",
    cause: Cause::Reference,
    sizes: Sizes::look("percent", 60.0),
    weight: 0.4,
    brings: &["kick-unlike"],
    unsure: false,
    measures: "How many of the session's kicks fall on places of the bar on which the reference \
               has none, and the other way round; the smaller part counts.",
    matters: "The kick's pattern makes a style: four on the floor leaves other gaps for the \
              bass than a broken beat. A balance made for one does not fit the other.",
    threshold: "60 percent of the kicks elsewhere, only to look at (common practice, no source).",
    mend: "Choose a reference with the same kind of beat, or take from this one its tone and \
           width and leave its balance.",
    wrong: "When kicks of the reference were misheard under a busy bass, or when the passage \
            compared is a fill.",
    hear: "Tap the kick of the session while the reference plays, and notice how many taps \
           meet its kicks.",
    train: "Take ten songs, and write down on which sixteenths the kick falls.",
};

/// Layers heard with less certainty are none.
const LEAST_SURE: f64 = 0.65;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some((own, other)) = both(evidence) else {
        return Vec::new();
    };
    let [session, reference] = [own, other].map(in_one_bar);
    let shared = session
        .iter()
        .filter(|place| reference.contains(place))
        .count();
    let fewer = session.len().min(reference.len());
    if fewer < 2 {
        return Vec::new();
    }
    let elsewhere = 100.0 * (1.0 - shared as f64 / fewer as f64);
    let Some(grade) = KIND.sizes.grade(elsewhere) else {
        return Vec::new();
    };
    let genre = evidence.reference.as_ref().and_then(|r| r.genre.as_deref());
    let tag = genre.map_or(String::new(), |genre| format!(" (tagged {genre})"));
    let words = format!(
        "The reference{tag} has another beat: {elsewhere:.0} percent of its kicks fall where \
         the session has none ({} instead of {}).",
        places(&reference),
        places(&session)
    );
    vec![
        Finding::new(&KIND, grade, elsewhere, words)
            .against(0.0, "the session's kick pattern")
            .sure(0.8 * own.sure.min(other.sure))
            .mend(
                "Choose a reference with the same kind of beat, or take only its tone and \
                 width as an example.",
            ),
    ]
}

fn both(evidence: &Evidence) -> Option<(&Layer, &Layer)> {
    let reference = evidence.reference.as_ref().filter(|r| !r.is_print)?;
    let mix = evidence.mix.as_ref()?;
    let kick = |layers: &'_ [Layer]| -> Option<usize> {
        layers.iter().position(|layer| {
            layer.kind == LayerKind::Kick && layer.sure >= LEAST_SURE && !layer.places.is_empty()
        })
    };
    let own = &mix.layers[kick(&mix.layers)?];
    let other = &reference.layers[kick(&reference.layers)?];
    (own.slots == other.slots && own.slots > 0).then_some((own, other))
}

/// Places in one bar, whatever the length of the pattern.
fn in_one_bar(layer: &Layer) -> Vec<usize> {
    let mut places: Vec<usize> = layer
        .places
        .iter()
        .map(|place| place % layer.slots)
        .collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// `sixteenths 1, 5, 9 and 13`, as people count.
fn places(places: &[usize]) -> String {
    let counted: Vec<String> = places.iter().map(|place| (place + 1).to_string()).collect();
    format!(
        "sixteenths {}",
        crate::kinds::low_end::lows::listed(&counted)
    )
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{reference, session};

    fn kick(places: &[usize], sure: f64) -> Layer {
        Layer {
            kind: LayerKind::Kick,
            name: "kick".into(),
            id: None,
            places: places.to_vec(),
            pattern_bars: 1,
            slots: 16,
            band_hz: (40.0, 100.0),
            length_ms: 150.0,
            sustained: false,
            side: 0.0,
            wide: 0.0,
            level_db: 0.0,
            sure,
        }
    }

    fn found(places: &[usize], sure: f64) -> Vec<Finding> {
        let mut evidence = session(&[Role::Kick]);
        let mut other = reference();
        other.layers = vec![kick(places, sure)];
        evidence.reference = Some(other);
        if let Some(mix) = &mut evidence.mix {
            mix.layers = vec![kick(&[0, 4, 8, 12], 1.0)];
        }
        find(&evidence)
    }

    #[test]
    fn a_broken_beat_beside_four_on_the_floor() {
        let found = found(&[0, 6, 10], 0.9);
        assert_eq!(found.len(), 1);
        assert!(
            found[0].sentence.contains("sixteenths 1, 7 and 11"),
            "{}",
            found[0].sentence
        );
    }

    #[test]
    fn more_kicks_on_the_same_places_are_one_style() {
        assert!(found(&[0, 2, 4, 8, 12, 14], 0.9).is_empty());
        assert!(found(&[0, 8], 0.9).is_empty());
        assert!(found(&[0, 8, 10], 0.9).is_empty());
    }

    #[test]
    fn kicks_hardly_heard_tell_nothing() {
        assert!(found(&[2, 6, 10], 0.6).is_empty());
    }
}
