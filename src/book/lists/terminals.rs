//! What goes on the end of a wire: terminal, splice or ring, which half of a mated pair it is for, and the wires that
//! share it.

use model::{ElementKind, Model, PartId, PartKind, PinId, WireId, half};
use spec::WireMake;

/// What goes on a wire where it meets the vehicle, which has no part for it.
fn at_vehicle(model: &Model, id: PartId) -> Option<&'static str> {
    let part = model.part(id);
    let battery = |kind: &ElementKind| matches!(kind, ElementKind::Battery { .. });
    match part.kind {
        PartKind::Supply if part.elements.iter().any(|id| battery(&model.element(*id).kind)) => {
            Some("ring on the battery post")
        }
        PartKind::Supply | PartKind::Feed => Some("splice into the vehicle's wire"),
        _ => None,
    }
}

/// What goes on the wires at a part; `None` if nothing does. `supplied`: the part brings it along.
pub fn terminal(model: &Model, id: PartId) -> Option<(String, bool)> {
    if let Some(words) = at_vehicle(model, id) {
        return Some((words.to_string(), false));
    }
    let terminal = model.part(id).form.terminal.as_ref()?;
    let title = terminal.title.0.clone();
    let title = match half(model, id) {
        Some(half) => format!("{title}, {}", half.terminals()),
        None => title,
    };
    Some((title, terminal.supplied.0))
}

/// The other wires in the same terminal: every built wire on the pin, unless the pin is a stud, a ground point, a
/// splice or the vehicle's.
pub fn shares(model: &Model, id: WireId, pin: PinId) -> Vec<WireId> {
    let part = model.part(model.pin(pin).part);
    let terminal = part.form.terminal.as_ref();
    let one = matches!(part.kind, PartKind::Device | PartKind::Connector)
        && terminal.is_some_and(|terminal| !terminal.stacks.0 && !terminal.supplied.0);
    let crimped = |other: &WireId| *other != id && model.wire(*other).make != WireMake::Lead;
    if one { model.wires_on(pin).filter(crimped).collect() } else { Vec::new() }
}

/// `, with wire 3 in one terminal`; empty if a wire sits alone.
pub fn shares_words(model: &Model, id: WireId, pin: PinId) -> String {
    let others: Vec<&str> = shares(model, id, pin).into_iter().map(|id| model.wire(id).id.as_str()).collect();
    match others.len() {
        0 => String::new(),
        1 => format!(", with wire {} in one terminal", others[0]),
        _ => format!(", with wires {} in one terminal", others.join(", ")),
    }
}
