use crate::dead_short::JOINT;
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementKind, PartId, PinId, WireId};
use petgraph::unionfind::UnionFind;

pub const RULE: Rule = Rule {
    name: "net/ring",
    severity: Severity::Note,
    explanation: include_str!("ring.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
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
    findings.extend(closing.into_iter().map(|wire| finding(context, wire)));
    for (part, a, b) in bridges {
        if !joined.union(a.0, b.0) {
            findings.push(of_bridge(context, part, [a, b]));
        }
    }
    findings
}

/// A resistor that is no more than a joint.
fn of_bridge(context: &Context, part: PartId, ends: [PinId; 2]) -> Finding {
    let (model, [from, to]) = (context.model, ends.map(|end| context.model.pin_name(end)));
    let name = &model.part(part).name;
    RULE.finding(model.part(part).place, format!("`{name}` closes a ring: `{from}` and `{to}` are joined without it"))
        .about(name.as_str())
        .label("next to no resistance, beside another such way")
        .hint("leave it out: how two ways of no resistance share a current, nobody can say")
}

fn finding(context: &Context, wire: WireId) -> Finding {
    let [from, to] = context.model.wire(wire).ends.map(|end| context.model.pin_name(end));
    RULE.finding(
        context.model.wire(wire).place,
        format!("{} closes a ring: `{from}` and `{to}` are joined without it", context.wire_words(wire)),
    )
    .about(context.wire_words(wire))
    .label("a second way between the same pins")
    .hint("leave it out, unless two wires are meant to share one current or to stand in for each other")
}
