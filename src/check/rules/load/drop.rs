use crate::evidence::{is_held, shown_at, waypoints, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::Via;
use facts::Facts;
use facts::WireDrop;
use facts::moment::{Moment, Peak};
use model::{ElementId, WireId, conductor};
use quantity::{Celsius, Gauge, Metres, Volts};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "load/drop",
    severity: Severity::Error,
    explanation: include_str!("drop.md"),
    finds: Finds::InHarness(find),
};

/// The highest voltage drop in a load's wires.
struct Case {
    load: ElementId,
    drop: WireDrop,
    moment: Moment,
}

fn find(facts: &Facts) -> Vec<Finding> {
    let mut by_wire: BTreeMap<WireId, Vec<Case>> = BTreeMap::new();
    for id in (0..facts.model.elements.len()).map(ElementId) {
        if let Some(case) = worst_case(facts, id)
            && case.drop.lost.drop > limit(facts, &case.drop)
            && let Some(worst) = case.drop.lost.worst()
        {
            by_wire.entry(worst.wire).or_default().push(case);
        }
    }
    by_wire.into_iter().filter_map(|(wire, cases)| finding(facts, wire, cases)).collect()
}

/// What the wires may lose: a share of the voltage of the load's own system.
fn limit(facts: &Facts, drop: &WireDrop) -> Volts {
    drop.lost.system * facts.model.limits.drop.value()
}

/// The moment with the highest drop in a load's wires, of those with its lowest voltage at each corner.
fn worst_case(facts: &Facts, id: ElementId) -> Option<Case> {
    let mut worst: Option<Case> = None;
    for peak in facts.worst().lowest(id) {
        let Some(drop) = facts.solution(&peak.moment).and_then(|solution| facts.wire_drop(&solution, id)) else {
            continue;
        };
        if worst.as_ref().is_none_or(|case| drop.lost.share() > case.drop.lost.share()) {
            worst = Some(Case { load: id, drop, moment: peak.moment.clone() });
        }
    }
    worst
}

/// The share of its current that a load may draw so that its wires keep to the drop limit. `None` if they keep to it
/// already, or if its terminals take a thicker wire that does.
pub(super) fn share_beyond_terminals(facts: &Facts, id: ElementId) -> Option<f64> {
    let case = worst_case(facts, id)?;
    let (lost, most) = (&case.drop.lost, limit(facts, &case.drop));
    let worst = lost.worst()?;
    let helps = enough(facts, worst.wire, lost.drop, worst.volts, most)
        .is_some_and(|size| size::ends_take(facts.model, worst.wire, size));
    (lost.drop > most && !helps).then(|| most / lost.drop)
}

/// The simplest state in which its wires drop too much.
fn simplest(facts: &Facts, id: ElementId) -> Option<Peak<Volts>> {
    facts.worst().lowest_by(id).find_map(|peak| {
        let drop = facts.wire_drop(&facts.solution(&peak.moment)?, id)?;
        let value = drop.lost.drop;
        (value > limit(facts, &drop)).then(|| Peak { value, moment: peak.moment.clone() })
    })
}

fn finding(facts: &Facts, id: WireId, mut cases: Vec<Case>) -> Option<Finding> {
    let model = facts.model;
    let share = |case: &Case| case.drop.lost.share().value();
    cases.sort_by(|a, b| share(b).total_cmp(&share(a)).then(a.load.cmp(&b.load)));
    let case = cases.first()?;
    let (wire, lost, most) = (model.wire(id), &case.drop.lost, limit(facts, &case.drop));
    let of_wire = lost.worst()?.volts;
    let name = |case: &Case| model.part(model.element(case.load).part).name.clone();
    let state = facts.names().moment(&case.moment);
    let elsewhere = shield_that_loses_more(facts, case, of_wire);
    let most_in = match elsewhere {
        Some(shield) => format!("the shield of wire {}, its way back", model.wire(shield).id),
        None => format!("wire {}", wire.id),
    };
    let message = format!(
        "the wires of `{}` drop {} {state}, {} of {}, limit {}; most of it in {most_in}",
        name(case),
        lost.drop,
        lost.share(),
        lost.system,
        model.limits.drop,
    );
    let mut finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(facts.names().wire(id))
        .label(format!("{of_wire} of it drops here"))
        .hint(match elsewhere {
            Some(_) => {
                "a picture cable is no ground wire: give this load, and what shares its ground, a thicker or separate ground wire"
                    .into()
            }
            None => hint(facts, id, lost.drop, of_wire, most),
        });
    if elsewhere.is_none() {
        finding = finding.repaired_by(Repair::NoLoss(vec![id]));
    }
    for case in &cases {
        let lost = case.drop.lost.drop;
        finding = finding.limit(&format!("wires of {}, feed and return", name(case)), lost, limit(facts, &case.drop));
    }
    let finding = with_simplest(facts, finding, &case.moment, simplest(facts, case.load).as_ref());
    let (finding, solution) = shown_at(facts, finding, &case.moment);
    Some(match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &case.drop.path)),
        None => finding,
    })
}

/// The cable whose shield, on the way of a load's current, loses more than a wire does.
fn shield_that_loses_more(facts: &Facts, case: &Case, of_wire: Volts) -> Option<WireId> {
    let solution = facts.solution(&case.moment)?;
    let shields = case.drop.path.steps.iter().filter_map(|step| match step.via {
        Via::Shield(id) => Some((id, solution.across(facts.solved.assembly.shield(id)?).abs())),
        _ => None,
    });
    let most = shields.reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    (most.1 > of_wire).then_some(most.0)
}

/// The wires to use instead: one size for the worst wire, if the terminals at both of its ends take it.
fn hint(facts: &Facts, id: WireId, loss: Volts, of_wire: Volts, most: Volts) -> String {
    let wire = facts.model.wire(id);
    match enough(facts, id, loss, of_wire, most) {
        Some(size) if size::ends_take(facts.model, id, size) => format!("for wire {} use {size}", wire.id),
        Some(size) => format!(
            "wire {} would have to be {size}, which its terminals don't take: split the load over several wires, use a connector \
             or part with larger terminals, or shorten the path",
            wire.id
        ),
        None => "use thicker wires along the whole path, or a shorter path".into(),
    }
}

/// The size of a wire with which its path loses little enough.
fn enough(facts: &Facts, id: WireId, loss: Volts, of_wire: Volts, most: Volts) -> Option<Gauge> {
    let wire = facts.model.wire(id);
    let may = of_wire - (loss - most);
    let ohms = |size| conductor::resistance(size, Metres::new(1.0), Celsius::new(20.0));
    let fits = |size| ohms(size) / ohms(wire.gauge) <= may / of_wire && is_held(facts, id, size);
    conductor::thinnest(wire.gauge, fits).filter(|_| may > Volts::new(0.0))
}
