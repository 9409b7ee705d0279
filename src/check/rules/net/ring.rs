use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::branches::JOINT;
use model::{ElementKind, PartId, PinId, WireId};
use petgraph::unionfind::UnionFind;

pub const RULE: Rule = Rule {
    name: "net/ring",
    severity: Severity::Note,
    explanation: include_str!("ring.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let mut joined: UnionFind<usize> = UnionFind::new(model.pins.len());
    for joint in &model.joints {
        joined.union(joint.pins[0].0, joint.pins[1].0);
    }
    let (mut findings, mut bridges) = (Vec::new(), Vec::new());
    for element in &model.elements {
        if let ElementKind::Resistor { between: [a, b], resistance, .. } = element.kind
            && resistance <= JOINT
        {
            bridges.push((element.part, a, b));
        }
    }
    // In the order of the spec, so that the wire told is the one that closes the ring.
    let mut closing: Vec<WireId> = Vec::new();
    for wire in model.wire_ids() {
        let [from, to] = model.wire(wire).ends;
        if !joined.union(from.0, to.0) {
            closing.push(wire);
        }
    }
    findings.extend(closing.into_iter().map(|wire| finding(facts, wire)));
    for (part, a, b) in bridges {
        if !joined.union(a.0, b.0) {
            findings.push(of_bridge(facts, part, [a, b]));
        }
    }
    findings
}

/// A resistor that is no more than a joint.
fn of_bridge(facts: &Facts, part: PartId, ends: [PinId; 2]) -> Finding {
    let (model, [from, to]) = (facts.model, ends.map(|end| facts.model.pin_name(end)));
    let name = &model.part(part).name;
    RULE.finding(model.part(part).place, format!("`{name}` closes a ring: `{from}` and `{to}` are joined without it"))
        .about(name.as_str())
        .label("next to no resistance, beside another such way")
        .hint("leave it out: how two ways of no resistance share a current, nobody can say")
}

fn finding(facts: &Facts, wire: WireId) -> Finding {
    let [from, to] = facts.model.wire(wire).ends.map(|end| facts.model.pin_name(end));
    RULE.finding(
        facts.model.wire(wire).place,
        format!("{} closes a ring: `{from}` and `{to}` are joined without it", facts.names().wire(wire)),
    )
    .about(facts.names().wire(wire))
    .label("a second way between the same pins")
    .hint("leave it out, unless two wires are meant to share one current or to stand in for each other")
}
