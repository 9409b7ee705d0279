use super::ground_missing::open_end;
use crate::evidence::end_place;
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use facts::consumers::Consumer;
use facts::consumers::in_series;
use facts::consumers::is_spare;
use facts::consumers::is_wired;
use facts::walk::Towards;
use model::{PartId, PinId, ShieldEnd};
use spec::WireMake;

pub const RULE: Rule = Rule {
    name: "net/part-unpowered",
    severity: Severity::Error,
    explanation: include_str!("part_unpowered.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    // net/ground-missing reports consumers in series.
    let series = in_series(facts.connectivity());
    let is_in_series = |part: &PartId| series.iter().flatten().any(|(of, _)| of == part);
    facts.model.part_ids().filter(|part| !is_in_series(part)).filter_map(|part| of_part(facts, part)).collect()
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let part = facts.model.part(id);
    let consumers = Consumer::of_part(facts.connectivity(), id);
    if !is_wired(facts.connectivity(), id) {
        // The vehicle feeds parts that it had before.
        let needs = consumers.iter().any(|c| c.feed.is_some()) && !part.existing;
        return needs.then(|| {
            RULE.finding(part.place, format!("nothing is connected to `{}`, so it has no supply", part.name))
                .about(part.name.as_str())
                .label("no wire ends here")
                .hint(format!("wire it, or remove `{}` from the spec", part.name))
        });
    }
    if let Some(exchanged) = consumers.iter().find(|consumer| consumer.is_exchanged(facts.connectivity())) {
        return Some(of_exchanged(facts, id, exchanged));
    }
    let unfed = consumers.iter().filter_map(|consumer| {
        let feed = consumer.feed?;
        let fed = facts.connectivity().is_fed(feed)
            || consumer.either_way && consumer.ground.is_some_and(|ground| facts.connectivity().is_fed(ground));
        let not_ours = part.existing && !facts.connectivity().is_joined(feed);
        (!fed && !is_spare(facts.connectivity(), feed) && !not_ours).then_some(feed)
    });
    let pin = unfed.min()?;
    Some(
        RULE.finding(part.place, format!("`{}` has no supply: {}", part.name, why(facts, pin)))
            .about(part.name.as_str())
            .label(format!("`{}` has no supply", facts.model.pin(pin).name))
            .hint(format!(
                "connect `{}` to a supply through a fuse",
                facts.model.pin_name(open_end(facts, pin, Towards::Supply))
            )),
    )
}

/// Feed and ground swapped.
fn of_exchanged(facts: &Facts, id: PartId, consumer: &Consumer) -> Finding {
    let part = facts.model.part(id);
    let name = |pin: Option<PinId>| pin.map_or_else(String::new, |pin| format!("`{}`", facts.model.pin(pin).name));
    let (feed, ground) = (name(consumer.feed), name(consumer.ground));
    let mut finding = RULE
        .finding(
            part.place,
            format!("{feed} and {ground} of `{}` are swapped: {}", part.name, does(facts, id, consumer, &ground)),
        )
        .about(part.name.as_str())
        .label("swapped")
        .hint("swap the two wires; a part without reverse-polarity protection fails when it is switched on");
    if let (Some(feed), Some(ground)) = (consumer.feed, consumer.ground) {
        finding = finding.repaired_by(Repair::Exchange(feed, ground));
    }
    for (pin, word) in [(consumer.feed, "the ground is here"), (consumer.ground, "the supply comes in here")] {
        if let Some(pin) = pin {
            // A pin without a wire has that of the cavity plugged onto it.
            let wired = std::iter::once(pin)
                .chain(facts.connectivity().mates(pin))
                .find(|pin| !facts.connectivity().wires_on(*pin).is_empty());
            finding = finding.also(end_place(facts, wired.unwrap_or(pin)), word);
        }
    }
    finding
}

/// What a part with feed and ground swapped does: the shield of a coaxial cable on its ground shorts the feed if it goes on
/// to a ground.
fn does(facts: &Facts, id: PartId, consumer: &Consumer, ground: &str) -> String {
    let model = facts.model;
    let is_own = |end: PinId| matches!(model.shield_end(end), ShieldEnd::Pin(pin) if Some(pin) == consumer.ground);
    let goes_on =
        |end: PinId| matches!(model.shield_end(end), ShieldEnd::Pin(pin) if facts.connectivity().is_grounded(pin));
    let shorts = model.wires.iter().filter(|wire| wire.make == WireMake::Coax).any(|wire| {
        let [a, b] = wire.ends;
        [(a, b), (b, a)].into_iter().any(|(own, far)| model.pin(own).part == id && is_own(own) && goes_on(far))
    });
    match shorts {
        true => "its shield shorts the feed".to_string(),
        false => format!(
            "{ground} is fed, {} goes to ground",
            consumer.feed.map_or_else(String::new, |pin| format!("`{}`", model.pin(pin).name))
        ),
    }
}

/// Where the path to the supply ends.
fn why(facts: &Facts, pin: PinId) -> String {
    let name = facts.model.pin_name(pin);
    let reached = facts.connectivity().reached(pin, Towards::Supply);
    match reached.last() {
        Some(&last) if last != pin => {
            format!("the path back from `{name}` ends at `{}`", facts.model.pin_name(last))
        }
        _ => format!("no wire ends on `{name}`"),
    }
}
