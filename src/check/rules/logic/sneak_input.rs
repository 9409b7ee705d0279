use crate::evidence::{end_place, shown_at, waypoints};
use crate::fed_from_behind::{Hidden, fed_though_hidden};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::small_currents::current_words;
use facts::sneak::{Found, Lifted, Sneak, noticed};
use model::{ElementId, ElementKind, VehicleFeed};

pub const RULE: Rule = Rule {
    name: "logic/sneak-input",
    severity: Severity::Error,
    explanation: include_str!("sneak_input.md"),
    finds: Finds::InHarness(find),
};

const HINT: &str = "separate the two with one diode for each feed, or let each feed drive its own relay";

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Input(id) => held_up(facts, id, found),
        _ => None,
    });
    for (i, element) in facts.model.elements.iter().enumerate() {
        if let ElementKind::Feed(feed) = &element.kind
            && !findings.iter().any(|finding| finding.about == facts.model.pin_name(feed.pin))
        {
            let taken = facts.sneaks().taken(ElementId(i));
            findings.extend(taken.into_iter().find_map(|taken| takes(facts, ElementId(i), feed, taken)));
        }
    }
    findings
}

/// A wire that gets a voltage.
fn held_up(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Feed(feed) = &facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let way = facts.backfeed().held_by(&solution, feed.pin)?;
    let name = facts.model.pin_name(feed.pin);
    let state = facts.names().moment(&found.moment);
    let message = format!(
        "`{name}` is off {state} but gets {} from the harness, limit {}",
        found.volts, facts.model.limits.sneak_voltage
    );
    let finding = RULE
        .finding(end_place(facts, feed.pin), message)
        .about(name.as_str())
        .label("back-fed")
        .limit("voltage at the wire that is off", found.volts, facts.model.limits.sneak_voltage)
        .value("current into it", current_words(found.amps))
        .value("highest voltage in any state", found.most_volts)
        .hint(HINT);
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}

/// A wire whose vehicle lamps pull the voltage down.
fn takes(facts: &Facts, id: ElementId, feed: &VehicleFeed, taken: &Lifted) -> Option<Finding> {
    let lamps = feed.lamps.map(|watts| watts / facts.model.job.nominal);
    let hidden = Hidden {
        element: id,
        pin: feed.pin,
        branches: facts.solved.assembly.element(id).to_vec(),
        loads: "lamps",
        noticed: noticed(lamps, facts.model.limits.sneak_current),
    };
    Some(fed_though_hidden(facts, &RULE, &hidden, taken)?.hint(HINT))
}
