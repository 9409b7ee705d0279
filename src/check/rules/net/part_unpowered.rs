use crate::check::walk::Way;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{PartId, PinId};

pub const RULE: Rule = Rule {
    name: "net/part-unpowered",
    severity: Severity::Error,
    explanation: include_str!("part_unpowered.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.model.part_ids().filter_map(|part| of_part(context, part)).collect()
}

fn of_part(context: &Context, id: PartId) -> Option<Finding> {
    let part = context.model.part(id);
    let consumers = context.consumers(id);
    if !context.is_wired(id) {
        // What was in the vehicle before gets its supply from there.
        let needs = consumers.iter().any(|c| c.feed.is_some()) && !part.existing;
        return needs.then(|| {
            RULE.finding(part.place, format!("nothing is joined to `{}`, so it gets no supply", part.name))
                .about(part.name.as_str())
                .label("no wire ends here")
                .hint(format!("wire it up, or take `{}` out of the spec", part.name))
        });
    }
    let unfed = consumers.iter().filter_map(|consumer| {
        let feed = consumer.feed?;
        let fed =
            context.is_fed(feed) || consumer.either_way && consumer.ground.is_some_and(|ground| context.is_fed(ground));
        let not_ours = part.existing && !context.is_joined(feed);
        (!fed && !context.is_spare(feed) && !not_ours).then_some(feed)
    });
    let pin = unfed.min()?;
    Some(
        RULE.finding(part.place, format!("`{}` gets no supply: {}", part.name, why(context, pin)))
            .about(part.name.as_str())
            .label(format!("`{}` is without supply", context.model.pin(pin).name))
            .hint(format!("lead `{}` to a supply through a fuse", context.model.pin_name(pin))),
    )
}

/// Where the way to the supply ends.
fn why(context: &Context, pin: PinId) -> String {
    let name = context.model.pin_name(pin);
    let reached = context.reached(pin, Way::Up);
    match reached.last() {
        Some(&last) if last != pin => {
            format!("the way back from `{name}` ends at `{}`", context.model.pin_name(last))
        }
        _ => format!("no wire ends at `{name}`"),
    }
}
