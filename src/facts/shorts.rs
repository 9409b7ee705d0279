//! Shorts: how much current flows if a pin or the far end of a wire touches ground.

use super::connectivity::Connectivity;
use super::walk::{Hop, Label, Stand, Towards, walk};
use circuit::{CurrentPath, PathStep, Spot, Via};
use graph::Link;
use model::{ElementId, ElementKind, Model, PartKind, PinId, WireId, conductor};
use quantity::{Amps, Ohms, Volts};
use std::cmp::Ordering;

/// The path of lowest resistance from a supply to each pin, in ohms with hot copper.
#[derive(Debug)]
pub struct Shorts<'m> {
    model: &'m Model,
    stands: Vec<Stand<Reached>>,
    /// For each pin, the stand on the path of lowest resistance.
    least: Vec<Option<usize>>,
    /// Chassis, from the farthest ground point to the battery's negative.
    back: Ohms,
}

/// The resistance from a supply to a pin, the supply's own included.
#[derive(Debug, Clone, Copy)]
struct Reached {
    pin: PinId,
    ohms: Ohms,
    volts: [Volts; 3],
    /// The limit of the converter that feeds it, whose output then counts as the supply.
    limit: Option<Amps>,
}

/// A supply comes before a converter, which gives no more than its limit; then the lowest resistance; of equal ones, the pin
/// that the spec names first.
impl Label for Reached {
    fn order(&self, other: &Reached) -> Ordering {
        let class = self.limit.is_some().cmp(&other.limit.is_some());
        class.then(self.ohms.value().total_cmp(&other.ohms.value())).then(self.pin.cmp(&other.pin))
    }
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
    /// The supply's pin that feeds it, or the output of the converter that does.
    pub from: PinId,
    /// What leads from there to the short, each with the pin that it comes to.
    pub through: Vec<(Via, PinId)>,
    /// Fuses on the way, the one next to the supply first.
    pub fuses: Vec<ElementId>,
}

impl<'m> Shorts<'m> {
    /// Dijkstra's search.
    pub(super) fn new(connectivity: &Connectivity<'m>) -> Shorts<'m> {
        let model = connectivity.model();
        let stands = walk(connectivity.links(), Towards::Ground, &starts(model), &mut |here, hop| {
            let is_end = matches!(model.part(model.pin(hop.to).part).kind, PartKind::Supply | PartKind::Ground);
            let on = || Reached { pin: hop.to, ohms: here.label.ohms + of_link(model, hop.link), ..here.label };
            (!is_end).then(|| converter(model, hop).unwrap_or_else(on))
        });
        let mut least: Vec<Option<usize>> = vec![None; model.pins.len()];
        for (i, stand) in stands.iter().enumerate() {
            let best = &mut least[stand.pin.0];
            if best.is_none_or(|best| stand.label.order(&stands[best].label).is_lt()) {
                *best = Some(i);
            }
        }
        let grounds = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::GroundPoint { resistance, .. } => Some(resistance),
            _ => None,
        });
        Shorts { model, stands, least, back: grounds.fold(Ohms::new(0.0), Ohms::max) }
    }

    /// The resistance from the supply to a pin, the supply's own included.
    pub fn ohms_to(&self, pin: PinId) -> Option<Ohms> {
        Some(self.stands[self.least[pin.0]?].label.ohms)
    }

    /// The resistance of the chassis, on the path to ground.
    pub fn back(&self) -> Ohms {
        self.back
    }

    /// A short at the far end of a wire; `None` if no supply of the spec leads to it.
    pub fn at_end_of(&self, id: WireId) -> Option<ShortCircuit> {
        let ends = self.model.wire(id).ends;
        let near_first = match (self.ohms_to(ends[0]), self.ohms_to(ends[1])) {
            (Some(a), Some(b)) => a <= b,
            (near, _) => near.is_some(),
        };
        let (near, far) = if near_first { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
        self.short(near, Some((far, Link::Wire(id))))
    }

    /// A short at a pin, or at the end of one more link.
    pub fn short(&self, near: PinId, more: Option<(PinId, Link)>) -> Option<ShortCircuit> {
        let (model, mut stand) = (self.model, &self.stands[self.least[near.0]?]);
        let reached = stand.label;
        let mut through: Vec<(Via, PinId)> = Vec::new();
        while let Some((link, before)) = stand.by
            && !is_converter(model, link)
        {
            through.push((via(link), stand.pin));
            stand = &self.stands[before];
        }
        let from = stand.pin;
        through.reverse();
        through.extend(more.map(|(pin, link)| (via(link), pin)));
        let ohms = reached.ohms + more.map_or(Ohms::new(0.0), |(_, link)| of_link(model, link)) + self.back;
        let fuses = through.iter().filter_map(|(via, _)| match via {
            Via::Element(id) if matches!(model.element(*id).kind, ElementKind::Fuse { .. }) => Some(*id),
            _ => None,
        });
        Some(ShortCircuit {
            at: more.map_or(near, |(pin, _)| pin),
            amps: [reached.volts[0], reached.volts[2]].map(|volts| {
                let amps = volts / ohms;
                reached.limit.map_or(amps, |limit| amps.min(limit))
            }),
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

fn is_converter(model: &Model, link: Link) -> bool {
    matches!(link, Link::Through(id, _) if matches!(model.element(id).kind, ElementKind::Converter { .. }))
}

/// What the output of a converter gives; `None` for any other link.
fn converter(model: &Model, hop: Hop) -> Option<Reached> {
    let Link::Through(id, _) = hop.link else { return None };
    let ElementKind::Converter { volts, tolerance, limit, resistance, .. } = &model.element(id).kind else {
        return None;
    };
    let off = *volts * tolerance.value();
    Some(Reached { pin: hop.to, ohms: *resistance, volts: [*volts - off, *volts, *volts + off], limit: Some(*limit) })
}

fn starts(model: &Model) -> Vec<(PinId, Reached)> {
    let mut all: Vec<(PinId, Reached)> = Vec::new();
    for element in &model.elements {
        match element.kind {
            ElementKind::Battery { plus, volts, resistance, .. } => {
                all.push((plus, Reached { pin: plus, ohms: resistance, volts, limit: None }));
            }
            ElementKind::Derived { from, pin, resistance, .. } => {
                if let Some((_, source)) = all.iter().find(|(at, _)| *at == from).copied() {
                    all.push((pin, Reached { pin, ohms: source.ohms + resistance, ..source }));
                }
            }
            _ => {}
        }
    }
    // The wires of the vehicle that inputs tap, once the supplies that feed them are known.
    for element in &model.elements {
        if let ElementKind::Feed(feed) = &element.kind
            && let Some((_, source)) = all.iter().find(|(at, _)| Some(*at) == feed.from).copied()
        {
            all.push((feed.pin, Reached { pin: feed.pin, ohms: source.ohms + feed.resistance, ..source }));
        }
    }
    all
}

fn of_link(model: &Model, link: Link) -> Ohms {
    match link {
        Link::Wire(id) => {
            let wire = model.wire(id);
            let length = wire.length.unwrap_or(model.limits.local_length);
            conductor::resistance(wire.gauge, length, model.limits.hot) + model::end_contacts(model, wire)
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
