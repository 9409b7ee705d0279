//! The links of a chain: each with its pin, what leads to it, the wire, the expected voltage and what must be true.

use super::moment::Moment;
use crate::lists::{connections, pins};
use crate::meter::{Expected, Metered};
use crate::service::chain::{ChainLink, ChainWire};
use circuit::{CurrentPath, Reading, Via};
use model::{ElementId, ElementKind, Family, PinId, WireId};
use quantity::Volts;

/// Words for the first pin of a chain.
pub(super) const STARTS: &str = "starts here";

impl Moment<'_> {
    /// Ends a chain at a pin, even if no current reaches it, and says what must be true there.
    pub(super) fn end_at(&self, links: &mut Vec<ChainLink>, pin: PinId, look: &str) {
        if links.is_empty() {
            links.push(self.bare(pin));
        }
        if let Some(last) = links.last_mut() {
            last.look = look.to_string();
        }
    }

    pub(super) fn links(&self, path: &CurrentPath) -> Vec<ChainLink> {
        let start = |pin| ChainLink { through: STARTS.to_string(), ..self.bare(pin) };
        let mut links: Vec<ChainLink> = path.start.pin().map(start).into_iter().collect();
        for step in &path.steps {
            let Some(pin) = step.to.pin() else {
                links.push(negative(self.through_words(step.via)));
                continue;
            };
            let first = links.is_empty();
            let wire = if let Via::Wire(id) = step.via { Some(self.wire(id)) } else { None };
            let (through, look) = match step.via {
                _ if first => (STARTS.to_string(), String::new()),
                Via::Element(id) => (self.through_words(step.via), self.look(id)),
                via => (self.through_words(via), String::new()),
            };
            let anew = |id: ElementId| matches!(self.model.element(id).kind, ElementKind::Converter { .. });
            let made_anew = matches!(step.via, Via::Element(id) if anew(id));
            links.push(ChainLink { through, wire: wire.filter(|_| !first), look, made_anew, ..self.bare(pin) });
        }
        links
    }

    pub(super) fn through_words(&self, via: Via) -> String {
        match via {
            Via::Wire(id) => format!("wire {}", self.model.wire(id).id),
            Via::Shield(id) => format!("the shield of wire {}", self.model.wire(id).id),
            Via::Joint(_) | Via::ShieldContacts => "plugged together".to_string(),
            Via::Element(id) => {
                let element = self.model.element(id);
                let part = self.model.part(element.part);
                match &element.kind {
                    ElementKind::Derived { .. } | ElementKind::Feed(_) => "the vehicle's own wiring".to_string(),
                    ElementKind::GroundPoint { .. } => "the body".to_string(),
                    _ => format!("inside {}", part.name),
                }
            }
        }
    }

    /// What must be true inside a part for current to pass.
    pub(super) fn look(&self, id: ElementId) -> String {
        let element = self.model.element(id);
        let part = self.model.part(element.part);
        match &element.kind {
            ElementKind::Fuse { rating, .. } if part.form.family == Family::Breaker => {
                format!("breaker {rating} closed")
            }
            ElementKind::Fuse { rating, .. } => format!("fuse {rating} intact"),
            ElementKind::Contact { relay, .. } => {
                let on = self.solved.assembly.reading(self.model, &self.at.nominal, *relay) == Reading::On;
                format!("{} {}", self.model.signals[relay.0].name, if on { "in" } else { "out" })
            }
            ElementKind::Diode { knee, .. } => format!("diode, drops about {knee}"),
            ElementKind::Throw { input: Some(input), .. } => {
                let input_at = self.at.nominal.position(self.solved.assembly.input(*input));
                let input = &self.model.inputs[input.0];
                format!("{} {}", input.title, input.positions[usize::from(input_at)])
            }
            ElementKind::Feed(feed) => {
                let pulses = if feed.pulsed.is_some() { ", in pulses: a meter shows their mean" } else { "" };
                format!("{} on{pulses}", self.model.inputs[feed.input.0].title)
            }
            ElementKind::Output { .. } => "output on".to_string(),
            ElementKind::Converter { volts, .. } => format!("gives {volts}"),
            _ => String::new(),
        }
    }

    pub(super) fn wire(&self, id: WireId) -> ChainWire {
        let wire = self.model.wire(id);
        let gauge = pins::printed_gauge(self.model, id);
        ChainWire { id: wire.id.to_string(), colour: wire.colour, gauge }
    }

    pub(super) fn bare(&self, pin: PinId) -> ChainLink {
        ChainLink {
            through: String::new(),
            wire: None,
            pin: self.model.pin_name(pin),
            probe: connections::probe(self.model, pin).map(|cavity| self.model.pin_name(cavity)).unwrap_or_default(),
            place: self.model.place_name(self.model.part(self.model.pin(pin).part).at).to_string(),
            volts: self.at.range(pin).map(Expected::new),
            returns: false,
            turns: false,
            passes: String::new(),
            look: String::new(),
            id: Some(pin),
            made_anew: false,
        }
    }

    pub(super) fn picture_pin(&self, pin: PinId) -> ChainLink {
        ChainLink { volts: None, ..self.bare(pin) }
    }
}

/// The battery's negative as the end of a chain.
fn negative(through: String) -> ChainLink {
    let zero = Metered::new(Volts::new(0.0));
    ChainLink {
        through,
        wire: None,
        pin: "battery −".to_string(),
        probe: String::new(),
        place: String::new(),
        volts: Some(Expected { nominal: zero, least: zero, most: zero }),
        returns: true,
        turns: false,
        passes: String::new(),
        look: String::new(),
        id: None,
        made_anew: false,
    }
}
