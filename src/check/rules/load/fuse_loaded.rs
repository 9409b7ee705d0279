use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/fuse-loaded",
    severity: Severity::Error,
    explanation: include_str!("fuse_loaded.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_fuse(context, ElementId(i))).collect()
}

fn of_fuse(context: &Context, id: ElementId) -> Option<Finding> {
    let element = context.model.element(id);
    let ElementKind::Fuse { between, rating, .. } = element.kind else { return None };
    let branch = *context.solved.assembly.element(id).first()?;
    let peak = context.worst.amps(branch)?;
    let share = context.model.limits.fuse_load;
    let most = rating * share.value();
    if peak.value <= most {
        return None;
    }
    let part = context.model.part(element.part);
    let state = context.state_words(&peak.moment);
    let message = format!("`{}` carries {} {state}, more than {share} of its {rating}", part.name, peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{rating}, for {most} for long"))
        .limit("through the fuse", peak.value, most)
        .hint("divide the loads over two fuses, or take a larger fuse where its wires allow it");
    let finding = context.simplest(finding, &peak.moment, context.worst.amps_over(branch, most));
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => context.unless_short(finding, &solution, &context.way_across(&solution, id, between)),
        None => finding,
    })
}
