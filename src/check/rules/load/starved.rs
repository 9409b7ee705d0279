use crate::evidence::{or_nothing, shown_at, waypoints, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::{CurrentPath, PathStep, Solution, Via};
use facts::Facts;
use facts::moment::Peak;
use facts::never_works::Needs;
use model::{ElementId, ElementKind, Load, WireId};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/starved",
    severity: Severity::Error,
    explanation: include_str!("starved.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_element(facts, ElementId(i))).collect()
}

fn of_element(facts: &Facts, id: ElementId) -> Option<Finding> {
    // A charger stops where its battery would be drained: its `least` is made for that.
    if facts.chargers().iter().any(|charger| charger.converter == id) {
        return None;
    }
    let never = facts.never_works().iter().find(|never| never.element == id);
    let needs = match &facts.model.element(id).kind {
        ElementKind::Load(load) => Some(Needs { feed: load.feed, ground: load.ground, least: load.least }),
        ElementKind::Converter { input, ground, least, .. } if never.is_none() => {
            Some(Needs { feed: *input, ground: *ground, least: *least })
        }
        _ => None,
    };
    if let Some(needs) = needs {
        let lowest = facts.worst().lowest(id).reduce(|a, b| if b.value < a.value { b } else { a });
        if let Some(lowest) = lowest.filter(|lowest| lowest.value < needs.least) {
            return Some(finding(facts, id, needs, lowest));
        }
    }
    let never = never?;
    Some(of_dead(facts, id, never.needs, &never.highest))
}

/// A load or a converter that never works.
fn of_dead(facts: &Facts, id: ElementId, needs: Needs, highest: &Peak<Volts>) -> Finding {
    let part = facts.model.part(facts.model.element(id).part);
    let (what, least, most) = (name(facts, id), needs.least, or_nothing(highest.value.max(Volts::new(0.0))));
    // Below this voltage only leakage feeds it.
    let volts = |solution: &Solution| facts.solved.assembly.volts(solution, needs.feed).max(highest.value);
    let is_fed = facts.solution(&highest.moment).is_some_and(|s| volts(&s) > facts.model.limits.sneak_voltage);
    let hint = match is_fed {
        true => {
            "follow the path to where the voltage is lost: a resistance in its feed or ground, another load in series"
        }
        false => {
            "look at what should feed it: an input that can't come on, a contact wired to the wrong side, a switch that no input moves"
        }
    };
    let finding = RULE
        .finding(part.place, format!("`{what}` never works: it gets at most {most} in any state, needs {least}"))
        .about(part.name.as_str())
        .label(format!("works from {least}"))
        .limit("highest voltage at the load", most, format!("at least {least}"))
        .hint(hint);
    let (finding, solution) = shown_at(facts, finding, &highest.moment);
    match solution {
        Some(solution) if is_fed => {
            let way = facts.paths().through(&solution, id, needs.feed, needs.ground);
            finding.path(waypoints(facts, &solution, &way))
        }
        _ => finding,
    }
}

/// `REAR`, or `M1.lamp` if the part has several loads.
fn name(facts: &Facts, id: ElementId) -> String {
    let element = facts.model.element(id);
    let part = &facts.model.part(element.part).name;
    match &element.kind {
        ElementKind::Load(Load { name: Some(name), .. }) => format!("{part}.{name}"),
        _ => part.to_string(),
    }
}

/// A nominal voltage that is this many times another belongs to another system: 24 V to 12 V is twice (common practice, no
/// source).
pub const OTHER_SYSTEM: f64 = 1.5;

/// The nominal voltage of a part for another system: this many times the vehicle's, and the highest that it ever gets.
fn other_system(facts: &Facts, id: ElementId) -> Option<Volts> {
    let nominal = facts.model.part(facts.model.element(id).part).form.nominal?;
    let highest = facts.worst().highest(id)?.value;
    let is_above = |volts: Volts| nominal.value() > volts.value() * OTHER_SYSTEM;
    (is_above(highest) && is_above(facts.model.job.nominal)).then_some(nominal)
}

fn finding(facts: &Facts, id: ElementId, needs: Needs, lowest: &Peak<Volts>) -> Finding {
    let part = facts.model.part(facts.model.element(id).part);
    let what = name(facts, id);
    let state = facts.names().moment(&lowest.moment);
    let (message, hint) = match other_system(facts, id) {
        Some(nominal) => (
            format!("`{what}` is a {nominal} part and gets {} {state}, needs {}", lowest.value, needs.least),
            format!("use the part for {}, or feed it from a supply of {nominal}", facts.model.job.nominal),
        ),
        None => (
            format!("`{what}` gets {} {state}, needs {}", lowest.value, needs.least),
            "use thicker wires, remove a diode from its path, or feed it through a relay from a stronger supply"
                .to_string(),
        ),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("works from {}", needs.least))
        .limit("voltage at the load", lowest.value, format!("at least {}", needs.least))
        .hint(hint);
    let simplest = facts.worst().lowest_by(id).find(|peak| peak.value < needs.least);
    let finding = with_simplest(facts, finding, &lowest.moment, simplest);
    let (finding, solution) = shown_at(facts, finding, &lowest.moment);
    match solution {
        Some(solution) => {
            let way = facts.paths().through(&solution, id, needs.feed, needs.ground);
            let finding = match other_system(facts, id) {
                None => finding.repaired_by(Repair::NoLoss(wires_of(&way))),
                Some(nominal) => {
                    finding.repaired_by(Repair::Rated(facts.model.element(id).part, facts.model.job.nominal / nominal))
                }
            };
            finding.path(waypoints(facts, &solution, &way))
        }
        None => finding,
    }
}

/// The wires that a current flows through.
fn wires_of(way: &CurrentPath) -> Vec<WireId> {
    let wire = |step: &PathStep| match step.via {
        Via::Wire(id) => Some(id),
        _ => None,
    };
    way.steps.iter().filter_map(wire).collect()
}
