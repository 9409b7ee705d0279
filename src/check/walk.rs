//! Walks over the harness whatever its state: where a pin's current can come from, and where it can go.

use super::Context;
use graph::{Link, Passage, SignalGraph};
use model::{Coil, ElementId, ElementKind, Model, PartId, PartKind, PinId};
use std::collections::BTreeSet;

/// Which way a walk goes along links that have a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Against the current, towards supplies.
    Up,
    /// With the current, towards grounds.
    Down,
}

/// One link out of a pin.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// Where it leads.
    pub to: PinId,
    /// What it is.
    pub link: Link,
}

/// Links that conduct, by pin and way. Coils and loads end a walk; pictures are none of its business.
#[derive(Debug)]
pub struct Neighbours {
    up: Vec<Vec<Step>>,
    down: Vec<Vec<Step>>,
}

impl Neighbours {
    /// Of every pin.
    pub fn new(model: &Model, graph: &SignalGraph) -> Neighbours {
        let conducts = |link: Link| {
            let Link::Through(element, passage) = link else { return true };
            // The vehicle's own wiring between a supply and what it feeds is no way through the harness.
            let vehicle = matches!(model.element(element).kind, ElementKind::Derived { .. } | ElementKind::Feed(_));
            !vehicle && matches!(passage, Passage::Plain | Passage::Switched | Passage::OneWay)
        };
        let steps = |beside: Vec<(PinId, graph::Edge)>| -> Vec<Step> {
            let all = beside.into_iter().map(|(to, edge)| Step { to, link: edge.link });
            all.filter(|step| conducts(step.link)).collect()
        };
        Neighbours {
            up: model.pin_ids().map(|pin| steps(graph.upstream(pin))).collect(),
            down: model.pin_ids().map(|pin| steps(graph.beside(pin))).collect(),
        }
    }

    /// Links out of a pin, one way.
    pub fn of(&self, pin: PinId, way: Way) -> &[Step] {
        match way {
            Way::Up => &self.up[pin.0],
            Way::Down => &self.down[pin.0],
        }
    }

    /// Whether a cavity meets the pin.
    pub fn has_joint(&self, pin: PinId) -> bool {
        self.down[pin.0].iter().any(|step| matches!(step.link, Link::Joint(_)))
    }
}

/// Whether two links through parts can't both be closed: the two sides of a change-over contact, two throws of a switch.
pub fn exclude_each_other(model: &Model, a: Link, b: Link) -> bool {
    let (Link::Through(a, _), Link::Through(b, _)) = (a, b) else { return false };
    match (&model.element(a).kind, &model.element(b).kind) {
        (ElementKind::Contact { .. }, ElementKind::Contact { .. }) => a == b,
        (ElementKind::Throw { common: x, .. }, ElementKind::Throw { common: y, .. }) => x == y,
        _ => false,
    }
}

impl Context<'_> {
    /// Every pin that a walk from `start` comes to, `start` first, nearest first. It ends at supplies and grounds.
    pub fn reached(&self, start: PinId, way: Way) -> Vec<PinId> {
        self.reached_by(start, way, &|_, _| true)
    }

    /// The same, but never through one element.
    pub fn reached_beside(&self, start: PinId, way: Way, never: Option<ElementId>) -> Vec<PinId> {
        self.reached_by(start, way, &|element, _| Some(element) != never)
    }

    /// The same, but through elements only where `may` says so of the element and the two pins.
    pub fn reached_by(&self, start: PinId, way: Way, may: &dyn Fn(ElementId, [PinId; 2]) -> bool) -> Vec<PinId> {
        let mut seen: BTreeSet<(PinId, Option<ElementId>)> = BTreeSet::new();
        let mut order = vec![(start, None)];
        let mut next = 0;
        while let Some((pin, by)) = order.get(next).copied() {
            next += 1;
            let kind = self.model.part(self.model.pin(pin).part).kind;
            if pin != start && matches!(kind, PartKind::Supply | PartKind::Ground) {
                continue;
            }
            for step in self.neighbours.of(pin, way) {
                if by.is_some_and(|by| exclude_each_other(self.model, by, step.link)) {
                    continue;
                }
                let element = match step.link {
                    Link::Through(id, _) => Some(id),
                    _ => None,
                };
                if element.is_some_and(|id| !may(id, [pin, step.to])) {
                    continue;
                }
                if step.to != start && seen.insert((step.to, element)) {
                    order.push((step.to, Some(step.link)));
                }
            }
        }
        let mut pins = Vec::new();
        let mut told = BTreeSet::new();
        for (pin, _) in order {
            if told.insert(pin) {
                pins.push(pin);
            }
        }
        pins
    }

    /// Whether one of these pins gives supply: a supply, or a wire of the vehicle that is live when on.
    pub fn has_supply(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|&pin| {
            let kind = self.model.part(self.model.pin(pin).part).kind;
            kind == PartKind::Supply || self.feed_at(pin).is_some_and(|feed| feed.from.is_some())
        })
    }

    /// Whether one of these pins takes current back: a ground, or a wire of the vehicle that goes to ground when on.
    pub fn has_ground(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|&pin| {
            let kind = self.model.part(self.model.pin(pin).part).kind;
            kind == PartKind::Ground || self.feed_at(pin).is_some_and(|feed| feed.from.is_none())
        })
    }
}

/// What in a part needs a supply and a ground.
#[derive(Debug, Clone, Copy)]
pub struct Consumer {
    /// Where current goes in; none for what only needs a ground.
    pub feed: Option<PinId>,
    /// Where it comes out; none for what only needs a supply.
    pub ground: Option<PinId>,
    /// Whether it works either way round: a coil.
    pub either_way: bool,
}

impl Context<'_> {
    /// The consumers of a part. An output or a trigger input counts only where something is joined to it.
    pub fn consumers(&self, part: PartId) -> Vec<Consumer> {
        let of = |id: &ElementId| {
            let (feed, ground, either_way) = match &self.model.element(*id).kind {
                ElementKind::Load(load) => (Some(load.feed), Some(load.ground), false),
                // Whether a diode minds is the question of net/coil-polarity.
                ElementKind::Coil(coil) => (Some(coil.feed), Some(coil.ground), true),
                ElementKind::Converter { input, ground, .. } => (Some(*input), Some(*ground), false),
                ElementKind::Output { pin, other, high_side: true, .. } if self.is_joined(*pin) => {
                    (Some(*other), None, false)
                }
                ElementKind::Output { pin, other, .. } if self.is_joined(*pin) => (None, Some(*other), false),
                ElementKind::Sense { pin, ground, .. } if self.is_joined(*pin) => (None, Some(*ground), false),
                _ => return None,
            };
            Some(Consumer { feed, ground, either_way })
        };
        self.model.part(part).elements.iter().filter_map(of).collect()
    }

    /// Whether supply comes in where the ground belongs, and ground where the supply does.
    pub fn is_exchanged(&self, consumer: &Consumer) -> bool {
        let (Some(feed), Some(ground)) = (consumer.feed, consumer.ground) else { return false };
        let as_meant = self.is_fed(feed) || self.is_grounded(ground);
        !consumer.either_way && !as_meant && self.is_fed(ground) && self.is_grounded(feed)
    }

    /// Whether a pin is one that the part can do without and that nothing is joined to.
    pub fn is_spare(&self, pin: PinId) -> bool {
        self.model.pin(pin).optional && !self.is_joined(pin)
    }

    /// Whether anything is joined to any pin of a part.
    pub fn is_wired(&self, part: PartId) -> bool {
        self.model.part(part).pins.iter().any(|&pin| self.is_joined(pin))
    }

    /// Whether a supply leads to a pin.
    pub fn is_fed(&self, pin: PinId) -> bool {
        self.has_supply(&self.reached(pin, Way::Up))
    }

    /// Whether a pin leads to a ground.
    pub fn is_grounded(&self, pin: PinId) -> bool {
        self.has_ground(&self.reached(pin, Way::Down))
    }

    /// Whether a part lets something happen between this pin and another of its own.
    pub fn has_inside(&self, pin: PinId) -> bool {
        let node = SignalGraph::node(pin);
        let inside = |link: Link| matches!(link, Link::Through(..));
        let graph = &self.solved.graph.graph;
        graph.edges(node).any(|e| inside(e.weight().link))
            || graph.edges_directed(node, petgraph::Incoming).any(|e| inside(e.weight().link))
    }

    /// Whether current comes in at a coil's ground side and leaves at its feed side.
    pub fn is_crossed(&self, coil: &Coil) -> bool {
        let as_meant = self.is_fed(coil.feed) && self.is_grounded(coil.ground);
        !as_meant && self.is_fed(coil.ground) && self.is_grounded(coil.feed)
    }
}
