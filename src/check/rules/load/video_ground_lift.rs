use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::sneak::{Found, Sneak};
use model::{ElementKind, Load, PartId};

pub const RULE: Rule = Rule {
    name: "load/video-ground-lift",
    severity: Severity::Warning,
    explanation: include_str!("video_ground_lift.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Picture(source, screen) => finding(facts, source, screen, found),
        _ => None,
    })
}

fn load<'m>(facts: &Facts<'m>, part: PartId) -> Option<&'m Load> {
    let elements = &facts.model.part(part).elements;
    elements.iter().find_map(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) => Some(load),
        _ => None,
    })
}

fn finding(facts: &Facts, source: PartId, screen: PartId, found: &Found) -> Option<Finding> {
    let model = facts.model;
    let (from, to) = (load(facts, source)?.ground, load(facts, screen)?.ground);
    // net/ground-missing reports a part whose only ground is the shield between the two.
    if !facts.connectivity().is_grounded(from) || !facts.connectivity().is_grounded(to) {
        return None;
    }
    let solution = facts.solution(&found.moment)?;
    let volts = |pin| facts.solved.assembly.volts(&solution, pin);
    // The ground with the higher voltage is the one to improve.
    let lifted = if volts(from) >= volts(to) { from } else { to };
    let [source_name, screen_name] = [source, screen].map(|part| &model.part(part).name);
    let state = facts.names().moment(&found.moment);
    let message = format!(
        "the grounds of `{source_name}` and `{screen_name}` differ by {} {state}, limit {}",
        found.volts, model.limits.video_lift
    );
    let finding = RULE
        .finding(end_place(facts, lifted), message)
        .about(source_name.as_str())
        .label("shares its ground wire with other loads")
        .limit("between the grounds", found.volts, model.limits.video_lift)
        .value(&model.pin_name(from), volts(from))
        .value(&model.pin_name(to), volts(to))
        .value("highest in any state", found.most_volts)
        .hint(format!(
            "run a separate wire from `{}` to the ground point, or use thicker wire for the part that other loads share",
            model.pin_name(lifted)
        ));
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &facts.paths().from(&solution, lifted))))
}
