use crate::evidence::{shown_at, unless_short, with_simplest};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/fuse-loaded",
    severity: Severity::Error,
    explanation: include_str!("fuse_loaded.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_fuse(facts, ElementId(i))).collect()
}

fn of_fuse(facts: &Facts, id: ElementId) -> Option<Finding> {
    let element = facts.model.element(id);
    let ElementKind::Fuse { between, rating, .. } = element.kind else { return None };
    let branch = *facts.solved.assembly.element(id).first()?;
    let peak = facts.worst().amps(branch)?;
    let share = facts.model.limits.fuse_load;
    let most = rating * share.value();
    if peak.value <= most {
        return None;
    }
    let part = facts.model.part(element.part);
    let state = facts.names().moment(&peak.moment);
    let message = format!("`{}` carries {} {state}, limit {most} ({share} of {rating})", part.name, peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{rating}, up to {most} continuous"))
        .limit("through the fuse", peak.value, most)
        .hint("split the loads over two fuses, or use a larger fuse if its wires allow it");
    let finding = with_simplest(facts, finding, &peak.moment, facts.worst().amps_over(branch, most));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().across(&solution, id, between)),
        None => finding,
    })
}
