//! The layers of a session, whose tracks are known.

use cupel_units::{Group, Role};

use crate::describe::{Description, describe};
use crate::find::layer_of;
use crate::fold::FoldedSound;
use crate::layer::{Layer, LayerContext, LayerKind};
use crate::naming::{Heard, kind_of};
use crate::strand::Strand;

/// Less of the bars than this and a sound is an event, not a layer.
const HEARD: f64 = 0.3;

/// Describes every element that plays in the passage as a layer, in the order
/// given; what is silent or heard in less than three bars of ten is left out.
/// Levels are against the loudest.
pub fn layers_of_tracks(elements: &[(&str, Role, &FoldedSound)]) -> Vec<Layer> {
    let described: Vec<(&str, Role, usize, Description)> = elements
        .iter()
        .filter_map(|&(id, role, fold)| {
            let one = describe(&Strand::of(fold))?;
            (one.heard >= HEARD).then_some((id, role, fold.slots(), one))
        })
        .collect();
    let loudest = described
        .iter()
        .map(|(.., one)| one.power)
        .fold(0.0, f64::max);
    described
        .iter()
        .map(|(id, role, slots, one)| {
            let level_db = 10.0 * (one.power / loudest).log10();
            let heard = Heard {
                pattern: &one.pattern,
                sustained: one.sustained,
                band_hz: one.band_hz,
                length_ms: one.length_ms,
                side: one.side,
                wide: one.wide,
                slots: *slots,
            };
            let alone = kind_of(&heard, &LayerContext::default());
            let mut layer = layer_of(&heard, kind_of_role(*role, alone), level_db);
            layer.id = Some((*id).to_owned());
            let plain = &layer.name;
            layer.name = match plain.strip_prefix(layer.kind.word()) {
                Some(rest) => format!("{role}{rest}"),
                None => format!("{role}: {plain}"),
            };
            layer
        })
        .collect()
}

/// What a role is among layers; `heard` where the role does not say.
fn kind_of_role(role: Role, heard: LayerKind) -> LayerKind {
    match role {
        Role::Kick => LayerKind::Kick,
        Role::Sub | Role::Bass => LayerKind::Bass,
        Role::Snare | Role::Clap | Role::Rim | Role::Tom | Role::Percussion => LayerKind::Hit,
        Role::ClosedHat => LayerKind::Hat,
        Role::OpenHat | Role::Cymbal => LayerKind::OpenHat,
        Role::Shaker => LayerKind::Shaker,
        Role::Pad | Role::Strings => LayerKind::Pad,
        Role::Voice => LayerKind::Voice,
        other if other.group() == Group::Music => LayerKind::Notes,
        _ => heard,
    }
}
