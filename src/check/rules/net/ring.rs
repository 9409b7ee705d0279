use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::WireId;
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
    // In the order of the spec, so that the wire told is the one that closes the ring.
    let closing = |wire: &WireId| !joined.union(model.wire(*wire).ends[0].0, model.wire(*wire).ends[1].0);
    let closing: Vec<WireId> = model
        .wire_ids()
        .filter({
            let mut closing = closing;
            move |wire| closing(wire)
        })
        .collect();
    closing.into_iter().map(|wire| finding(context, wire)).collect()
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
