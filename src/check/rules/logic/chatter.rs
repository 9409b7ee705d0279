use crate::evidence::{in_state, part_place, swings, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::Chatter;
use facts::Facts;
use facts::unsettled::busiest_step;
use facts::unsettled::signals_of;
use model::{ElementId, ElementKind, SignalId};
use quantity::Volts;
use states::{alternates_words, alternating, state_name};

pub const RULE: Rule = Rule {
    name: "logic/chatter",
    severity: Severity::Error,
    explanation: include_str!("chatter.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.unsettled().chatters.iter().map(|(relays, chatter)| finding(facts, relays, chatter)).collect()
}

fn finding(facts: &Facts, relays: &[SignalId], chatter: &Chatter) -> Finding {
    let model = facts.model;
    let others = signals_of(facts.solved, &chatter.actors);
    // A converter that starves takes its loads with it.
    let is_converter = |id: &SignalId| converter(facts, *id).is_some();
    let (mut starving, loads): (Vec<SignalId>, Vec<SignalId>) = others.into_iter().partition(is_converter);
    if starving.is_empty() {
        starving = loads;
    }
    let signals = if relays.is_empty() { &starving[..] } else { relays };
    let about = facts.names().signals(signals).replace('`', "").replace(" and ", ", ");
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(facts.solved, step));
    let place = signals.first().map_or(model.job.place, |id| part_place(facts, model.signals[id.0].part));
    let starved = signals.iter().find_map(|id| starved_words(facts, *id, chatter)).unwrap_or_default();
    let message = format!("{} without end {}{starved}", swings(facts, signals), in_state(&state));
    let hint = if relays.is_empty() {
        "it pulls its own supply too low, stops and starts again: feed it from a point before that voltage drop"
    } else {
        "a relay that opens its own feed buzzes: feed its coil from a point before its contacts"
    };
    let mut finding = RULE
        .finding(place, message)
        .about(about)
        .label("never settles")
        .value("steps in one cycle", chatter.round.len())
        .hint(hint);
    for id in signals.iter().filter_map(|id| converter(facts, *id)) {
        finding = with_voltages(facts, finding, id, chatter);
    }
    if let Some((step, way)) = busiest_step(facts.paths(), signals, chatter) {
        finding = finding.shown_in(state, step.corner).path(waypoints(facts, step, &way));
    }
    for (screen, pictures) in alternating(facts.solved, &chatter.round) {
        let name = format!("screen {}", model.screens[screen.0].name);
        finding = finding.value(&name, alternates_words(model, &pictures));
    }
    finding = finding.value(
        "not checked until this is repaired",
        "what happens over time (rules `time/…`), which relay moves first (`logic/race`)",
    );
    for other in signals.iter().skip(1) {
        finding = finding.also(part_place(facts, model.signals[other.0].part), "takes part");
    }
    finding
}

/// The converter whose working a signal is.
fn converter(facts: &Facts, id: SignalId) -> Option<ElementId> {
    let part = facts.model.part(facts.model.signals[id.0].part);
    let is = |element: &ElementId| match facts.model.element(*element).kind {
        ElementKind::Converter { working, .. } => working == id,
        _ => false,
    };
    part.elements.iter().copied().find(is)
}

/// What a converter gets while it runs, if that is less than it needs: `: it gets 16.6 V while it runs, needs 18 V`.
fn starved_words(facts: &Facts, id: SignalId, chatter: &Chatter) -> Option<String> {
    let ElementKind::Converter { input, ground, least, .. } = facts.model.element(converter(facts, id)?).kind else {
        return None;
    };
    let assembly = &facts.solved.assembly;
    let volts = chatter.round.iter().map(|step| assembly.volts(step, input) - assembly.volts(step, ground));
    let low = volts.reduce(|a, b| if b < a { b } else { a }).filter(|low| *low < least)?;
    Some(format!(": it gets {low} while it runs, needs {least}"))
}

/// The voltages at a converter's inlet over the steps of a cycle, against the voltage that it needs.
fn with_voltages(facts: &Facts, finding: Finding, id: ElementId, chatter: &Chatter) -> Finding {
    let ElementKind::Converter { input, ground, least, .. } = facts.model.element(id).kind else { return finding };
    let assembly = &facts.solved.assembly;
    let volts = chatter.round.iter().map(|step| assembly.volts(step, input) - assembly.volts(step, ground));
    let (low, high) = volts.fold((None, None), |(low, high): (Option<Volts>, Option<Volts>), volts| {
        (Some(low.map_or(volts, |low| low.min(volts))), Some(high.map_or(volts, |high| high.max(volts))))
    });
    match (low, high) {
        (Some(low), Some(high)) => finding
            .limit(
                &format!("voltage at `{}` while it runs", facts.model.pin_name(input)),
                low,
                format!("at least {least}"),
            )
            .value("the same while it is stopped", high),
        _ => finding,
    }
}
