use crate::evidence::{company, size_words};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::protection::Guard;
use model::{ElementId, ElementKind, WireId, conductor};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "safety/fuse-above-wire",
    severity: Severity::Error,
    explanation: include_str!("fuse_above_wire.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.wire_ids().filter_map(|wire| of_wire(facts, wire)).collect()
}

fn of_wire(facts: &Facts, id: WireId) -> Option<Finding> {
    let model = facts.model;
    let wire = model.wire(id);
    let (rating, fuse) = match facts.protection().of(id) {
        Guard::Element(element, rating) => (rating, Some(element)),
        Guard::Other(rating) => (rating, None),
        Guard::Dead | Guard::Open(_) => return None,
    };
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let carries = conductor::ampacity(wire.gauge, bundled, hot);
    if rating <= carries {
        return None;
    }
    let part = |element: ElementId| model.part(model.element(element).part);
    let what = fuse.map_or_else(
        || format!("the vehicle's fuse ({rating}) is"),
        |fuse| match facts.protection().beside(fuse) {
            several if several.len() > 1 && is_sum(facts, fuse, rating) => {
                let names: Vec<String> = several.iter().map(|id| format!("`{}`", part(*id).name)).collect();
                format!("{} together ({rating}) are", names.join(" and "))
            }
            _ => format!("`{}` ({rating}) is", part(fuse).name),
        },
    );
    let message = format!("{what} too large for wire {} ({}), limit {carries}", wire.id, wire.gauge);
    let mut finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(format!("wire {}", wire.id))
        .label(format!("may carry {carries} {}", company(facts, id)))
        .limit("fuse rating", rating, carries)
        .hint(hint(facts, id, rating));
    if let Some(fuse) = fuse {
        let rated = rating_of(facts, fuse).unwrap_or(rating);
        finding = finding.also(part(fuse).place, format!("{rated}"));
    }
    Some(finding)
}

fn rating_of(facts: &Facts, fuse: ElementId) -> Option<Amps> {
    match facts.model.element(fuse).kind {
        ElementKind::Fuse { rating, .. } => Some(rating),
        _ => None,
    }
}

/// Whether a rating is the sum of several fuses in parallel.
fn is_sum(facts: &Facts, fuse: ElementId, rating: Amps) -> bool {
    rating_of(facts, fuse).is_some_and(|own| own < rating)
}

fn hint(facts: &Facts, id: WireId, rating: Amps) -> String {
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let gauge = facts.model.wire(id).gauge;
    match conductor::thinnest(gauge, |size| conductor::ampacity(size, bundled, hot) >= rating) {
        Some(size) => format!(
            "use a smaller fuse, or {}; a fuse must open before its thinnest wire overheats",
            size_words(facts, id, size)
        ),
        None => "use a smaller fuse; a fuse must open before its thinnest wire overheats".into(),
    }
}
