use crate::back::Hidden;
use crate::sneak::{Found, Lifted, Sneak, noticed};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind, VehicleFeed};

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

/// A wire whose own lamps draw the voltage down.
fn takes(context: &Context, id: ElementId, feed: &VehicleFeed, taken: &Lifted) -> Option<Finding> {
    let lamps = feed.lamps.map(|watts| watts / context.model.job.nominal);
    let hidden = Hidden {
        element: id,
        pin: feed.pin,
        branches: context.solved.assembly.element(id).to_vec(),
        loads: "lamps",
        noticed: noticed(lamps, context.model.limits.sneak_current),
    };
    Some(context.fed_though_hidden(&RULE, &hidden, taken)?.hint(HINT))
}
