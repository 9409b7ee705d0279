use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity, tables};
use facts::Facts;
use facts::moment::Peak;
use model::{ElementKind, PartId, PinId, SignalKind};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/overvoltage",
    severity: Severity::Error,
    explanation: include_str!("overvoltage.md"),
    finds: Finds::InHarness(find),
};

/// The worst of each part.
fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let part = facts.model.part(id);
    let made_for = part.form.nominal?;
    let most = part.form.highest.unwrap_or(made_for * tables::greatest_supply().value());
    let peaks = inlets(facts, id).into_iter().filter_map(|(plus, minus)| {
        let peak = facts.worst().across(plus, minus)?;
        (peak.value > most).then_some((plus, peak))
    });
    let (pin, peak) = peaks.reduce(|a, b| if b.1.value > a.1.value { b } else { a })?;
    Some(finding(facts, id, pin, peak, (made_for, most)))
}

/// The pins of a part that take a voltage, each with its reference pin.
pub(super) fn inlets(facts: &Facts, id: PartId) -> Vec<(PinId, PinId)> {
    let model = facts.model;
    let elements = model.part(id).elements.iter().filter_map(|&element| match &model.element(element).kind {
        ElementKind::Load(load) => Some((load.feed, load.ground)),
        ElementKind::Coil(coil) => Some((coil.feed, coil.ground)),
        ElementKind::Converter { input, ground, .. } => Some((*input, *ground)),
        _ => None,
    });
    let senses = model.signals.iter().filter_map(|signal| match signal.kind {
        SignalKind::Sense { pin, ground, .. } if model.pin(pin).part == id => Some((pin, ground)),
        _ => None,
    });
    elements.chain(senses).collect()
}

fn finding(facts: &Facts, id: PartId, pin: PinId, peak: &Peak<Volts>, limits: (Volts, Volts)) -> Finding {
    let part = facts.model.part(id);
    let (made_for, most) = limits;
    let (name, state) = (facts.model.pin_name(pin), facts.names().moment(&peak.moment));
    let message = format!("`{name}` gets {} {state}, limit {most}: `{}` is made for {made_for}", peak.value, part.name);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}, up to {most}", part.use_name))
        .limit("voltage", peak.value, most)
        .hint("use a part made for this supply, or feed it from a converter; if its maker allows more, give its kind a `highest`");
    let finding = finding.repaired_by(Repair::Rated(id, (peak.value / most).max(facts.model.job.nominal / made_for)));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &facts.paths().over(&solution, pin))),
        None => finding,
    }
}
