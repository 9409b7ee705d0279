//! Wires that end nowhere in the model.

use super::{Model, PartId, PartKind};
use form::place::pin_suggestion;
use form::{Name, Place, Problem};

/// A wire with an end that names no pin.
#[derive(Debug, Clone)]
pub struct LooseWire {
    /// Its id.
    pub id: Name,
    /// The end, as written.
    pub end: String,
    /// The place of that end in the spec.
    pub place: Place,
    /// The part that was named.
    pub part: PartId,
    /// The pin that the part doesn't have; `None` where the end names none and the part has several.
    pub pin: Option<Name>,
}

impl LooseWire {
    /// Whether its part has no pins because its kind could not be read, which has been reported.
    pub(super) fn is_of_incomplete<G>(&self, model: &Model<G>) -> bool {
        let part = model.part(self.part);
        part.form.incomplete && part.pins.is_empty()
    }

    /// What is wrong with it, where, and what to do.
    pub fn problem<G>(&self, model: &Model<G>) -> Problem {
        let part = model.part(self.part);
        let pins: Vec<&str> = part.pins.iter().map(|&pin| model.pin(pin).name.as_str()).collect();
        let (message, hint) = match &self.pin {
            Some(pin) => {
                let message = format!("wire {} ends at `{}`, but {} has no pin `{pin}`", self.id, self.end, part.name);
                (message, pin_suggestion(pin, &pins))
            }
            None => {
                let message = format!("wire {} ends at `{}`, which has {} pins", self.id, self.end, pins.len());
                let more = match part.kind {
                    PartKind::Connector => {
                        "; or give this wire and the one on the other half the same `signal`, and a cavity is chosen"
                    }
                    _ => "",
                };
                let hint = match pins.first() {
                    Some(pin) => {
                        format!("name the pin, as in `{}.{pin}`; its pins: {}{more}", part.name, pins.join(", "))
                    }
                    None => format!("`{}` is a kind of part without pins: no wire can end there", part.use_name),
                };
                (message, hint)
            }
        };
        let kind = format!("a {}", part.use_name);
        Problem::at(self.place, message).label("no such pin").also(part.place, kind).hint(hint)
    }
}
