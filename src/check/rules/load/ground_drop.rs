use crate::evidence::{shown_at, waypoints, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::{Facts, figures};
use model::{ElementId, ElementKind, GROUND_RESISTANCE, PinId};
use quantity::Ohms;

pub const RULE: Rule = Rule {
    name: "load/ground-drop",
    severity: Severity::Warning,
    explanation: include_str!("ground_drop.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let elements = facts.model.elements.iter().enumerate();
    elements
        .filter_map(|(i, element)| match element.kind {
            ElementKind::GroundPoint { pin, resistance } => of_point(facts, ElementId(i), pin, resistance),
            _ => None,
        })
        .collect()
}

fn of_point(facts: &Facts, id: ElementId, pin: PinId, resistance: Ohms) -> Option<Finding> {
    let branch = *facts.solved.assembly.element(id).first()?;
    let (peak, limit) = (facts.worst().amps(branch)?, figures::ground_drop());
    let drop = peak.value * resistance;
    // A good ground point that carries much loses as much: that is not the fault of the point.
    if drop <= limit || resistance <= GROUND_RESISTANCE {
        return None;
    }
    let part = facts.model.part(facts.model.pin(pin).part);
    let state = facts.names().moment(&peak.moment);
    let message = format!(
        "ground point `{}` loses {drop} {state}, limit {limit}: {} through its {resistance}",
        part.name, peak.value
    );
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{resistance}; a clean ground point has {GROUND_RESISTANCE}"))
        .limit("between ground point and battery's negative", drop, limit)
        .value("current through it", peak.value)
        .hint(
            "clean this ground point or use another one; until then its current may also return over other grounds \
             and picture cables",
        )
        .repaired_by(Repair::CleanGround(id));
    let finding = with_simplest(facts, finding, &peak.moment, facts.worst().amps_over(branch, limit / resistance));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    let Some(solution) = solution else { return Some(finding) };
    let path = facts.paths().to(&solution, pin);
    Some(finding.path(waypoints(facts, &solution, &path)))
}
