use crate::walk::{Consumer, Way};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{PartId, PinId};

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
    if let Some(exchanged) = consumers.iter().find(|consumer| context.is_exchanged(consumer)) {
        return Some(of_exchanged(context, id, exchanged));
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

/// Its two wires the wrong way about.
fn of_exchanged(context: &Context, id: PartId, consumer: &Consumer) -> Finding {
    let part = context.model.part(id);
    let name = |pin: Option<PinId>| pin.map_or_else(String::new, |pin| format!("`{}`", context.model.pin(pin).name));
    let (feed, ground) = (name(consumer.feed), name(consumer.ground));
    let mut finding = RULE
        .finding(
            part.place,
            format!("{feed} and {ground} of `{}` are exchanged: {ground} is fed, {feed} goes to ground", part.name),
        )
        .about(part.name.as_str())
        .label("the wrong way round")
        .hint("swap the two wires; what has no protection against that is destroyed when it is switched on");
    for (pin, word) in [(consumer.feed, "ground is here"), (consumer.ground, "supply comes in here")] {
        if let Some(pin) = pin {
            // The wire of the cavity that it is plugged into, if it has none of its own.
            let wired = std::iter::once(pin).chain(context.mates(pin)).find(|pin| !context.wires_on(*pin).is_empty());
            finding = finding.also(context.end_place(wired.unwrap_or(pin)), word);
        }
    }
    finding
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
