use crate::sneak::{Found, Sneak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "net/supplies-fight",
    severity: Severity::Error,
    explanation: include_str!("supplies_fight.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Charged(id) => finding(context, id, found),
        _ => None,
    })
}

fn finding(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let name = context.model.pin_name(plus);
    let state = context.state_words(&found.moment);
    let message = format!("{} are driven into `{name}` {state} by another supply", found.amps);
    let finding = RULE
        .finding(context.end_place(plus), message)
        .about(name.as_str())
        .label("another supply, of another voltage, is joined to it")
        .limit("current into it", found.amps, context.model.limits.sneak_current)
        .hint("keep the supplies apart: a relay that makes only one of them at a time, a diode each, or a converter");
    let (mut finding, _) = context.shown_at(finding, &found.moment);
    let own = context.solved.assembly.element(id).first().and_then(|branch| context.worst.amps(*branch));
    if let Some(peak) = own.filter(|peak| peak.moment.apart.is_some_and(|apart| apart.empty == id)) {
        let words =
            format!("{} {} ({})", peak.value, context.state_words(&peak.moment), context.corner_words(&peak.moment));
        finding = finding.value("with the one full and the other empty", words);
    }
    Some(finding.path(context.waypoints(&solution, &context.way_to(&solution, plus))))
}
