use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::form::place::suggestion;

pub const RULE: Rule = Rule {
    name: "net/pin-unknown",
    severity: Severity::Error,
    explanation: include_str!("pin_unknown.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let finding = |loose: &crate::model::LooseWire| {
        let part = model.part(loose.part);
        let pins: Vec<&str> = part.pins.iter().map(|&pin| model.pin(pin).name.as_str()).collect();
        let (message, hint) = match &loose.pin {
            Some(pin) => {
                let message =
                    format!("wire {} ends at `{}`, and {} has no pin `{pin}`", loose.id, loose.end, part.name);
                (message, suggestion(pin, pins, "its pins"))
            }
            None => {
                let message = format!("wire {} ends at `{}`, which has {} pins", loose.id, loose.end, pins.len());
                (message, format!("name one, for example `{}.{}`; its pins: {}", part.name, pins[0], pins.join(", ")))
            }
        };
        RULE.finding(loose.place, message)
            .about(format!("wire {}", loose.id))
            .label("no such pin")
            .also(part.place, format!("a {}", part.use_name))
            .hint(hint)
    };
    model.loose.iter().map(finding).collect()
}
