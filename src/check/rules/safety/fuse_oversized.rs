use crate::{Context, Finding, Finds, Rule, Severity, tables};
use model::{ElementId, ElementKind};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "safety/fuse-oversized",
    severity: Severity::Warning,
    explanation: include_str!("fuse_oversized.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_fuse(context, ElementId(i))).collect()
}

fn of_fuse(context: &Context, id: ElementId) -> Option<Finding> {
    let element = context.model.element(id);
    let ElementKind::Fuse { between, rating, .. } = element.kind else { return None };
    let part = context.model.part(element.part);
    let peak = context.worst.amps(*context.solved.assembly.element(id).first()?)?;
    if part.existing || peak.value > rating {
        return None;
    }
    let needs = Amps::new(peak.value.value() / context.model.limits.fuse_load.value());
    let enough = *part.form.ratings.iter().find(|r| **r >= needs)?;
    let most = enough.max(tables::small_fuse()) * tables::fuse_times();
    if rating <= most {
        return None;
    }
    let message = format!("`{}` is rated {rating}, and {} at the most flow through it", part.name, peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{enough} would carry it"))
        .limit("rating", rating, most)
        .value("greatest current", peak.value)
        .hint(format!("take the smallest rating that stands the start of its loads, from {enough} on"));
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => finding.path(context.waypoints(&solution, &context.way_across(&solution, id, between))),
        None => finding,
    })
}
