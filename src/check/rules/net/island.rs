use crate::{Finding, Finds, Rule, Severity};
use circuit::NEGATIVE;
use facts::Facts;
use model::WireId;
use petgraph::unionfind::UnionFind;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "net/island",
    severity: Severity::Warning,
    explanation: include_str!("island.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let assembly = &facts.solved.assembly;
    let circuit = &assembly.circuit;
    // Every branch that can conduct joins its ends: what stays separate is an island in every state.
    let mut joined: UnionFind<usize> = UnionFind::new(circuit.nodes.len());
    for branch in &circuit.branches {
        joined.union(branch.from.index(), branch.to.index());
    }
    let mut islands: BTreeMap<usize, Vec<WireId>> = BTreeMap::new();
    for wire in facts.model.wire_ids() {
        let Some(node) = assembly.pin(facts.model.wire(wire).ends[0]).filter(|_| assembly.wire(wire).is_some()) else {
            continue;
        };
        if !joined.equiv(node.index(), NEGATIVE.index()) {
            islands.entry(joined.find(node.index())).or_default().push(wire);
        }
    }
    islands.into_values().filter_map(|wires| finding(facts, &wires)).collect()
}

fn finding(facts: &Facts, wires: &[WireId]) -> Option<Finding> {
    let first = *wires.first()?;
    let mut names: Vec<String> = wires.iter().map(|wire| facts.model.wire(*wire).id.to_string()).collect();
    let wires_words = match names.pop() {
        Some(only) if names.is_empty() => format!("wire {only} reaches"),
        Some(last) => format!("wires {} and {last} reach", names.join(", ")),
        None => return None,
    };
    let finding = RULE
        .finding(facts.model.wire(first).place, format!("{wires_words} no supply and no ground"))
        .about(facts.names().wire(first))
        .label("connected to nothing else")
        .hint(match wires.len() {
            1 => "connect it to the rest of the harness, or remove it",
            _ => "connect them to the rest of the harness, or remove them",
        });
    Some(
        wires[1..]
            .iter()
            .fold(finding, |finding, wire| finding.also(facts.model.wire(*wire).place, "in the same group")),
    )
}
