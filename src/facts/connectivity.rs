//! Which pins can be joined, in any state: where the current of a pin can come from, and where it can go.

use graph::{Link, Passage, SignalGraph};
use model::{ElementId, ElementKind, Model, PartKind, PinId, VehicleFeed, WireId};
use states::Wiring;
use std::collections::BTreeSet;

/// Which way a walk follows links that have a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Towards {
    /// Against the current.
    Supply,
    /// With the current.
    Ground,
}

/// One link out of a pin.
#[derive(Debug, Clone, Copy)]
pub struct Hop {
    /// Where it leads.
    pub to: PinId,
    /// What it is.
    pub link: Link,
}

/// The links that conduct in some state, by pin and direction. Coils and loads end a walk; video links do not count.
#[derive(Debug)]
pub struct Connectivity<'m> {
    wiring: &'m Wiring<'m>,
    towards_supply: Vec<Vec<Hop>>,
    towards_ground: Vec<Vec<Hop>>,
    /// For each pin, the wires on it.
    wires_on: Vec<Vec<WireId>>,
}

/// Whether two links through parts can never both be closed: the two sides of a change-over contact, two throws of a
/// switch.
pub fn exclude_each_other(model: &Model, a: Link, b: Link) -> bool {
    let (Link::Through(a, _), Link::Through(b, _)) = (a, b) else { return false };
    match (&model.element(a).kind, &model.element(b).kind) {
        (ElementKind::Contact { .. }, ElementKind::Contact { .. }) => a == b,
        (ElementKind::Throw { common: x, .. }, ElementKind::Throw { common: y, .. }) => x == y,
        _ => false,
    }
}

impl<'m> Connectivity<'m> {
    pub(super) fn new(wiring: &'m Wiring<'m>) -> Connectivity<'m> {
        let (model, graph) = (wiring.model, &wiring.graph);
        let conducts = |link: Link| {
            let Link::Through(element, passage) = link else { return true };
            // The vehicle's own wiring between a supply and its loads is no path through the harness.
            let vehicle = matches!(model.element(element).kind, ElementKind::Derived { .. } | ElementKind::Feed(_));
            !vehicle && matches!(passage, Passage::Plain | Passage::Switched | Passage::OneWay)
        };
        let hops = |beside: Vec<(PinId, graph::Edge)>| -> Vec<Hop> {
            let all = beside.into_iter().map(|(to, edge)| Hop { to, link: edge.link });
            all.filter(|hop| conducts(hop.link)).collect()
        };
        let mut wires_on = vec![Vec::new(); model.pins.len()];
        for id in model.wire_ids() {
            model.wire(id).ends.iter().for_each(|end| wires_on[end.0].push(id));
        }
        Connectivity {
            wiring,
            towards_supply: model.pin_ids().map(|pin| hops(graph.upstream(pin))).collect(),
            towards_ground: model.pin_ids().map(|pin| hops(graph.beside(pin))).collect(),
            wires_on,
        }
    }

    pub(super) fn model(&self) -> &'m Model {
        self.wiring.model
    }

    /// The links out of a pin, in one direction.
    pub fn hops(&self, pin: PinId, towards: Towards) -> &[Hop] {
        match towards {
            Towards::Supply => &self.towards_supply[pin.0],
            Towards::Ground => &self.towards_ground[pin.0],
        }
    }

    /// The wires on a pin.
    pub fn wires_on(&self, pin: PinId) -> &[WireId] {
        &self.wires_on[pin.0]
    }

    /// Whether anything ends on a pin: a wire, or a cavity that meets it.
    pub fn is_joined(&self, pin: PinId) -> bool {
        let is_joint = |hop: &Hop| matches!(hop.link, Link::Joint(_));
        !self.wires_on(pin).is_empty() || self.towards_ground[pin.0].iter().any(is_joint)
    }

    /// The pins that meet a pin without a wire.
    pub fn mates(&self, pin: PinId) -> Vec<PinId> {
        let joints = self.model().joints.iter().filter(|joint| joint.pins.contains(&pin));
        joints.map(|joint| joint.pins[usize::from(joint.pins[0] == pin)]).collect()
    }

    /// The vehicle's wire that a tap is on.
    pub fn feed_at(&self, pin: PinId) -> Option<&'m VehicleFeed> {
        let model = self.model();
        let part = model.part(model.pin(pin).part);
        part.elements.iter().find_map(|id| match &model.element(*id).kind {
            ElementKind::Feed(feed) if feed.pin == pin => Some(feed),
            _ => None,
        })
    }

    /// Whether anything inside its part joins this pin to another.
    pub fn has_inside(&self, pin: PinId) -> bool {
        let node = SignalGraph::node(pin);
        let inside = |link: Link| matches!(link, Link::Through(..));
        let graph = &self.wiring.graph.graph;
        graph.edges(node).any(|e| inside(e.weight().link))
            || graph.edges_directed(node, petgraph::Incoming).any(|e| inside(e.weight().link))
    }

    /// Whether a supply leads to a pin.
    pub fn is_fed(&self, pin: PinId) -> bool {
        self.has_supply(&self.reached(pin, Towards::Supply))
    }

    /// Whether a pin leads to a ground.
    pub fn is_grounded(&self, pin: PinId) -> bool {
        self.has_ground(&self.reached(pin, Towards::Ground))
    }

    /// Every pin that a walk from `start` reaches, `start` first, nearest first. It ends at supplies and grounds.
    pub fn reached(&self, start: PinId, towards: Towards) -> Vec<PinId> {
        self.reached_by(start, towards, &|_, _| true)
    }

    /// The same, but never through one element.
    pub fn reached_beside(&self, start: PinId, towards: Towards, never: Option<ElementId>) -> Vec<PinId> {
        self.reached_by(start, towards, &|element, _| Some(element) != never)
    }

    /// The same, but only through elements that `may` allows, given the two pins.
    pub fn reached_by(
        &self,
        start: PinId,
        towards: Towards,
        may: &dyn Fn(ElementId, [PinId; 2]) -> bool,
    ) -> Vec<PinId> {
        let mut seen: BTreeSet<(PinId, Option<ElementId>)> = BTreeSet::new();
        let mut order = vec![(start, None)];
        let mut next = 0;
        while let Some((pin, by)) = order.get(next).copied() {
            next += 1;
            let kind = self.model().part(self.model().pin(pin).part).kind;
            if pin != start && matches!(kind, PartKind::Supply | PartKind::Ground) {
                continue;
            }
            for hop in self.hops(pin, towards) {
                if by.is_some_and(|by| exclude_each_other(self.model(), by, hop.link)) {
                    continue;
                }
                let element = match hop.link {
                    Link::Through(id, _) => Some(id),
                    _ => None,
                };
                if element.is_some_and(|id| !may(id, [pin, hop.to])) {
                    continue;
                }
                if hop.to != start && seen.insert((hop.to, element)) {
                    order.push((hop.to, Some(hop.link)));
                }
            }
        }
        let mut pins = Vec::new();
        let mut listed = BTreeSet::new();
        for (pin, _) in order {
            if listed.insert(pin) {
                pins.push(pin);
            }
        }
        pins
    }

    /// Whether one of these pins gives supply: a supply, or a wire of the vehicle that is live when on.
    pub fn has_supply(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|&pin| {
            let kind = self.model().part(self.model().pin(pin).part).kind;
            kind == PartKind::Supply || self.feed_at(pin).is_some_and(|feed| feed.from.is_some())
        })
    }

    /// Whether one of these pins takes current back: a ground, or a wire of the vehicle that goes to ground when on.
    pub fn has_ground(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|&pin| {
            let kind = self.model().part(self.model().pin(pin).part).kind;
            kind == PartKind::Ground || self.feed_at(pin).is_some_and(|feed| feed.from.is_none())
        })
    }
}
