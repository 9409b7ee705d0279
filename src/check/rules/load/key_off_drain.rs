use crate::evidence::{shown_at, unless_short};
use crate::{Finding, Finds, Rule, Severity, tables};
use circuit::{CurrentPath, Solution, Via};
use facts::Facts;
use facts::engine_off::used_up_in;
use facts::small_currents::current_words;
use facts::sneak::{Found, Sneak};
use facts::worst::WORSE;
use model::{ElementId, ElementKind};
use quantity::{Amps, long_time};

pub const RULE: Rule = Rule {
    name: "load/key-off-drain",
    severity: Severity::Warning,
    explanation: include_str!("key_off_drain.md"),
    finds: Finds::InHarness(find),
};

/// Maximum number of consumers in the finding, largest first.
const MOST_NAMED: usize = 5;

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Rest(id) => finding(facts, id, found),
        _ => None,
    })
}

fn finding(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
    let most = model.limits.key_off;
    let ElementKind::Battery { plus, figures, .. } = model.element(id).kind else { return None };
    // Without inputs there is no key to turn off.
    if found.amps.value() <= most.value() * (1.0 + WORSE) || model.inputs.is_empty() {
        return None;
    }
    let solution = facts.solution(&found.moment)?;
    let lasts = figures
        .capacity
        .map(|capacity| long_time(used_up_in(tables::usable_capacity(), capacity, figures.peukert, found.amps)));
    let half_lasts = lasts.as_ref().map_or_else(String::new, |lasts| format!("; half its charge lasts {lasts}"));
    let part = model.part(model.element(id).part);
    let memory = facts.names().moment(&found.moment);
    let memory = memory.split_once("; ").map_or_else(String::new, |(_, memory)| format!(" and {memory}"));
    let message =
        format!("`{}` supplies {} with every input at rest{memory}, limit {most}{half_lasts}", part.name, found.amps);
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label("drained while parked")
        .limit("key-off current", found.amps, most)
        .hint("feed loads that needn't stay awake from a supply that goes off with the key");
    if let (Some(lasts), Some(capacity)) = (lasts, figures.capacity) {
        finding = finding.value(&format!("{} of {capacity} lasts", tables::usable_capacity()), lasts);
    }
    let mut takers: Vec<(Amps, ElementId)> = Vec::new();
    for (i, element) in model.elements.iter().enumerate() {
        let branches = assembly.element(ElementId(i));
        let branches = match element.kind {
            ElementKind::Load(_) | ElementKind::Coil(_) | ElementKind::Sense { .. } => branches,
            // Current from the harness into a supply that is off counts; the loads on a live supply don't.
            ElementKind::Derived { .. } => branches.get(1..).unwrap_or_default(),
            _ => continue,
        };
        takers.push((branches.iter().map(|b| solution.amps(*b)).sum::<Amps>().abs(), ElementId(i)));
    }
    takers.retain(|taker| taker.0 >= most * 0.01);
    takers.sort_by(|a, b| b.0.value().total_cmp(&a.0.value()).then(a.1.cmp(&b.1)));
    let greatest = takers.first().map(|taker| taker.1);
    for (amps, row) in in_rows(facts, &solution, takers).into_iter().take(MOST_NAMED) {
        let names: Vec<String> = row.iter().map(|id| taker_words(facts, *id)).collect();
        let others = matches!(model.element(row[0]).kind, ElementKind::Derived { .. });
        let takes = match (names.len() > 1, others) {
            (true, _) => "in series draw",
            (false, true) => "draw",
            (false, false) => "draws",
        };
        finding = finding.value(&format!("{} {takes}", names.join(" and ")), current_words(amps));
    }
    let way = match greatest.map(|taker| &model.element(taker).kind) {
        Some(ElementKind::Load(load)) => facts.paths().through(&solution, greatest?, load.feed, load.ground),
        Some(ElementKind::Coil(_)) => facts.paths().through_coil(&solution, greatest?),
        _ => facts.paths().over(&solution, plus),
    };
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(unless_short(facts, finding, &solution, &way))
}

fn taker_words(facts: &Facts, id: ElementId) -> String {
    let element = facts.model.element(id);
    let name = &facts.model.part(element.part).name;
    match element.kind {
        ElementKind::Derived { .. } => format!("the vehicle's other loads on `{name}`"),
        _ => format!("`{name}`"),
    }
}

/// Consumers in series carry one current and share one row.
fn in_rows(facts: &Facts, solution: &Solution, takers: Vec<(Amps, ElementId)>) -> Vec<(Amps, Vec<ElementId>)> {
    let mut rows: Vec<(Amps, Vec<ElementId>)> = Vec::new();
    for (amps, taker) in takers {
        let way = match &facts.model.element(taker).kind {
            ElementKind::Load(load) => facts.paths().through(solution, taker, load.feed, load.ground),
            ElementKind::Coil(_) => facts.paths().through_coil(solution, taker),
            ElementKind::Derived { pin, .. } => facts.paths().over(solution, *pin),
            _ => CurrentPath::default(),
        };
        let is_on = |other: &ElementId| way.steps.iter().any(|step| step.via == Via::Element(*other));
        let same = |row: &&mut (Amps, Vec<ElementId>)| (row.0 - amps).abs() <= amps * WORSE && row.1.iter().all(is_on);
        match rows.iter_mut().find(same) {
            Some(row) => row.1.push(taker),
            None => rows.push((amps, vec![taker])),
        }
    }
    rows
}
