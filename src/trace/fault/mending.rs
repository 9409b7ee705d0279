//! What mends a fault, and what to do for it.

use model::{ElementKind, Model, PartId, PartKind, WireId};
use quantity::Amps;

/// What is repaired or replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Mending {
    /// A wire, with its terminals.
    Wire(WireId),
    /// Two wires, in a way that depends on the kind of failure.
    Wires(&'static str, WireId, WireId),
    /// Wires and plugs at a part, put as they are drawn.
    Plugs(PartId),
    /// The format of a source's picture, or the setting of the input that takes it.
    Format(PartId),
    /// A part.
    Part(PartId),
}

impl Mending {
    /// Whether a repair mends it.
    pub fn is_mended_by(self, repair: Mending) -> bool {
        match (self, repair) {
            (Mending::Wires(_, one, other), Mending::Wires(_, first, second)) => (one, other) == (first, second),
            _ => self == repair,
        }
    }

    /// What is mended: `wire 12`, `wires 3 and 4`, `K1`.
    pub fn words(self, model: &Model) -> String {
        match self {
            Mending::Wire(wire) => format!("wire {}", model.wire(wire).id),
            Mending::Wires(_, one, other) => format!("wires {} and {}", model.wire(one).id, model.wire(other).id),
            Mending::Plugs(part) => format!("plugs at {}", model.part(part).name),
            Mending::Format(part) => format!("format of {}", model.part(part).name),
            Mending::Part(part) => model.part(part).name.to_string(),
        }
    }

    /// What to do: `mend wire 12`, `put a good K1 in`.
    pub fn action(self, model: &Model) -> String {
        let words = self.words(model);
        match self {
            Mending::Part(part) => match model.part(part).kind {
                PartKind::Ground => format!("clean and tighten ground point {words}"),
                PartKind::Supply | PartKind::Feed => {
                    format!("find why the vehicle's supply or wire {words} is wrong, and mend it")
                }
                _ => match fuse_rating(model, part) {
                    Some(rating) => format!("put a good {words} in, {rating} as drawn"),
                    None => format!("put a good {words} in"),
                },
            },
            Mending::Format(part) => {
                let name = &model.part(part).name;
                format!(
                    "set the screen's input and {name} to the same picture format; if they are, put a good {name} in"
                )
            }
            Mending::Plugs(part) => {
                let name = &model.part(part).name;
                format!("put the wires and plugs at {name} as drawn")
            }
            _ => format!("mend {words}"),
        }
    }
}

fn fuse_rating(model: &Model, part: PartId) -> Option<Amps> {
    model.part(part).elements.iter().find_map(|id| match model.element(*id).kind {
        ElementKind::Fuse { rating, .. } => Some(rating),
        _ => None,
    })
}
