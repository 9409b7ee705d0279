//! Which pins can be joined, in any state: where the current of a pin can come from, and where it can go.

use super::walk::{Hop, Links, Stand, Towards, walk};
use graph::{Link, SignalGraph};
use model::{ElementId, ElementKind, Family, Model, PartKind, PinId, VehicleFeed, WireId};
use states::Wiring;
use std::sync::OnceLock;

/// The links that conduct in some state, and the wires on each pin.
#[derive(Debug)]
pub struct Connectivity<'m> {
    wiring: &'m Wiring<'m>,
    links: Links<'m>,
    /// For each pin, the wires on it.
    wires_on: Vec<Vec<WireId>>,
    /// For each pin, whether a supply leads to it.
    fed: OnceLock<Vec<bool>>,
    /// For each pin, whether it leads to a ground.
    grounded: OnceLock<Vec<bool>>,
}

impl<'m> Connectivity<'m> {
    pub(super) fn new(wiring: &'m Wiring<'m>) -> Connectivity<'m> {
        let model = wiring.model;
        let mut wires_on = vec![Vec::new(); model.pins.len()];
        for id in model.wire_ids() {
            model.wire(id).ends.iter().for_each(|end| wires_on[end.0].push(id));
        }
        let links = Links::new(model, &wiring.graph);
        Connectivity { wiring, links, wires_on, fed: OnceLock::new(), grounded: OnceLock::new() }
    }

    pub(super) fn model(&self) -> &'m Model {
        self.wiring.model
    }

    /// The links that conduct in some state.
    pub fn links(&self) -> &Links<'m> {
        &self.links
    }

    /// The wires on a pin.
    pub fn wires_on(&self, pin: PinId) -> &[WireId] {
        &self.wires_on[pin.0]
    }

    /// Whether anything ends on a pin: a wire, or a cavity that meets it.
    pub fn is_joined(&self, pin: PinId) -> bool {
        let is_joint = |hop: &Hop| matches!(hop.link, Link::Joint(_));
        !self.wires_on(pin).is_empty() || self.links.out_of(pin, Towards::Ground).iter().any(is_joint)
    }

    /// The pins that meet a pin without a wire.
    pub fn mates(&self, pin: PinId) -> Vec<PinId> {
        let joints = self.model().joints.iter().filter(|joint| joint.pins.contains(&pin));
        joints.map(|joint| joint.pins[usize::from(joint.pins[0] == pin)]).collect()
    }

    /// Whether a pin is in a trailer socket without its plug: what it feeds then is not in the spec.
    pub fn is_open_socket(&self, pin: PinId) -> bool {
        let model = self.model();
        model.part(model.pin(pin).part).form.family == Family::TrailerSocket && self.mates(pin).is_empty()
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
        self.fed.get_or_init(|| self.reached_from(|pin| self.gives_supply(pin), Towards::Ground))[pin.0]
    }

    /// Whether a pin leads to a ground.
    pub fn is_grounded(&self, pin: PinId) -> bool {
        self.grounded.get_or_init(|| self.reached_from(|pin| self.takes_back(pin), Towards::Supply))[pin.0]
    }

    /// For each pin, whether a walk from one of the pins that `starts` picks comes to it. The walk from the pin in the other
    /// direction comes to the start over the same links, so one walk answers for all pins.
    fn reached_from(&self, starts: impl Fn(PinId) -> bool, towards: Towards) -> Vec<bool> {
        let starts: Vec<(PinId, ())> = self.model().pin_ids().filter(|pin| starts(*pin)).map(|pin| (pin, ())).collect();
        let mut reached = vec![false; self.model().pins.len()];
        let stands = walk(&self.links, towards, &starts, &mut |here, _| self.goes_on(here).then_some(()));
        stands.iter().for_each(|stand| reached[stand.pin.0] = true);
        reached
    }

    /// Whether a walk goes on from here: it ends at supplies and grounds.
    fn goes_on(&self, here: &Stand<()>) -> bool {
        let kind = self.model().part(self.model().pin(here.pin).part).kind;
        here.by.is_none() || !matches!(kind, PartKind::Supply | PartKind::Ground)
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
        let stands = walk(&self.links, towards, &[(start, ())], &mut |here, hop| {
            let is_open = match hop.link {
                Link::Through(id, _) => may(id, [here.pin, hop.to]),
                Link::Wire(_) | Link::Joint(_) => true,
            };
            (is_open && hop.to != start && self.goes_on(here)).then_some(())
        });
        let mut listed = vec![false; self.model().pins.len()];
        let pins = stands.iter().map(|stand| stand.pin);
        pins.filter(|pin| !std::mem::replace(&mut listed[pin.0], true)).collect()
    }

    /// Whether one of these pins gives supply: a supply, or a wire of the vehicle that is live when on.
    pub fn has_supply(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|pin| self.gives_supply(*pin))
    }

    fn gives_supply(&self, pin: PinId) -> bool {
        let kind = self.model().part(self.model().pin(pin).part).kind;
        kind == PartKind::Supply || self.feed_at(pin).is_some_and(|feed| feed.from.is_some())
    }

    /// Whether one of these pins takes current back: a ground, or a wire of the vehicle that goes to ground when on.
    pub fn has_ground(&self, pins: &[PinId]) -> bool {
        pins.iter().any(|pin| self.takes_back(*pin))
    }

    fn takes_back(&self, pin: PinId) -> bool {
        let kind = self.model().part(self.model().pin(pin).part).kind;
        kind == PartKind::Ground || self.feed_at(pin).is_some_and(|feed| feed.from.is_none())
    }
}
