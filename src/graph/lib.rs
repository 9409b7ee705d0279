//! The signal graph: pins, and everything that joins them, by domain. In comes the model; out goes a directed graph
//! that later stages walk and that people can view as DOT.
//!
//! A link that has no direction of its own (a wire, a joint, a contact) is held once, from its first pin to its second;
//! [`SignalGraph::beside`] walks it either way. A video path inside a part, a diode or a load has a direction, and
//! [`Link::both_ways`] says so.

mod dot;
mod nets;

pub use dot::dot;
pub use nets::Nets;

pub use model::Passage;
use model::{Domain, Element, ElementId, ElementKind, Model, PartId, PinId, WireId};
use petgraph::graph::{DiGraph, EdgeIndex, NodeIndex};
use petgraph::visit::EdgeRef;

/// What joins two pins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Link {
    /// A wire of the harness.
    Wire(WireId),
    /// Mated cavities, or a cavity on a part's own pin.
    Joint(usize),
    /// What passes through a part.
    Through(ElementId, Passage),
}

impl Link {
    /// Whether it may be walked against its direction.
    pub fn both_ways(self) -> bool {
        match self {
            Link::Wire(_) | Link::Joint(_) => true,
            Link::Through(_, passage) => matches!(passage, Passage::Plain | Passage::Switched),
        }
    }
}

/// An edge of the graph.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Edge {
    /// What it is.
    pub link: Link,
    /// The kind of signal that it carries.
    pub domain: Domain,
}

/// The graph. Node `n` is pin `n` of the model.
#[derive(Debug, Clone)]
pub struct SignalGraph {
    /// The graph itself.
    pub graph: DiGraph<PinId, Edge>,
}

impl SignalGraph {
    /// The node of a pin.
    pub fn node(pin: PinId) -> NodeIndex {
        NodeIndex::new(pin.0)
    }

    /// Pins one link away from a pin, in the directions that links allow, in the order they were added.
    pub fn beside(&self, pin: PinId) -> Vec<(PinId, Edge)> {
        let node = Self::node(pin);
        let out = self.graph.edges(node).map(|e| (e.id(), e.target(), *e.weight()));
        let back = self.graph.edges_directed(node, petgraph::Incoming).map(|e| (e.id(), e.source(), *e.weight()));
        let mut all: Vec<(EdgeIndex, NodeIndex, Edge)> = out.chain(back.filter(|e| e.2.link.both_ways())).collect();
        all.sort_by_key(|e| e.0);
        all.into_iter().map(|(_, other, edge)| (self.graph[other], edge)).collect()
    }

    /// Pins one link upstream of a signal pin: the possible senders.
    pub fn upstream(&self, pin: PinId) -> Vec<(PinId, Edge)> {
        let node = Self::node(pin);
        let into = self.graph.edges_directed(node, petgraph::Incoming).map(|e| (e.id(), e.source(), *e.weight()));
        let out = self.graph.edges(node).map(|e| (e.id(), e.target(), *e.weight()));
        let mut all: Vec<(EdgeIndex, NodeIndex, Edge)> = into.chain(out.filter(|e| e.2.link.both_ways())).collect();
        all.sort_by_key(|e| e.0);
        all.into_iter().map(|(_, other, edge)| (self.graph[other], edge)).collect()
    }
}

/// Builds the signal graph of a harness.
pub fn signal_graph(model: &Model) -> SignalGraph {
    let mut graph = DiGraph::new();
    for pin in model.pin_ids() {
        graph.add_node(pin);
    }
    let mut add = |from: PinId, to: PinId, link: Link, domain: Domain| {
        graph.add_edge(SignalGraph::node(from), SignalGraph::node(to), Edge { link, domain });
    };
    for id in model.wire_ids() {
        let wire = model.wire(id);
        add(wire.ends[0], wire.ends[1], Link::Wire(id), wire.domain);
    }
    for (i, joint) in model.joints.iter().enumerate() {
        add(joint.pins[0], joint.pins[1], Link::Joint(i), model.pin(joint.pins[0]).domain);
    }
    for (i, element) in model.elements.iter().enumerate() {
        for (from, to, passage) in passages(element) {
            let domain = if passage == Passage::Load { Domain::Ground } else { model.pin(to).domain };
            add(from, to, Link::Through(ElementId(i), passage), domain);
        }
    }
    SignalGraph { graph }
}

/// The paths of an element from pin to pin. A converter is shown by the path to its output alone.
fn passages(element: &Element) -> impl Iterator<Item = (PinId, PinId, Passage)> {
    let converter = matches!(element.kind, ElementKind::Converter { .. });
    let shown = element.paths().filter(move |path| !(converter && path.passage == Passage::Load));
    shown.filter_map(|path| path.pins().map(|[from, to]| (from, to, path.passage)))
}

/// Most steps that [`picture_paths`] takes from one screen input.
const MOST_STEPS: usize = 20_000;

/// A video path, from a screen's input back to its source.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PicturePath {
    /// The part that sends it.
    pub source: PartId,
    /// The source's pin.
    pub source_pin: PinId,
    /// Links from the screen's input back to the source, each with the pin that it leads to.
    pub links: Vec<(PinId, Link)>,
}

/// Every video path to a video pin in any state, each walked back to its source; which
/// of them are open in a state is decided by the conditions of the `Passes` elements on the way.
pub fn picture_paths(model: &Model, graph: &SignalGraph, input: PinId) -> Vec<PicturePath> {
    let mut found = Vec::new();
    let mut stack = vec![(input, Vec::<(PinId, Link)>::new())];
    // A mesh of video wires has too many paths to count; a real one has a handful.
    let mut steps = 0;
    while let Some((pin, links)) = stack.pop().filter(|_| steps < MOST_STEPS) {
        steps += 1;
        if let Some(source) = source_at(model, pin) {
            found.push(PicturePath { source, source_pin: pin, links: links.clone() });
        }
        for (next, edge) in graph.upstream(pin).into_iter().rev() {
            let carries = match edge.link {
                Link::Wire(_) | Link::Joint(_) => true,
                Link::Through(_, passage) => passage == Passage::Signal || passage == Passage::Plain,
            };
            let seen = next == input || links.iter().any(|(p, _)| *p == next);
            if carries && !seen && model.pin(next).domain == Domain::Video {
                let mut more = links.clone();
                more.push((next, edge.link));
                stack.push((next, more));
            }
        }
    }
    found
}

/// The part whose picture starts at this pin.
fn source_at(model: &Model, pin: PinId) -> Option<PartId> {
    let part = model.pin(pin).part;
    let starts = |id: &ElementId| matches!(&model.element(*id).kind, ElementKind::Source { pin: p, .. } if *p == pin);
    model.part(part).elements.iter().any(starts).then_some(part)
}
