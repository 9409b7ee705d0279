//! The level of each picture at the inputs that it goes to.

use super::connectivity::Connectivity;
use graph::Nets;
use model::{Domain, ElementKind, Model, PartId, PinId, PinRole, is_terminal};
use quantity::{Ohms, Volts};
use std::collections::BTreeSet;

/// Open-circuit voltage of an output of pictures: 1 V peak to peak across 75 Ω, behind 75 Ω (SMPTE 170M and
/// ITU-R BT.470, from memory).
pub const OPEN_LEVEL: Volts = Volts::new(2.0);

/// Level of a picture at an input that alone ends its cable: 1 V peak to peak, from sync to white.
pub const FULL_LEVEL: Volts = Volts::new(1.0);

/// A picture and the inputs that it goes to at once.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureLevel {
    /// The output that sends it.
    pub source: PinId,
    /// The inputs, in the order of the spec.
    pub inputs: Vec<PinId>,
    /// Peak to peak at each input.
    pub level: Volts,
}

/// The level of every picture that goes to an input, in the order of the spec.
pub(super) fn picture_levels(connectivity: &Connectivity, nets: &Nets) -> Vec<PictureLevel> {
    let model = connectivity.model();
    let is_source = |pin: &PinId| is_active(model, *pin) && model.pin(*pin).role == PinRole::Output;
    model.pin_ids().filter(is_source).filter_map(|source| level(model, nets, source)).collect()
}

/// Whether a pin is a picture's output or input with electronics behind it, and not one end of a passive path.
fn is_active(model: &Model, pin: PinId) -> bool {
    let part = model.pin(pin).part;
    model.pin(pin).domain == Domain::Video && is_terminal(model, pin) && !is_passive(model, part)
}

/// Whether a part passes pictures on without a supply: a relay for pictures, a transformer.
fn is_passive(model: &Model, part: PartId) -> bool {
    let mut elements = model.part(part).elements.iter().map(|id| &model.element(*id).kind);
    let passes = elements.clone().any(|kind| matches!(kind, ElementKind::Passes { .. }));
    passes && !elements.any(|kind| matches!(kind, ElementKind::Load(_)))
}

fn level(model: &Model, nets: &Nets, source: PinId) -> Option<PictureLevel> {
    let own = model.pin(source).impedance?;
    let (mut reached, mut ahead) = (BTreeSet::new(), vec![source]);
    while let Some(pin) = ahead.pop() {
        for &pin in nets.with(pin) {
            if reached.insert(pin) && model.pin(pin).domain == Domain::Video && is_terminal(model, pin) {
                ahead.extend(beyond(model, pin));
            }
        }
    }
    let is_input = |pin: &PinId| is_active(model, *pin) && model.pin(*pin).role == PinRole::Input;
    let inputs: Vec<PinId> = reached.into_iter().filter(is_input).collect();
    let ends = inputs.iter().filter_map(|pin| model.pin(*pin).impedance);
    let siemens: f64 = ends.map(|ohms: Ohms| 1.0 / ohms.value().max(1e-3)).sum();
    let share = 1.0 / (1.0 + own.value() * siemens);
    (!inputs.is_empty()).then(|| PictureLevel { source, inputs, level: OPEN_LEVEL * share })
}

/// The pin to which a passive part passes a picture on. A relay closes only one of its paths at a time, so only the first
/// path from a pin counts.
fn beyond(model: &Model, pin: PinId) -> Option<PinId> {
    let part = model.pin(pin).part;
    let mut elements = model.part(part).elements.iter().map(|id| &model.element(*id).kind);
    elements.find_map(|kind| match kind {
        ElementKind::Passes { from, to, .. } if *from == pin && is_passive(model, part) => Some(*to),
        _ => None,
    })
}
