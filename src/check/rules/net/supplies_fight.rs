use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{CurrentPath, Via};
use facts::Facts;
use facts::sneak::{Found, Sneak};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "net/supplies-fight",
    severity: Severity::Error,
    explanation: include_str!("supplies_fight.md"),
    finds: Finds::InHarness(find),
};

/// Batteries whose nominal voltages differ by no more than this share belong to one system: chemistry and age make up
/// for that much (common practice, no source).
const ONE_SYSTEM: f64 = 0.1;

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Charged(id) => finding(facts, id, found),
        _ => None,
    })
}

fn finding(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let way = facts.paths().to(&solution, plus);
    if is_charged_on_purpose(facts, id, &way) {
        return None;
    }
    let name = facts.model.pin_name(plus);
    let state = facts.names().moment(&found.moment);
    let from = driver(facts, id, &way).map(|source| facts.model.part(facts.model.element(source).part));
    let from = from.map_or_else(|| "another supply".to_string(), |part| format!("`{}`", part.name));
    let message = format!("{from} drives {} into `{name}` {state}", found.amps);
    let finding = RULE
        .finding(end_place(facts, plus), message)
        .about(name.as_str())
        .label("connected to a supply of another voltage")
        .limit("current into it", found.amps, facts.model.limits.sneak_current)
        .hint("keep the supplies apart: a relay that connects only one at a time, a diode in each, or a converter");
    let (mut finding, _) = shown_at(facts, finding, &found.moment);
    let own = facts.solved.assembly.element(id).first().and_then(|branch| facts.worst().charging(*branch));
    if let Some(peak) = own.filter(|peak| peak.moment.apart.is_some_and(|apart| apart.empty == id)) {
        let words =
            format!("{} {} ({})", peak.value, facts.names().moment(&peak.moment), facts.names().corner(&peak.moment));
        finding = finding.value("with one battery full and the other empty", words);
    }
    Some(finding.path(waypoints(facts, &solution, &way)))
}

/// The battery that drives a current into another: the path begins at the battery's negative and leads through it.
fn driver(facts: &Facts, id: ElementId, way: &CurrentPath) -> Option<ElementId> {
    way.steps.iter().find_map(|step| match step.via {
        Via::Element(element) if element != id => {
            matches!(facts.model.element(element).kind, ElementKind::Battery { .. }).then_some(element)
        }
        _ => None,
    })
}

/// Batteries of one system may charge each other through something that parts them again.
fn is_charged_on_purpose(facts: &Facts, id: ElementId, way: &CurrentPath) -> bool {
    let model = facts.model;
    let nominal = |id: ElementId| match &model.element(id).kind {
        ElementKind::Battery { volts, .. } => Some(volts[1]),
        _ => None,
    };
    let source = driver(facts, id, way).and_then(nominal);
    let one_system = source.zip(nominal(id)).is_some_and(|(a, b)| (a - b).abs() <= b * ONE_SYSTEM);
    let parts_them = |via: Via| match via {
        Via::Element(element) => matches!(
            model.element(element).kind,
            ElementKind::Contact { .. }
                | ElementKind::Throw { .. }
                | ElementKind::Output { .. }
                | ElementKind::Diode { .. }
        ),
        _ => false,
    };
    one_system && way.steps.iter().any(|step| parts_them(step.via))
}
