use crate::evidence::{end_place, shown_at, waypoints};
use crate::fed_from_behind::{Hidden, fed_though_hidden};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::small_currents::current_words;
use facts::sneak::{Found, Lifted, Sneak};
use model::{ElementId, ElementKind, PinId};

pub const RULE: Rule = Rule {
    name: "logic/sneak-supply",
    severity: Severity::Error,
    explanation: include_str!("sneak_supply.md"),
    finds: Finds::InHarness(find),
};

const HINT: &str = "put a relay that this supply drives, or a diode, between it and the live circuit";

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Supply(id) => held_up(facts, id, found),
        _ => None,
    });
    for (i, element) in facts.model.elements.iter().enumerate() {
        if let ElementKind::Derived { pin, .. } = element.kind
            && !findings.iter().any(|finding| finding.about == facts.model.pin_name(pin))
        {
            let taken = facts.sneaks().taken(ElementId(i));
            findings.extend(taken.into_iter().find_map(|taken| takes(facts, ElementId(i), pin, taken)));
        }
    }
    findings
}

/// A supply that gets a voltage.
fn held_up(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Derived { pin, .. } = facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let way = facts.backfeed().held_by(&solution, pin)?;
    let name = facts.model.pin_name(pin);
    let state = facts.names().moment(&found.moment);
    let message = format!(
        "`{name}` is off {state} but gets {} from the harness, limit {}",
        found.volts, facts.model.limits.sneak_voltage
    );
    let finding = RULE
        .finding(end_place(facts, pin), message)
        .about(name.as_str())
        .label("back-fed")
        .limit("voltage at the supply that is off", found.volts, facts.model.limits.sneak_voltage)
        .value("current into it", current_words(found.amps))
        .value("highest voltage in any state", found.most_volts)
        .value("highest current in any state", current_words(found.most_amps))
        .hint(HINT);
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}

/// A supply whose voltage the vehicle's other loads pull down, on it or on the supply that feeds it.
fn takes(facts: &Facts, id: ElementId, pin: PinId, taken: &Lifted) -> Option<Finding> {
    let supplies = facts.model.elements.iter().enumerate();
    let supplies = supplies.filter(|(_, element)| matches!(element.kind, ElementKind::Derived { .. }));
    let others = |(i, _)| facts.solved.assembly.element(ElementId(i)).iter().skip(1).copied();
    let hidden = Hidden {
        element: id,
        pin,
        branches: supplies.flat_map(others).collect(),
        loads: "loads",
        noticed: facts.model.limits.sneak_current,
    };
    Some(fed_though_hidden(facts, &RULE, &hidden, taken)?.hint(HINT))
}
