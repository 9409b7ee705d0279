//! What limits the current of each wire if it is shorted to ground: on each path from a supply the lowest rating, and
//! of all ways the maximum of these.

use super::connectivity::Connectivity;
use super::walk::{Label, Towards, walk};
use graph::{Link, Nets};
use model::{ElementId, ElementKind, Model, PartId, PartKind, PinId, VehicleFuse, WireId};
use quantity::{Amps, Volts};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// What limits the current in a wire if it is shorted to ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Guard {
    /// No supply leads to it.
    Dead,
    /// Nothing limits it.
    Open(PartId),
    /// A fuse, a breaker or a converter of the harness.
    Element(ElementId, Amps),
    /// The vehicle's own fuse.
    Vehicle(VehicleFuse),
    /// A resistance.
    Other(Amps),
}

impl Guard {
    /// The current that it lets through continuously; infinite if there is none.
    fn amps(self) -> f64 {
        match self {
            Guard::Dead => 0.0,
            Guard::Open(_) => f64::INFINITY,
            Guard::Element(_, amps) | Guard::Other(amps) => amps.value(),
            Guard::Vehicle(fuse) => fuse.rating.value(),
        }
    }

    fn least(self, other: Guard) -> Guard {
        if other.amps() < self.amps() { other } else { self }
    }
}

/// The guard of every wire.
#[derive(Debug)]
pub struct Protection {
    wires: Vec<Guard>,
    /// Fuses that join the same two nets, each such group in the order of the spec.
    beside: Vec<Vec<ElementId>>,
}

/// The highest current comes first.
impl Label for Guard {
    fn order(&self, other: &Guard) -> Ordering {
        other.amps().total_cmp(&self.amps())
    }
}

impl Protection {
    /// Walks from every supply, the best fed pins first, so that the first visit of a pin has its highest current.
    pub(super) fn new(connectivity: &Connectivity) -> Protection {
        let model = connectivity.model();
        let mut wires = vec![Guard::Dead; model.wires.len()];
        let beside = beside(model);
        walk(connectivity.links(), Towards::Ground, &starts(model), &mut |here, hop| {
            let guard = match hop.link {
                Link::Through(id, _) => through(model, &beside, id, here.label),
                Link::Wire(_) | Link::Joint(_) => here.label,
            };
            if let Link::Wire(wire) = hop.link
                && wires[wire.0].amps() < guard.amps()
            {
                wires[wire.0] = guard;
            }
            // A supply with a wire from another supply feeds its loads from both.
            let is_ground = model.part(model.pin(hop.to).part).kind == PartKind::Ground;
            (!is_ground).then_some(guard)
        });
        for (i, guard) in wires.iter_mut().enumerate() {
            *guard = own_share(model, &beside, WireId(i), *guard);
        }
        Protection { wires, beside }
    }

    /// The fuses in parallel with a fuse, itself included, whose ratings add up; empty if it is alone.
    pub fn beside(&self, fuse: ElementId) -> &[ElementId] {
        self.beside.iter().find(|group| group.contains(&fuse)).map_or(&[], |group| group)
    }

    /// All fuses that are in parallel with others.
    pub fn groups(&self) -> &[Vec<ElementId>] {
        &self.beside
    }

    /// What limits a wire's current.
    pub fn of(&self, wire: WireId) -> Guard {
        self.wires[wire.0]
    }
}

fn starts(model: &Model) -> Vec<(PinId, Guard)> {
    let source = |element: &model::Element| {
        let pin = match &element.kind {
            ElementKind::Battery { plus, .. } => *plus,
            ElementKind::Derived { pin, .. } => *pin,
            ElementKind::Feed(feed) => feed.from.map(|_| feed.pin)?,
            _ => return None,
        };
        Some((pin, model.vehicle_fuse(pin).map_or(Guard::Open(element.part), Guard::Vehicle)))
    };
    model.elements.iter().filter_map(source).collect()
}

/// Fuses between the same two nets.
fn beside(model: &Model) -> Vec<Vec<ElementId>> {
    let nets = Nets::new(model);
    let mut groups: BTreeMap<[usize; 2], Vec<ElementId>> = BTreeMap::new();
    for (i, element) in model.elements.iter().enumerate() {
        if let ElementKind::Fuse { between, .. } = element.kind {
            let mut ends = between.map(|pin| nets.of(pin));
            ends.sort_unstable();
            if ends[0] != ends[1] {
                groups.entry(ends).or_default().push(ElementId(i));
            }
        }
    }
    groups.into_values().filter(|group| group.len() > 1).collect()
}

/// The wire between one of several fuses and where they join carries that one's share alone.
fn own_share(model: &Model, beside: &[Vec<ElementId>], wire: WireId, guard: Guard) -> Guard {
    let Guard::Element(id, _) = guard else { return guard };
    let Some(group) = beside.iter().find(|group| group.contains(&id)) else { return guard };
    let own = group.iter().find_map(|id| match model.element(*id).kind {
        ElementKind::Fuse { between, rating, .. } => {
            let alone = |pin: &PinId| between.contains(pin) && model.wires_on(*pin).count() == 1;
            model.wire(wire).ends.iter().any(alone).then_some(Guard::Element(*id, rating))
        }
        _ => None,
    });
    own.unwrap_or(guard)
}

/// What limits the current behind an element. A converter changes amperes: its output gives its limit, or what the guard
/// of its input lets through at the highest supply voltage if that is less.
fn through(model: &Model, beside: &[Vec<ElementId>], id: ElementId, before: Guard) -> Guard {
    match &model.element(id).kind {
        ElementKind::Converter { limit, volts, .. } => {
            let fed = Amps::new(before.amps() * (highest_supply(model) / *volts).max(1.0));
            Guard::Element(id, limit.min(fed))
        }
        _ => before.least(of_element(model, beside, id)),
    }
}

fn highest_supply(model: &Model) -> Volts {
    let volts = model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Battery { volts, .. } => Some(volts[2]),
        _ => None,
    });
    volts.reduce(|a, b| a.max(b)).unwrap_or(model.job.nominal)
}

/// What an element lets through continuously: a fuse its rating, with that of those beside it, a resistor what the highest
/// supply drives through it.
fn of_element(model: &Model, beside: &[Vec<ElementId>], id: ElementId) -> Guard {
    match &model.element(id).kind {
        ElementKind::Fuse { rating, .. } => {
            let group = beside.iter().find(|group| group.contains(&id));
            let ratings = group.into_iter().flatten().filter_map(|id| match model.element(*id).kind {
                ElementKind::Fuse { rating, .. } => Some(rating),
                _ => None,
            });
            Guard::Element(id, rating.max(ratings.sum()))
        }
        ElementKind::Resistor { resistance, .. } if resistance.value() > 0.0 => {
            Guard::Other(highest_supply(model) / *resistance)
        }
        _ => Guard::Open(model.element(id).part),
    }
}
