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
    // In the order of the spec, so that the finding names the wire that closes the loop.
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

/// A resistor that acts as a connection.
fn of_bridge(facts: &Facts, part: PartId, ends: [PinId; 2]) -> Finding {
    let (model, [from, to]) = (facts.model, ends.map(|end| facts.model.pin_name(end)));
    let name = &model.part(part).name;
    RULE.finding(
        model.part(part).place,
        format!("`{name}` closes a loop: `{from}` and `{to}` are connected without it"),
    )
    .about(name.as_str())
    .label("low resistance in parallel with another path")
    .hint("remove it: two paths without resistance share a current unpredictably")
}

fn finding(facts: &Facts, wire: WireId) -> Finding {
    let [from, to] = facts.model.wire(wire).ends.map(|end| facts.model.pin_name(end));
    RULE.finding(
        facts.model.wire(wire).place,
        format!("{} closes a loop: `{from}` and `{to}` are connected without it", facts.names().wire(wire)),
    )
    .about(facts.names().wire(wire))
    .label("a second path between the same pins")
    .hint("remove it, unless two wires should share a current or back each other up")
}
