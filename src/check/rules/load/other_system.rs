use super::starved::OTHER_SYSTEM;
use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use facts::moment::Peak;
use model::{ElementKind, PartId, PinId};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/other-system",
    severity: Severity::Warning,
    explanation: include_str!("other_system.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let (model, part) = (facts.model, facts.model.part(id));
    let (made_for, system) = (part.form.nominal?, model.job.nominal);
    let is_above = |volts: Volts| made_for.value() > volts.value() * OTHER_SYSTEM;
    // A part with a highest voltage of its own is made for a range, down to its lowest working voltage.
    if part.form.highest.is_some() || !is_above(system) || !works(facts, id) {
        return None;
    }
    let is_shown = |peak: &&Peak<Volts>| is_above(peak.value) && peak.value > model.limits.sneak_voltage;
    let (pin, peak) = highest(facts, id).filter(|(_, peak)| is_shown(peak))?;
    let name = &part.name;
    let finding = RULE
        .finding(
            part_place(facts, id),
            format!(
                "`{name}` is made for {made_for} and gets at most {}: it works only because its limits are just met",
                peak.value
            ),
        )
        .about(name.as_str())
        .label(format!("a {}, for {made_for}", part.use_name))
        .limit("highest voltage", peak.value, format!("made for {made_for}"))
        .hint(format!(
            "use the kind of the same part for {system}; if its maker allows {system} as well, give its kind a `highest`"
        ))
        .repaired_by(Repair::Rated(id, system / made_for));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &facts.paths().over(&solution, pin))),
        None => finding,
    })
}

/// Whether all of a part works; where something does not, its own finding says what it needs.
fn works(facts: &Facts, id: PartId) -> bool {
    facts.model.part(id).elements.iter().all(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) => {
            let is_dead = facts.never_works().iter().any(|never| never.element == *id);
            !is_dead && facts.worst().lowest(*id).into_iter().all(|lowest| lowest.value >= load.least)
        }
        ElementKind::Converter { least, .. } => {
            let is_dead = facts.never_works().iter().any(|never| never.element == *id);
            !is_dead && facts.worst().lowest(*id).into_iter().all(|lowest| lowest.value >= *least)
        }
        ElementKind::Coil(coil) => facts.worst().weak_coil(facts.solved, *id, coil).is_none(),
        _ => true,
    })
}

/// The pin of a part that gets the highest voltage, against its own reference pin.
fn highest<'f>(facts: &'f Facts, id: PartId) -> Option<(PinId, &'f Peak<Volts>)> {
    let inlets = super::overvoltage::inlets(facts, id).into_iter();
    let peaks = inlets.filter_map(|(plus, minus)| Some((plus, facts.worst().across(plus, minus)?)));
    peaks.reduce(|a, b| if b.1.value > a.1.value { b } else { a })
}
