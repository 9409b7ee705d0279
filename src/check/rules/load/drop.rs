use crate::evidence::{shown_at, size_words, waypoints, with_simplest};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::WireDrop;
use facts::moment::{Moment, Peak};
use model::{ElementId, ElementKind, WireId, conductor};
use quantity::{Celsius, Metres, Share, Volts};
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
    loss: WireDrop,
    moment: Moment,
}

fn find(facts: &Facts) -> Vec<Finding> {
    let most = facts.model.job.nominal * facts.model.limits.drop.value();
    let mut by_wire: BTreeMap<WireId, Vec<Case>> = BTreeMap::new();
    for id in (0..facts.model.elements.len()).map(ElementId) {
        if let Some(case) = worst_case(facts, id)
            && case.loss.volts > most
            && let Some((wire, _)) = case.loss.worst
        {
            by_wire.entry(wire).or_default().push(case);
        }
    }
    by_wire.into_iter().filter_map(|(wire, cases)| finding(facts, wire, cases, most)).collect()
}

/// The moment with the highest drop in a load's wires, of those with its lowest voltage at each corner.
fn worst_case(facts: &Facts, id: ElementId) -> Option<Case> {
    let ElementKind::Load(load) = &facts.model.element(id).kind else { return None };
    let mut worst: Option<Case> = None;
    for peak in facts.worst().lowest(id) {
        let Some(solution) = facts.solution(&peak.moment) else { continue };
        let loss = facts.wire_drop(&solution, id, load);
        if worst.as_ref().is_none_or(|case| loss.volts > case.loss.volts) {
            worst = Some(Case { load: id, loss, moment: peak.moment.clone() });
        }
    }
    worst
}

/// The simplest state in which its wires drop too much.
fn simplest(facts: &Facts, id: ElementId, most: Volts) -> Option<Peak<Volts>> {
    let ElementKind::Load(load) = &facts.model.element(id).kind else { return None };
    facts.worst().lowest_by(id).find_map(|peak| {
        let value = facts.wire_drop(&facts.solution(&peak.moment)?, id, load).volts;
        (value > most).then(|| Peak { value, moment: peak.moment.clone() })
    })
}

fn finding(facts: &Facts, id: WireId, mut cases: Vec<Case>, most: Volts) -> Option<Finding> {
    let model = facts.model;
    cases.sort_by(|a, b| b.loss.volts.value().total_cmp(&a.loss.volts.value()).then(a.load.cmp(&b.load)));
    let case = cases.first()?;
    let (wire, (_, of_wire)) = (model.wire(id), case.loss.worst?);
    let name = |case: &Case| model.part(model.element(case.load).part).name.clone();
    let share = Share::new(case.loss.volts / model.job.nominal);
    let state = facts.names().moment(&case.moment);
    let message = format!(
        "the wires of `{}` drop {} {state}, {share} of {}, limit {}; most of it in wire {}",
        name(case),
        case.loss.volts,
        model.job.nominal,
        model.limits.drop,
        wire.id
    );
    let mut finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(facts.names().wire(id))
        .label(format!("{of_wire} of it drops here"))
        .hint(hint(facts, id, case.loss.volts, of_wire, most));
    for case in &cases {
        finding = finding.limit(&format!("wires of {}, feed and return", name(case)), case.loss.volts, most);
    }
    let finding = with_simplest(facts, finding, &case.moment, simplest(facts, case.load, most).as_ref());
    let (finding, solution) = shown_at(facts, finding, &case.moment);
    Some(match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &case.loss.path)),
        None => finding,
    })
}

/// The size of the worst wire that is enough, with the other wires unchanged.
fn hint(facts: &Facts, id: WireId, loss: Volts, of_wire: Volts, most: Volts) -> String {
    let wire = facts.model.wire(id);
    let may = of_wire - (loss - most);
    let ohms = |size| conductor::resistance(size, Metres::new(1.0), Celsius::new(20.0));
    let fits = |size| ohms(size) / ohms(wire.gauge) <= may / of_wire;
    match conductor::thinnest(wire.gauge, fits).filter(|_| may > Volts::new(0.0)) {
        Some(size) => format!("for wire {} use {}", wire.id, size_words(facts, id, size)),
        None => "use thicker wires along the whole path, or a shorter path".into(),
    }
}
