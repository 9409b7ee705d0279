use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity, tables};
use facts::Facts;
use facts::small_currents::current_words;
use facts::walk::Towards;
use model::{ElementId, ElementKind, PinId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "safety/fuse-oversized",
    severity: Severity::Warning,
    explanation: include_str!("fuse_oversized.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_fuse(facts, ElementId(i))).collect()
}

fn of_fuse(facts: &Facts, id: ElementId) -> Option<Finding> {
    let element = facts.model.element(id);
    let ElementKind::Fuse { between, rating, .. } = element.kind else { return None };
    let part = facts.model.part(element.part);
    let peak = facts.worst().amps(*facts.solved.assembly.element(id).first()?)?;
    if part.existing || peak.value > rating || feeds_open_socket(facts, id, between) {
        return None;
    }
    let needs = Amps::new(peak.value.value() / facts.model.limits.fuse_load.value());
    let enough = *part.form.ratings.iter().find(|r| **r >= needs)?;
    let most = enough.max(tables::small_fuse()) * tables::fuse_times();
    if rating <= most {
        return None;
    }
    let carries = current_words(peak.value);
    let at_most = if carries == peak.value.to_string() { "at most " } else { "" };
    let message = format!("`{}` is rated {rating}, limit {most}: it carries {at_most}{carries}", part.name);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{enough} is enough for its current"))
        .limit("rating", rating, most)
        .value("highest current", carries)
        .hint(format!("use the smallest rating from {enough} up that withstands the inrush"));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &facts.paths().across(&solution, id, between))),
        None => finding,
    })
}

/// Whether a fuse feeds a trailer socket without its plug: nobody can tell what it has to carry.
fn feeds_open_socket(facts: &Facts, id: ElementId, between: [PinId; 2]) -> bool {
    let connectivity = facts.connectivity();
    let is_fed = |pin: &PinId| connectivity.has_supply(&connectivity.reached_beside(*pin, Towards::Supply, Some(id)));
    let behind = between.into_iter().filter(|pin| !is_fed(pin));
    let mut reached = behind.flat_map(|pin| connectivity.reached_beside(pin, Towards::Ground, Some(id)));
    reached.any(|pin| connectivity.is_open_socket(pin))
}
