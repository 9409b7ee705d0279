use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::Wire;
use quantity::Metres;

pub const RULE: Rule = Rule {
    name: "build/length-below-route",
    severity: Severity::Error,
    explanation: include_str!("length_below_route.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    // A wire of the vehicle has a route of its own.
    facts.model.wires.iter().filter(|wire| !wire.existing).filter_map(|wire| of_wire(facts, wire)).collect()
}

fn of_wire(facts: &Facts, wire: &Wire) -> Option<Finding> {
    let model = facts.model;
    let runs = || wire.path.iter().map(|run| &model.runs[run.0]);
    let route: Metres = runs().map(|run| run.length).sum();
    let shortest: Metres = runs().map(|run| run.length - run.tolerance).sum();
    let length = wire.length?;
    if length >= shortest {
        return None;
    }
    let ends = wire.ends.map(|end| model.part(model.pin(end).part).at.map(|at| model.places[at.0].to_string()));
    let [from, to] = ends.map(Option::unwrap_or_default);
    let message = format!(
        "wire {} is {length} long, needs at least {shortest}: its route from {from} to {to} is {route}, less tolerance",
        wire.id
    );
    let mut finding = RULE
        .finding(wire.place, message)
        .about(format!("wire {}", wire.id))
        .label(format!("{length}"))
        .limit("length", length, format!("at least {shortest}"))
        .hint("leave `length` out to take it from the runs, or correct the runs");
    for run in runs() {
        finding = finding.also(run.place, format!("{}", run.length));
    }
    Some(finding)
}
