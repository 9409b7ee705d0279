use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::protection::Guard;
use model::{ElementId, ElementKind, PinId};
use quantity::Amps;
use size::fuse_curve::{fuse, latest};

pub const RULE: Rule = Rule {
    name: "safety/fuse-never-opens",
    severity: Severity::Warning,
    explanation: include_str!("fuse_never_opens.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_fuse(facts, ElementId(i))).collect()
}

fn of_fuse(facts: &Facts, id: ElementId) -> Option<Finding> {
    let model = facts.model;
    let (rating, opens, _) = fuse(model, id)?;
    let (converter, limit) = converter_limit(facts, id)?;
    if latest(opens, limit / rating).is_some() {
        return None;
    }
    let (part, source) = (model.part(model.element(id).part), model.part(model.element(converter).part));
    let message = format!("`{}` ({rating}) never opens: `{}` gives at most {limit}", part.name, source.name);
    Some(
        RULE.finding(part.place, message)
            .about(part.name.as_str())
            .label(format!("{rating}"))
            .also(source.place, format!("at most {limit}"))
            .limit("current into a short", limit, format!("at least {} to open it", opening(opens, rating)))
            .hint(format!("use a fuse that opens at {limit}, or leave the fuse out if its wires carry {limit}")),
    )
}

/// The converter that limits the current through a fuse, and its limit.
pub fn converter_limit(facts: &Facts, id: ElementId) -> Option<(ElementId, Amps)> {
    let ElementKind::Fuse { between, .. } = facts.model.element(id).kind else { return None };
    // Both sides: a fuse that another supply can feed as well has that one's current to open it.
    let [Some((converter, amps)), Some((other, _))] = between.map(|pin| limit(facts, pin)) else { return None };
    (converter == other).then_some((converter, amps))
}

/// The lowest current at which a fuse must open in a stated time.
fn opening(opens: &[catalogue::part_form::OpeningForm], rating: Amps) -> Amps {
    let shares = opens.iter().filter(|point| point.most.is_some()).map(|point| point.at.value());
    rating * shares.fold(f64::INFINITY, f64::min)
}

/// The converter that limits every wire at a pin, and its limit.
fn limit(facts: &Facts, pin: PinId) -> Option<(ElementId, Amps)> {
    let mut found = None;
    for &wire in facts.connectivity().wires_on(pin) {
        let Guard::Element(id, amps) = facts.protection().of(wire) else { return None };
        if !matches!(facts.model.element(id).kind, ElementKind::Converter { .. }) {
            return None;
        }
        found = Some((id, amps));
    }
    found
}
