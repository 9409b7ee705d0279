use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::sneak::{Found, Sneak};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "net/supplies-fight",
    severity: Severity::Error,
    explanation: include_str!("supplies_fight.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Charged(id) => finding(facts, id, found),
        _ => None,
    })
}

fn finding(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let name = facts.model.pin_name(plus);
    let state = facts.names().moment(&found.moment);
    let message = format!("another supply drives {} into `{name}` {state}", found.amps);
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
    Some(finding.path(waypoints(facts, &solution, &facts.paths().to(&solution, plus))))
}
