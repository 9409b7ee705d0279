use crate::sneak::{Found, Sneak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementKind, Load, PartId};

pub const RULE: Rule = Rule {
    name: "load/video-ground-lift",
    severity: Severity::Warning,
    explanation: include_str!("video_ground_lift.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Picture(source, screen) => finding(context, source, screen, found),
        _ => None,
    })
}

fn load<'m>(context: &Context<'m>, part: PartId) -> Option<&'m Load> {
    let elements = &context.model.part(part).elements;
    elements.iter().find_map(|id| match &context.model.element(*id).kind {
        ElementKind::Load(load) => Some(load),
        _ => None,
    })
}

fn finding(context: &Context, source: PartId, screen: PartId, found: &Found) -> Option<Finding> {
    let model = context.model;
    let (from, to) = (load(context, source)?.ground, load(context, screen)?.ground);
    let solution = context.solution(&found.moment)?;
    let volts = |pin| context.solved.assembly.volts(&solution, pin);
    // The one that stands higher is the one to mend.
    let lifted = if volts(from) >= volts(to) { from } else { to };
    let [source_name, screen_name] = [source, screen].map(|part| &model.part(part).name);
    let state = context.state_words(&found.moment);
    let message = format!("the grounds of `{source_name}` and `{screen_name}` lie {} apart {state}", found.volts);
    let finding = RULE
        .finding(context.end_place(lifted), message)
        .about(source_name.as_str())
        .label("shares its way back with other loads")
        .limit("between the grounds", found.volts, model.limits.video_lift)
        .value(&model.pin_name(from), volts(from))
        .value(&model.pin_name(to), volts(to))
        .value("greatest in any state", found.most_volts)
        .hint("take the ground of the picture to the ground point on its own wire, or thicken what it shares");
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &context.way_from(&solution, lifted))))
}
