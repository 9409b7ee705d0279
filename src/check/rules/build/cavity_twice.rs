use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{PartKind, PinId};

pub const RULE: Rule = Rule {
    name: "build/cavity-twice",
    severity: Severity::Error,
    explanation: include_str!("cavity_twice.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let cavities = model.pin_ids().filter(|&pin| model.part(model.pin(pin).part).kind == PartKind::Connector);
    cavities.filter_map(|pin| of_cavity(context, pin)).collect()
}

fn of_cavity(context: &Context, pin: PinId) -> Option<Finding> {
    let model = context.model;
    let [first, rest @ ..] = context.wires_on(pin) else { return None };
    let last = rest.last()?;
    let place = |id| {
        let wire = model.wire(id);
        wire.end_places[usize::from(wire.ends[0] != pin)]
    };
    let name = model.pin_name(pin);
    let all: Vec<&str> = context.wires_on(pin).iter().map(|&id| model.wire(id).id.as_str()).collect();
    Some(
        RULE.finding(place(*last), format!("wires {} share the cavity `{name}`", all.join(", ")))
            .about(name)
            .label("this cavity is taken")
            .also(place(*first), "first taken here")
            .hint("move one to a free cavity, or join them in a splice and lead one wire here"),
    )
}
