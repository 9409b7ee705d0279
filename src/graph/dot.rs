//! The signal graph as DOT, through graphviz-rust. That library quotes nothing, so every identifier and label is
//! quoted here.

use super::{Edge, Link, Passage, SignalGraph};
use graphviz_rust::dot_structures::{
    Attribute, Edge as DotEdge, EdgeTy, Graph, GraphAttributes, Id, Node, NodeId, Stmt, Subgraph, Vertex,
};
use graphviz_rust::printer::{DotPrinter, PrinterContext};
use model::{Domain, Model, PartId, PinId};
use petgraph::visit::EdgeRef;

/// The DOT text: parts as clusters of their pins, an edge for every wire, joint and passage; `only` keeps one domain.
pub fn dot(model: &Model, graph: &SignalGraph, only: Option<Domain>) -> String {
    let mut stmts = vec![
        Stmt::GAttribute(GraphAttributes::Graph(vec![
            attribute("rankdir", "LR"),
            attribute("label", &model.job.title),
            attribute("labelloc", "t"),
            attribute("fontname", "sans-serif"),
        ])),
        Stmt::GAttribute(GraphAttributes::Node(vec![
            attribute("shape", "box"),
            attribute("fontname", "sans-serif"),
            attribute("fontsize", "10"),
        ])),
        Stmt::GAttribute(GraphAttributes::Edge(vec![attribute("fontname", "sans-serif"), attribute("fontsize", "9")])),
    ];
    let edges: Vec<_> = graph.graph.edge_references().filter(|e| only.is_none_or(|d| e.weight().domain == d)).collect();
    let used =
        |pin: PinId| only.is_none() || edges.iter().any(|e| [e.source(), e.target()].contains(&SignalGraph::node(pin)));
    for part in model.part_ids() {
        let pins: Vec<PinId> = model.part(part).pins.iter().copied().filter(|&p| used(p)).collect();
        if !pins.is_empty() {
            stmts.push(Stmt::Subgraph(cluster(model, part, &pins)));
        }
    }
    for edge in &edges {
        stmts.push(Stmt::Edge(link(model, graph.graph[edge.source()], graph.graph[edge.target()], edge.weight())));
    }
    let graph = Graph::DiGraph { id: quoted("signals"), strict: false, stmts };
    let mut text = graph.print(&mut PrinterContext::default());
    text.push('\n');
    text
}

/// A text in double quotes, as the DOT language reads it: a quote or a backslash gets a backslash before it.
fn quoted(text: &str) -> Id {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    Id::Plain(out)
}

fn attribute(key: &str, value: &str) -> Attribute {
    Attribute(Id::Plain(key.to_string()), quoted(value))
}

fn node_id(pin: PinId) -> NodeId {
    NodeId(Id::Plain(format!("pin{}", pin.0)), None)
}

fn cluster(model: &Model, part: PartId, pins: &[PinId]) -> Subgraph {
    let this = model.part(part);
    let mut stmts = vec![Stmt::Attribute(attribute("label", &format!("{} · {}", this.name, this.title)))];
    for &pin in pins {
        let title = attribute("label", model.pin(pin).name.as_str());
        stmts.push(Stmt::Node(Node { id: node_id(pin), attributes: vec![title] }));
    }
    Subgraph { id: Id::Plain(format!("cluster{}", part.0)), stmts }
}

/// Lines of the domains: dash patterns distinguish them, not colours alone.
fn line(domain: Domain) -> (&'static str, &'static str) {
    match domain {
        Domain::Power => ("#a4243b", "bold"),
        Domain::Ground => ("#333333", "solid"),
        Domain::Trigger => ("#1b5e8c", "solid"),
        Domain::Video => ("#5b2a86", "dashed"),
        Domain::Audio => ("#22663a", "dashed"),
        Domain::Data => ("#6b4e00", "dotted"),
    }
}

fn link(model: &Model, from: PinId, to: PinId, edge: &Edge) -> DotEdge {
    let (colour, style) = line(edge.domain);
    let mut attributes = vec![attribute("color", colour), attribute("style", style)];
    if edge.link.both_ways() {
        attributes.push(attribute("dir", "none"));
    }
    let label = match edge.link {
        Link::Wire(id) => {
            let wire = model.wire(id);
            let colour = wire.colour.map(|c| format!(" {c}")).unwrap_or_default();
            format!("{} {}{colour}", wire.id, wire.gauge)
        }
        Link::Joint(_) => "mated".to_string(),
        Link::Through(_, passage) => match passage {
            Passage::Plain => "through",
            Passage::Switched => "switched",
            Passage::OneWay => "one way",
            Passage::Load => "load",
            Passage::Signal => "signal",
        }
        .to_string(),
    };
    attributes.push(attribute("label", &label));
    let ends = EdgeTy::Pair(Vertex::N(node_id(from)), Vertex::N(node_id(to)));
    DotEdge { ty: ends, attributes }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_names_stay_inside_their_quotes() {
        let shown = |text: &str| match quoted(text) {
            Id::Plain(text) => text,
            _ => String::new(),
        };
        assert_eq!(shown(r#"Relay "K1" <x>"#), r#""Relay \"K1\" <x>""#);
        assert_eq!(shown("a\\"), r#""a\\""#);
        assert_eq!(shown("a\nb"), "\"a b\"");
    }
}
