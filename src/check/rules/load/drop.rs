use crate::path::Loss;
use crate::worst::{Moment, Peak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind, WireId, conductor};
use quantity::{Celsius, Metres, Share, Volts};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "load/drop",
    severity: Severity::Error,
    explanation: include_str!("drop.md"),
    finds: Finds::InHarness(find),
};

/// What a load's wires lose where they lose most.
struct Case {
    load: ElementId,
    loss: Loss,
    moment: Moment,
}

fn find(context: &Context) -> Vec<Finding> {
    let most = context.model.job.nominal * context.model.limits.drop.value();
    let mut by_wire: BTreeMap<WireId, Vec<Case>> = BTreeMap::new();
    for id in (0..context.model.elements.len()).map(ElementId) {
        if let Some(case) = worst_case(context, id)
            && case.loss.volts > most
            && let Some((wire, _)) = case.loss.worst
        {
            by_wire.entry(wire).or_default().push(case);
        }
    }
    by_wire.into_iter().filter_map(|(wire, cases)| finding(context, wire, cases, most)).collect()
}

/// The moment at which a load's wires lose most, of those when its voltage is lowest at each corner.
fn worst_case(context: &Context, id: ElementId) -> Option<Case> {
    let ElementKind::Load(load) = &context.model.element(id).kind else { return None };
    let mut worst: Option<Case> = None;
    for peak in context.worst.lowest(id) {
        let Some(solution) = context.solution(&peak.moment) else { continue };
        let loss = context.loss(&solution, id, load);
        if worst.as_ref().is_none_or(|case| loss.volts > case.loss.volts) {
            worst = Some(Case { load: id, loss, moment: peak.moment.clone() });
        }
    }
    worst
}

/// The simplest state in which its wires lose too much.
fn simplest(context: &Context, id: ElementId, most: Volts) -> Option<Peak<Volts>> {
    let ElementKind::Load(load) = &context.model.element(id).kind else { return None };
    context.worst.lowest_by(id).find_map(|peak| {
        let value = context.loss(&context.solution(&peak.moment)?, id, load).volts;
        (value > most).then(|| Peak { value, moment: peak.moment.clone() })
    })
}

fn finding(context: &Context, id: WireId, mut cases: Vec<Case>, most: Volts) -> Option<Finding> {
    let model = context.model;
    cases.sort_by(|a, b| b.loss.volts.value().total_cmp(&a.loss.volts.value()).then(a.load.cmp(&b.load)));
    let case = cases.first()?;
    let (wire, (_, of_wire)) = (model.wire(id), case.loss.worst?);
    let name = |case: &Case| model.part(model.element(case.load).part).name.clone();
    let share = Share::new(case.loss.volts / model.job.nominal);
    let state = context.state_words(&case.moment);
    let message = format!(
        "the wires of `{}` lose {} {state}, {share} of {} and more than {}, wire {} most of it",
        name(case),
        case.loss.volts,
        model.job.nominal,
        model.limits.drop,
        wire.id
    );
    let mut finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(context.wire_words(id))
        .label(format!("{of_wire} of it are lost here"))
        .hint(hint(context, id, case.loss.volts, of_wire, most));
    for case in &cases {
        finding = finding.limit(&format!("wires of {}, there and back", name(case)), case.loss.volts, most);
    }
    let finding = context.simplest(finding, &case.moment, simplest(context, case.load, most).as_ref());
    let (finding, solution) = context.shown_at(finding, &case.moment);
    Some(match solution {
        Some(solution) => finding.path(context.waypoints(&solution, &case.loss.way)),
        None => finding,
    })
}

/// The size of the worst wire that would do, the others staying as they are.
fn hint(context: &Context, id: WireId, loss: Volts, of_wire: Volts, most: Volts) -> String {
    let wire = context.model.wire(id);
    let may = of_wire - (loss - most);
    let ohms = |size| conductor::resistance(size, Metres::new(1.0), Celsius::new(20.0));
    let fits = |size| ohms(size) / ohms(wire.gauge) <= may / of_wire;
    match conductor::thinnest(wire.gauge, fits).filter(|_| may > Volts::new(0.0)) {
        Some(size) => format!("take {size} for wire {}", wire.id),
        None => "take thicker wires on the whole way, or a shorter way".into(),
    }
}
