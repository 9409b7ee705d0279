//! Cavities that carry the shields of coaxial cables besides their own wires.

use model::{Model, PartKind, PinId, ShieldEnd, WireId, has_shield};

/// The coaxial cables whose shields a cavity of a connector carries, in the order of their numbers in the model.
fn carried(model: &Model, cavity: PinId) -> Vec<WireId> {
    let part = model.pin(cavity).part;
    if model.part(part).kind != PartKind::Connector {
        return Vec::new();
    }
    let ends_here = |wire: &WireId| {
        let ends = model.wire(*wire).ends.into_iter().filter(|end| model.pin(*end).part == part);
        has_shield(model, *wire) && ends.into_iter().any(|end| model.shield_end(end) == ShieldEnd::Pin(cavity))
    };
    model.wire_ids().filter(ends_here).collect()
}

/// How many they are, for a place with little room: `2 shields`; empty where there are none.
pub fn count(model: &Model, cavity: PinId) -> String {
    match carried(model, cavity).len() {
        0 => String::new(),
        1 => "1 shield".into(),
        several => format!("{several} shields"),
    }
}

/// The same in words: `shields of 47, 48`; empty where there are none.
pub fn words(model: &Model, cavity: PinId) -> String {
    let numbers: Vec<String> = carried(model, cavity).iter().map(|id| model.wire(*id).id.to_string()).collect();
    match numbers.len() {
        0 => String::new(),
        1 => format!("shield of {}", numbers[0]),
        _ => format!("shields of {}", numbers.join(", ")),
    }
}
