//! Shorts: how much current flows if a pin or the far end of a wire touches ground.

use super::connectivity::{Connectivity, Towards};
use circuit::{CurrentPath, PathStep, Spot, Via};
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
pub struct ShortCircuit {
    /// The pin that touches ground.
    pub at: PinId,
    /// The resistance of the whole loop.
    pub ohms: Ohms,
    /// The current at least and at highest supply.
    pub amps: [Amps; 2],
    /// The supply's pin that feeds it.
    pub from: PinId,
    /// What leads from there to the short, each with the pin that it comes to.
    pub through: Vec<(Via, PinId)>,
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

    /// The resistance from the supply to a pin, the supply's own included.
    pub fn ohms_to(&self, pin: PinId) -> Option<Ohms> {
        self.pins[pin.0].map(|reached| reached.ohms)
    }

    /// The resistance of the chassis, on the way back.
    pub fn back(&self) -> Ohms {
        self.back
    }

    /// A short at the far end of a wire; `None` if no supply of the spec leads to it.
    pub fn at_end_of(&self, id: WireId) -> Option<ShortCircuit> {
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
    pub fn short(&self, near: PinId, more: Option<(PinId, Link)>) -> Option<ShortCircuit> {
        let (model, reached) = (self.model, self.pins[near.0]?);
        let mut through: Vec<(Via, PinId)> = Vec::new();
        let mut from = near;
        while let Some(Reached { by: Some((before, link)), .. }) = self.pins[from.0] {
            through.push((via(link), from));
            from = before;
        }
        through.reverse();
        through.extend(more.map(|(pin, link)| (via(link), pin)));
        let ohms = reached.ohms + more.map_or(Ohms::new(0.0), |(_, link)| of_link(model, link)) + self.back;
        let fuses = through.iter().filter_map(|(via, _)| match via {
            Via::Element(id) if matches!(model.element(*id).kind, ElementKind::Fuse { .. }) => Some(*id),
            _ => None,
        });
        Some(ShortCircuit {
            at: more.map_or(near, |(pin, _)| pin),
            amps: [reached.volts[0] / ohms, reached.volts[2] / ohms],
            ohms,
            fuses: fuses.collect(),
            from,
            through,
        })
    }

    /// The voltage that a current of the short leaves at a pin on its way.
    pub fn volts(&self, short: &ShortCircuit, amps: Amps, pin: PinId) -> Volts {
        let before = self.ohms_to(pin).unwrap_or_default();
        let left = if pin == short.at { self.back } else { short.ohms - before };
        amps * left.max(Ohms::new(0.0))
    }

    /// The path of a current of the short, from the supply's pin to where it touches ground.
    pub fn path(&self, short: &ShortCircuit, amps: Amps) -> CurrentPath {
        let step = |(via, pin): &(Via, PinId)| {
            let volts = self.volts(short, amps, *pin);
            PathStep { via: *via, to: Spot::Pin(*pin), volts, amps }
        };
        CurrentPath { start: Spot::Pin(short.from), steps: short.through.iter().map(step).collect() }
    }
}

fn via(link: Link) -> Via {
    match link {
        Link::Wire(id) => Via::Wire(id),
        Link::Joint(id) => Via::Joint(id),
        Link::Through(id, _) => Via::Element(id),
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
