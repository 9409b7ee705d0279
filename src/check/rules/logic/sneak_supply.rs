use crate::back::Hidden;
use crate::sneak::{Found, Lifted, Sneak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind, PinId};

pub const RULE: Rule = Rule {
    name: "logic/sneak-supply",
    severity: Severity::Error,
    explanation: include_str!("sneak_supply.md"),
    finds: Finds::InHarness(find),
};

const HINT: &str = "put a relay that the dead supply moves, or a diode, between it and what is live without it";

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = context.worst.sneaks.tell(|what, found| match what {
        Sneak::Supply(id) => held_up(context, id, found),
        _ => None,
    });
    for (i, element) in context.model.elements.iter().enumerate() {
        if let ElementKind::Derived { pin, .. } = element.kind
            && !findings.iter().any(|finding| finding.about == context.model.pin_name(pin))
        {
            let taken = context.worst.sneaks.taken(ElementId(i));
            findings.extend(taken.into_iter().find_map(|taken| takes(context, ElementId(i), pin, taken)));
        }
    }
    findings
}

/// A supply that gets a voltage.
fn held_up(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Derived { pin, .. } = context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.held_by(&solution, pin)?;
    let name = context.model.pin_name(pin);
    let state = context.state_words(&found.moment);
    let message = format!("`{name}` is off {state} and gets {} from the harness", found.volts);
    let finding = RULE
        .finding(context.end_place(pin), message)
        .about(name.as_str())
        .label("fed from behind")
        .limit("voltage at the supply that is off", found.volts, context.model.limits.sneak_voltage)
        .value("current into it", found.amps)
        .value("greatest voltage in any state", found.most_volts)
        .value("greatest current in any state", found.most_amps)
        .hint(HINT);
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// A supply whose voltage is drawn down by what else hangs on it in the vehicle, on it or on what feeds it.
fn takes(context: &Context, id: ElementId, pin: PinId, taken: &Lifted) -> Option<Finding> {
    let supplies = context.model.elements.iter().enumerate();
    let supplies = supplies.filter(|(_, element)| matches!(element.kind, ElementKind::Derived { .. }));
    let others = |(i, _)| context.solved.assembly.element(ElementId(i)).iter().skip(1).copied();
    let hidden = Hidden {
        element: id,
        pin,
        branches: supplies.flat_map(others).collect(),
        loads: "loads",
        noticed: context.model.limits.sneak_current,
    };
    Some(context.fed_though_hidden(&RULE, &hidden, taken)?.hint(HINT))
}
