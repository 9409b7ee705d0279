//! Shorts: how much current flows if a pin or the far end of a wire touches ground.

use super::connectivity::{Connectivity, Towards};
use graph::Link;
use model::{ElementId, ElementKind, Model, PartKind, PinId, WireId, conductor};
use quantity::{Amps, Ohms, Volts};

/// The path of least resistance from a supply to each pin, in ohms with hot copper.
#[derive(Debug)]
pub struct Shorts<'m> {
    model: &'m Model,
    pins: Vec<Option<Reached>>,
    /// Chassis, from the farthest ground point to the battery's negative.
    back: Ohms,
}

/// The least resistance from a supply to a pin, the supply's own included.
#[derive(Debug, Clone, Copy)]
struct Reached {
    ohms: Ohms,
    volts: [Volts; 3],
    by: Option<(PinId, Link)>,
}

/// A short at the far end of a wire.
#[derive(Debug, Clone)]
pub struct Short {
    /// Where it is.
    pub at: PinId,
    /// Of the whole loop.
    pub ohms: Ohms,
    /// At least and at greatest supply.
    pub amps: [Amps; 2],
    /// The pins from the supply to the short, each with what leads there.
    pub way: Vec<(PinId, Option<Link>)>,
    /// Fuses on the way, the one next to the supply first.
    pub fuses: Vec<ElementId>,
}

impl<'m> Shorts<'m> {
    /// Dijkstra's search; each round looks through all pins, which are few.
    pub(super) fn new(connectivity: &Connectivity<'m>) -> Shorts<'m> {
        let model = connectivity.model();
        let mut pins: Vec<Option<Reached>> = vec![None; model.pins.len()];
        for (pin, reached) in starts(model) {
            pins[pin.0] = Some(reached);
        }
        let mut done = vec![false; model.pins.len()];
        let open = |pins: &[Option<Reached>], done: &[bool]| {
            let reached = (0..pins.len()).filter(|i| !done[*i]).filter_map(|i| Some((i, pins[i]?.ohms.value())));
            reached.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
        };
        while let Some(here) = open(&pins, &done) {
            done[here] = true;
            let Some(from) = pins[here] else { continue };
            for hop in connectivity.hops(PinId(here), Towards::Ground) {
                let kind = model.part(model.pin(hop.to).part).kind;
                if matches!(kind, PartKind::Supply | PartKind::Ground) {
                    continue;
                }
                let ohms = from.ohms + of_link(model, hop.link);
                if pins[hop.to.0].is_none_or(|there| ohms < there.ohms) {
                    pins[hop.to.0] = Some(Reached { ohms, by: Some((PinId(here), hop.link)), ..from });
                }
            }
        }
        let grounds = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::GroundPoint { resistance, .. } => Some(resistance),
            _ => None,
        });
        Shorts { model, pins, back: grounds.fold(Ohms::new(0.0), Ohms::max) }
    }

    /// From the supply, its own included, to a pin.
    pub fn ohms_to(&self, pin: PinId) -> Option<Ohms> {
        self.pins[pin.0].map(|reached| reached.ohms)
    }

    /// Of the chassis, on the way back.
    pub fn back(&self) -> Ohms {
        self.back
    }

    /// A short at the far end of a wire; none where no supply of the spec leads to it.
    pub fn at_end_of(&self, id: WireId) -> Option<Short> {
        let ends = self.model.wire(id).ends;
        let ohms = |pin: PinId| self.pins[pin.0].map(|reached| reached.ohms);
        let near_first = match (ohms(ends[0]), ohms(ends[1])) {
            (Some(a), Some(b)) => a <= b,
            (near, _) => near.is_some(),
        };
        let (near, far) = if near_first { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
        self.short(near, Some((far, Link::Wire(id))))
    }

    /// A short at a pin, or at the end of one more link.
    pub fn short(&self, near: PinId, more: Option<(PinId, Link)>) -> Option<Short> {
        let (model, reached) = (self.model, self.pins[near.0]?);
        let mut way: Vec<(PinId, Option<Link>)> = Vec::new();
        let mut at = near;
        while let Some(Reached { by: Some((before, link)), .. }) = self.pins[at.0] {
            way.push((at, Some(link)));
            at = before;
        }
        way.push((at, None));
        way.reverse();
        way.extend(more.map(|(pin, link)| (pin, Some(link))));
        let ohms = reached.ohms + more.map_or(Ohms::new(0.0), |(_, link)| of_link(model, link)) + self.back;
        let fuses = way.iter().filter_map(|(_, link)| match link {
            Some(Link::Through(id, _)) if matches!(model.element(*id).kind, ElementKind::Fuse { .. }) => Some(*id),
            _ => None,
        });
        Some(Short {
            at: more.map_or(near, |(pin, _)| pin),
            amps: [reached.volts[0] / ohms, reached.volts[2] / ohms],
            ohms,
            fuses: fuses.collect(),
            way,
        })
    }
}

fn starts(model: &Model) -> Vec<(PinId, Reached)> {
    let mut all: Vec<(PinId, Reached)> = Vec::new();
    for element in &model.elements {
        match element.kind {
            ElementKind::Battery { plus, volts, resistance, .. } => {
                all.push((plus, Reached { ohms: resistance, volts, by: None }));
            }
            ElementKind::Derived { from, pin, resistance, .. } => {
                if let Some((_, source)) = all.iter().find(|(at, _)| *at == from).copied() {
                    all.push((pin, Reached { ohms: source.ohms + resistance, ..source }));
                }
            }
            _ => {}
        }
    }
    all
}

fn of_link(model: &Model, link: Link) -> Ohms {
    match link {
        Link::Wire(id) => {
            let wire = model.wire(id);
            let length = wire.length.unwrap_or(model.limits.local_length);
            conductor::resistance(wire.gauge, length, model.limits.hot)
        }
        Link::Joint(id) => model.joints[id].resistance,
        Link::Through(id, _) => match model.element(id).kind {
            ElementKind::Resistor { resistance, .. }
            | ElementKind::Fuse { resistance, .. }
            | ElementKind::Contact { resistance, .. }
            | ElementKind::Throw { resistance, .. }
            | ElementKind::Output { resistance, .. }
            | ElementKind::Diode { resistance, .. } => resistance,
            _ => Ohms::new(0.0),
        },
    }
}
