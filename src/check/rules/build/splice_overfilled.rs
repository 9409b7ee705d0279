use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Part, PartKind};
use quantity::Gauge;

pub const RULE: Rule = Rule {
    name: "build/splice-overfilled",
    severity: Severity::Error,
    explanation: include_str!("splice_overfilled.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let splices = facts.model.parts.iter().filter(|part| part.kind == PartKind::Splice);
    splices.filter_map(|splice| of_splice(facts, splice)).collect()
}

fn of_splice(facts: &Facts, splice: &Part) -> Option<Finding> {
    let most = splice.form.holds?.0.high;
    let wires: Vec<_> = splice
        .pins
        .iter()
        .flat_map(|&pin| facts.connectivity().wires_on(pin))
        .map(|&id| facts.model.wire(id))
        .collect();
    let total = Gauge::Metric(wires.iter().map(|wire| wire.gauge.area()).sum());
    if total.area() <= most.area() * (1.0 + 1e-9) {
        return None;
    }
    let mut sizes: Vec<String> = wires.iter().map(|wire| format!("wire {} {}", wire.id, wire.gauge)).collect();
    sizes.sort();
    let message = format!("splice `{}` holds {total} in {} wires, limit {most}", splice.name, wires.len());
    Some(
        RULE.finding(splice.place, message)
            .about(splice.name.as_str())
            .label(format!("a {} takes up to {most}", splice.use_name))
            .limit("cross-section in the splice", total, most)
            .value("wires", sizes.join(", "))
            .hint("split it into two splices with a wire between them, or use a larger kind of splice"),
    )
}
