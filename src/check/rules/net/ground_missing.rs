use crate::walk::{Consumer, Way};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{PartId, PinId};

pub const RULE: Rule = Rule {
    name: "net/ground-missing",
    severity: Severity::Error,
    explanation: include_str!("ground_missing.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.model.part_ids().filter_map(|part| of_part(context, part)).collect()
}

fn of_part(context: &Context, id: PartId) -> Option<Finding> {
    let part = context.model.part(id);
    if !context.is_wired(id) {
        return None; // That it is joined to nothing is told by net/part-unpowered.
    }
    let missing = |consumer: &Consumer| {
        let ground = consumer.ground?;
        // Told by net/part-unpowered.
        if context.is_exchanged(consumer) {
            return None;
        }
        let grounded = context.is_grounded(ground)
            || consumer.either_way && consumer.feed.is_some_and(|feed| context.is_grounded(feed));
        let not_ours = part.existing && !context.is_joined(ground);
        (!grounded && !context.is_spare(ground) && !not_ours).then_some(ground)
    };
    let pin = context.consumers(id).iter().filter_map(missing).min()?;
    Some(
        RULE.finding(part.place, format!("`{}` has no ground: {}", part.name, why(context, pin)))
            .about(part.name.as_str())
            .label(format!("`{}` is without ground", context.model.pin(pin).name))
            .hint(format!("lead `{}` to a ground point", context.model.pin_name(pin))),
    )
}

/// Where the way to ground ends.
fn why(context: &Context, pin: PinId) -> String {
    let name = context.model.pin_name(pin);
    match context.reached(pin, Way::Down).last() {
        Some(&last) if last != pin => format!("the way on from `{name}` ends at `{}`", context.model.pin_name(last)),
        _ => format!("no wire ends at `{name}`"),
    }
}
