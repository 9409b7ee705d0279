use crate::evidence::{shown_at, waypoints, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::Variant;
use facts::moment::Moment;
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

/// Whether a reading is far beyond what a meter's leads and a crimp add: the point itself is bad.
const BAD: Ohms = Ohms::new(0.5);

/// A bad ground point beside picture shields that carry its current: what it would lose without them.
fn hidden_by_shields(facts: &Facts, id: ElementId, pin: PinId, at: &Moment) -> Option<Finding> {
    let ElementKind::GroundPoint { resistance, .. } = facts.model.element(id).kind else { return None };
    if resistance < BAD {
        return None;
    }
    let assembly = &facts.solved.assembly;
    let branch = *assembly.element(id).first()?;
    let shields = facts.model.wire_ids().filter_map(|wire| assembly.shield(wire));
    let open = Variant::open(shields);
    let alone = facts.solved.solvers().settle_variant(at.corner, &at.state, &open).settled()?;
    let (amps, limit) = (alone.amps(branch).abs(), figures::ground_drop());
    let drop = amps * resistance;
    let part = facts.model.part(facts.model.pin(pin).part);
    let state = facts.names().moment(at);
    let message = format!(
        "ground point `{}` has {resistance}: its current returns through picture shields. Without them it loses {drop} \
         {state}, limit {limit}",
        part.name
    );
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{resistance}; a clean ground point has {GROUND_RESISTANCE}"))
        .limit("between ground point and battery's negative, without the shields", drop, limit)
        .hint("clean this ground point or use another one: a shield is no ground, and its current disturbs the picture")
        .repaired_by(Repair::CleanGround(id));
    (drop > limit).then_some(finding)
}

fn of_point(facts: &Facts, id: ElementId, pin: PinId, resistance: Ohms) -> Option<Finding> {
    let branch = *facts.solved.assembly.element(id).first()?;
    let (peak, limit) = (facts.worst().amps(branch)?, figures::ground_drop());
    let drop = peak.value * resistance;
    // A good ground point that carries much loses as much: that is not the fault of the point.
    if resistance <= GROUND_RESISTANCE {
        return None;
    }
    if drop <= limit {
        return hidden_by_shields(facts, id, pin, &peak.moment);
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
