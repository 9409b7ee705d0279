use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::{Facts, StartDip};
use model::{ElementId, ElementKind};
use states::listed;

pub const RULE: Rule = Rule {
    name: "load/start-dip",
    severity: Severity::Warning,
    explanation: include_str!("start_dip.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.start_dips().iter().map(|dip| finding(facts, dip)).collect()
}

fn finding(facts: &Facts, dip: &StartDip) -> Finding {
    let model = facts.model;
    let part = model.part(model.element(dip.starter).part);
    let name = |id: ElementId| format!("`{}`", model.part(model.element(id).part).name);
    let others: Vec<String> = dip.others.iter().map(|(id, ..)| name(*id)).collect();
    let message = match (&dip.own, listed(&others)) {
        (Some((volts, needs)), _) => format!(
            "`{}` may not start: its inrush pulls its own supply down to {volts}, needs {}",
            part.name, needs.least
        ),
        (None, others) => {
            let others = others.unwrap_or_default();
            match dip.others.as_slice() {
                [(_, volts, needs)] => {
                    format!(
                        "{others} may restart when `{}` switches on: it gets {volts}, needs {}",
                        part.name, needs.least
                    )
                }
                _ => format!("{others} may restart when `{}` switches on", part.name),
            }
        }
    };
    let finding = RULE.finding(part.place, message).about(part.name.as_str()).label("has this inrush");
    let ElementKind::Load(load) = &model.element(dip.starter).kind else { return finding };
    let finding = match &dip.own {
        Some((volts, needs)) => finding.limit(&model.pin_name(needs.feed), volts, format!("at least {}", needs.least)),
        None => finding,
    };
    let each = dip.others.iter();
    let finding = each.fold(finding, |finding, (_, volts, needs)| {
        finding.limit(&model.pin_name(needs.feed), volts, format!("at least {}", needs.least))
    });
    let finding = finding.value("inrush", load.inrush);
    let (finding, solution) = shown_at(facts, finding, &dip.moment);
    let finding = finding.hint(match &dip.own {
        Some(_) => format!("give `{}` thicker or shorter wires and a ground of its own", part.name),
        None => format!(
            "give `{}` thicker or shorter wires and a ground of its own, or feed the parts that restart from another fuse",
            part.name
        ),
    });
    match solution {
        Some(solution) => {
            let way = facts.paths().through(&solution, dip.starter, load.feed, load.ground);
            finding.path(waypoints(facts, &solution, &way))
        }
        None => finding,
    }
}
