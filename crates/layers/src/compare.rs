//! The layers of a session beside those of its reference.

use serde::{Deserialize, Serialize};

use crate::kinship::{counterparts, may_be_one};
use crate::layer::Layer;
use crate::matching::{LayerFacts, agreement, pair_where, shared_places};
use crate::naming::{hertz, places_words};

/// What a comparison of two layers says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Both have it.
    Shared,
    /// The reference has it, the session does not.
    Missing,
    /// The session has it, the reference does not.
    Extra,
    /// Both have one of the kind, but it plays elsewhere, in another band or on
    /// another side.
    Different,
}

/// A layer of the session, of the reference, or one of each.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LayerPair {
    /// Index into the session's layers.
    pub session: Option<usize>,
    /// Index into the reference's layers.
    pub reference: Option<usize>,
    /// What it says.
    pub verdict: Verdict,
    /// How sure, 0 to 1: as sure as the reference's layer is.
    pub sure: f64,
    /// In words.
    pub words: String,
}

/// Puts the layers of a session and of its reference side by side: first what
/// both have, then what is alike in kind, then the rest. Kick, bass, hats, drums and
/// tones are never each other, whatever their places and bands. In the reference's
/// order, the session's extra layers last.
pub fn compare_layers(session: &[Layer], reference: &[Layer]) -> Vec<LayerPair> {
    let own: Vec<LayerFacts> = session.iter().map(LayerFacts::from).collect();
    let other: Vec<LayerFacts> = reference.iter().map(LayerFacts::from).collect();
    let shared = pair_where(&own, &other, |s, r| may_be_one(&session[s], &reference[r]));
    let mut partner: Vec<Option<(usize, Verdict)>> = vec![None; reference.len()];
    let mut taken = vec![false; session.len()];
    for &(s, r) in &shared {
        partner[r] = Some((s, Verdict::Shared));
        taken[s] = true;
    }
    for (r, layer) in reference.iter().enumerate() {
        if partner[r].is_some() {
            continue;
        }
        let alike = (0..session.len())
            .filter(|&s| !taken[s] && counterparts(&session[s], layer))
            .max_by(|&a, &b| {
                let places = |s: usize| shared_places(&own[s], &other[r]);
                places(a).total_cmp(&places(b)).then(b.cmp(&a))
            });
        if let Some(s) = alike {
            taken[s] = true;
            partner[r] = Some((s, Verdict::Different));
        }
    }
    let mut pairs: Vec<LayerPair> = reference
        .iter()
        .enumerate()
        .map(|(r, layer)| pair_of(session, layer, r, partner[r]))
        .collect();
    for (s, layer) in session.iter().enumerate().filter(|(s, _)| !taken[*s]) {
        pairs.push(LayerPair {
            session: Some(s),
            reference: None,
            verdict: Verdict::Extra,
            sure: absence_sure(layer, reference),
            words: format!("the reference has no {}", layer.name),
        });
    }
    pairs
}

fn pair_of(
    session: &[Layer],
    layer: &Layer,
    reference: usize,
    partner: Option<(usize, Verdict)>,
) -> LayerPair {
    let (verdict, words) = match partner {
        None => (
            Verdict::Missing,
            format!("the reference has a layer more: {}", layer.name),
        ),
        Some((s, Verdict::Shared)) => (
            Verdict::Shared,
            format!(
                "both have it: {}; {} in the reference",
                session[s].name, layer.name
            ),
        ),
        Some((s, _)) => (
            Verdict::Different,
            format!("{}: {}", layer.name, difference(&session[s], layer)),
        ),
    };
    LayerPair {
        session: partner.map(|(s, _)| s),
        reference: Some(reference),
        verdict,
        sure: layer.sure,
        words,
    }
}

/// A layer is surely absent only where it would stand out.
fn absence_sure(layer: &Layer, reference: &[Layer]) -> f64 {
    let facts = LayerFacts::from(layer);
    let near = reference
        .iter()
        .map(|other| shared_places(&facts, &LayerFacts::from(other)))
        .fold(0.0, f64::max);
    let loud = (1.0 + layer.level_db / 30.0).clamp(0.2, 1.0);
    0.85 * loud * (1.0 - 0.4 * near)
}

fn difference(session: &Layer, reference: &Layer) -> String {
    let (own, other) = (LayerFacts::from(session), LayerFacts::from(reference));
    let mut said = Vec::new();
    if shared_places(&own, &other) < 0.5 {
        let words = |layer: &Layer| {
            let words = places_words(&layer.places, layer.pattern_bars, layer.slots);
            if words.is_empty() {
                "nowhere steady".to_owned()
            } else {
                words
            }
        };
        said.push(format!(
            "the session's plays {}, not {}",
            words(session),
            words(reference)
        ));
    }
    let middle = |layer: &Layer| (layer.band_hz.0 * layer.band_hz.1).sqrt();
    if (middle(session) / middle(reference)).log2().abs() > 0.5 {
        said.push(format!(
            "it lies about {}, not {}",
            hertz(middle(session)),
            hertz(middle(reference))
        ));
    }
    if (session.side - reference.side).abs() > 0.35 {
        said.push("it stands on another side".to_owned());
    }
    if said.is_empty() {
        said.push("it is alike in kind only".to_owned());
    }
    said.join("; ")
}

/// Whether two layers are one: by the rule of [`layer_matches`](crate::layer_matches),
/// and of kinds that can be one.
pub fn same_layer(one: &Layer, other: &Layer) -> bool {
    may_be_one(one, other) && agreement(&LayerFacts::from(one), &LayerFacts::from(other)) > 0.0
}
