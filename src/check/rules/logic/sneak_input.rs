use crate::check::sneak::{Found, Lifted, Sneak, noticed};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind, VehicleFeed};
use crate::quantity::Volts;
use crate::solve::{Logic, Solver};

pub const RULE: Rule = Rule {
    name: "logic/sneak-input",
    severity: Severity::Error,
    explanation: include_str!("sneak_input.md"),
    finds: Finds::InHarness(find),
};

const HINT: &str = "part the two with a diode for each feed, or let each feed drive a relay of its own";

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = context.worst.sneaks.tell(|what, found| match what {
        Sneak::Input(id) => held_up(context, id, found),
        _ => None,
    });
    for (i, element) in context.model.elements.iter().enumerate() {
        if let ElementKind::Feed(feed) = &element.kind
            && !findings.iter().any(|finding| finding.about == context.model.pin_name(feed.pin))
        {
            let taken = context.worst.sneaks.taken(ElementId(i));
            findings.extend(taken.into_iter().find_map(|taken| takes(context, ElementId(i), feed, taken)));
        }
    }
    findings
}

/// A wire that gets a voltage.
fn held_up(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Feed(feed) = &context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.held_by(&solution, feed.pin)?;
    let name = context.model.pin_name(feed.pin);
    let state = context.state_words(&found.moment);
    let message = format!("`{name}` is off {state} and gets {} from the harness", found.volts);
    let finding = RULE
        .finding(context.end_place(feed.pin), message)
        .about(name.as_str())
        .label("fed from behind")
        .limit("voltage at the wire that is off", found.volts, context.model.limits.sneak_voltage)
        .value("current into it", found.amps)
        .value("greatest voltage in any state", found.most_volts)
        .hint(HINT);
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// A wire whose own lamps draw the voltage down: what it would have without them tells whether anything feeds it, or
/// whether it is the millivolts of a shared ground.
fn takes(context: &Context, id: ElementId, feed: &VehicleFeed, taken: &Lifted) -> Option<Finding> {
    let limits = &context.model.limits;
    let without = without_lamps(context, id, feed, taken)?;
    if without <= limits.sneak_voltage {
        return None;
    }
    let solution = context.solution(&taken.moment)?;
    let way = context.held_by(&solution, feed.pin)?;
    let lamps = feed.lamps.map(|watts| watts / context.model.job.nominal);
    let name = context.model.pin_name(feed.pin);
    let state = context.state_words(&taken.moment);
    let most = context.worst.sneaks.taken(id).iter().map(|one| one.amps).fold(taken.amps, crate::quantity::Amps::max);
    let finding = RULE
        .finding(
            context.end_place(feed.pin),
            format!("`{name}` is off {state} and takes {} from the harness", taken.amps),
        )
        .about(name.as_str())
        .label("fed from behind")
        .limit("current into it", taken.amps, noticed(lamps, limits.sneak_current))
        .limit("voltage there without the vehicle's own lamps", without, limits.sneak_voltage)
        .value("greatest current in any state", most)
        .hint(HINT);
    let (finding, _) = context.shown_at(finding, &taken.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// The voltage of the wire with what hangs on it in the vehicle taken off.
fn without_lamps(context: &Context, id: ElementId, feed: &VehicleFeed, taken: &Lifted) -> Option<Volts> {
    let assembly = &context.solved.assembly;
    let mut circuit = assembly.circuit.clone();
    for branch in assembly.element(id) {
        circuit.branches[branch.index()].when = Logic::Never;
    }
    let solution = Solver::new(&circuit, taken.moment.corner).settle(&taken.moment.state).settled()?;
    Some(assembly.volts(&solution, feed.pin))
}
