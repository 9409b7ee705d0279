use crate::evidence::{or_nothing, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::{CurrentPath, PathStep, Spot, Via};
use facts::branches::JOINT;
use facts::consumers::{Consumer, in_series, is_spare, is_wired};
use facts::moment::{CORNERS, Peak};
use facts::walk::Towards;
use facts::{Facts, figures};
use model::{ElementId, ElementKind, PartId, PartKind, PinId, PinRole, StateCondition, WireId};
use quantity::{Amps, Volts};
use states::listed;

pub const RULE: Rule = Rule {
    name: "net/ground-missing",
    severity: Severity::Error,
    explanation: include_str!("ground_missing.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let series = in_series(facts.connectivity());
    let is_in_series = |part: &PartId| series.iter().flatten().any(|(of, _)| of == part);
    let alone = facts.model.part_ids().filter(|part| !is_in_series(part)).filter_map(|part| of_part(facts, part));
    series.iter().map(|series| of_series(facts, series)).chain(alone).collect()
}

/// Consumers in series: the supply's voltage divides between them.
fn of_series(facts: &Facts, series: &[(PartId, Consumer)]) -> Finding {
    let model = facts.model;
    let names: Vec<String> = series.iter().map(|(part, _)| format!("`{}`", model.part(*part).name)).collect();
    let pins: Vec<[PinId; 2]> = series.iter().filter_map(|(_, one)| Some([one.feed?, one.ground?])).collect();
    let across = |pins: &[PinId; 2]| Some(facts.worst().across(pins[0], pins[1])?.value);
    // Where every state with a current opens a fuse at once, there are only millivolts to tell.
    let is_fed = pins.iter().filter_map(across).any(|volts| volts > model.limits.sneak_voltage);
    let shares = pins.iter().zip(&names);
    let shares = shares.filter_map(|(pins, name)| Some(format!("{name} gets {}", or_nothing(across(pins)?))));
    let volts: Vec<String> = shares.filter(|_| is_fed).collect();
    let (first, last) = (pins[0], pins[pins.len() - 1]);
    let [ground, feed, source] = [first[1], last[0], first[0]].map(|pin| model.pin_name(pin));
    let part = model.part(series[0].0);
    let names = listed(&names).unwrap_or_default();
    let message = match listed(&volts) {
        Some(volts) => format!("{names} are in series and share the voltage: {volts}"),
        None => {
            let others = if series.len() == 2 { "the other" } else { "the others" };
            format!("{names} are in series: the current of each has to pass through {others}")
        }
    };
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("`{}` leads to `{feed}`, not to ground", model.pin(first[1]).name))
        .hint(format!("connect `{ground}` to a ground point, and feed `{feed}` from what feeds `{source}`"))
        .repaired_by(Repair::InParallel(pins.clone()));
    series[1..].iter().fold(finding, |finding, (part, _)| finding.also(model.part(*part).place, "in series with it"))
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let part = facts.model.part(id);
    if !is_wired(facts.connectivity(), id) {
        return None; // net/part-unpowered reports a part without wires.
    }
    let missing = |consumer: &Consumer| {
        let ground = consumer.ground?;
        // net/part-unpowered reports swapped wires.
        if consumer.is_exchanged(facts.connectivity()) {
            return None;
        }
        let grounded = facts.connectivity().is_grounded(ground)
            || consumer.either_way && consumer.feed.is_some_and(|feed| facts.connectivity().is_grounded(feed));
        let not_ours = part.existing && !facts.connectivity().is_joined(ground);
        (!grounded && !is_spare(facts.connectivity(), ground) && !not_ours).then_some(ground)
    };
    let pin = Consumer::of_part(facts.connectivity(), id).iter().filter_map(missing).min()?;
    if let Some((cable, peak)) = facts.ground_by_shield(id) {
        return Some(by_shield(facts, pin, cable, peak));
    }
    let finding = RULE
        .finding(part.place, format!("`{}` has no ground: {}", part.name, why(facts, pin)))
        .about(part.name.as_str())
        .label(format!("`{}` has no ground", facts.model.pin(pin).name))
        .hint(format!("connect `{}` to a ground point", facts.model.pin_name(open_end(facts, pin, Towards::Ground))))
        .repaired_by(repair(facts, pin));
    let finding = match between_feeds(facts, id, pin) {
        Some((feed, vehicle)) => {
            let [feed_name, ground, vehicle] = [feed, pin, vehicle].map(|pin| facts.model.pin_name(pin));
            finding
                .hint(format!("feed `{feed_name}` from `{vehicle}` instead, and connect `{ground}` to a ground point"))
                .repaired_by(Repair::FedByGround(feed, pin))
        }
        None => finding,
    };
    Some(match runs_unasked(facts, id, pin) {
        Some((element, peak)) => unasked(facts, finding, element, pin, peak),
        None => finding,
    })
}

/// The feed pin of a load whose ground is on a switched wire or supply of the vehicle while a supply that is never off
/// feeds it, and that wire or supply.
fn between_feeds(facts: &Facts, id: PartId, ground: PinId) -> Option<(PinId, PinId)> {
    let kind = |pin: PinId| facts.model.part(facts.model.pin(pin).part).kind;
    let is_switched = |pin: PinId| {
        let elements = facts.model.part(facts.model.pin(pin).part).elements.iter();
        elements.into_iter().any(|id| match &facts.model.element(*id).kind {
            ElementKind::Derived { when, .. } => *when != StateCondition::Always(true),
            ElementKind::Feed(_) => true,
            _ => false,
        })
    };
    let reached = facts.connectivity().reached(ground, Towards::Ground);
    let is_vehicles = |pin: PinId| matches!(kind(pin), PartKind::Feed | PartKind::Supply) && is_switched(pin);
    let vehicle = reached.into_iter().find(|pin| is_vehicles(*pin))?;
    let feed = facts.model.part(id).elements.iter().find_map(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) if load.ground == ground => Some(load.feed),
        ElementKind::Coil(coil) if coil.ground == ground => Some(coil.feed),
        _ => None,
    })?;
    let fed = facts.connectivity().reached(feed, Towards::Supply);
    let stays_on = |pin: PinId| kind(pin) == PartKind::Supply && (kind(vehicle) == PartKind::Feed || !is_switched(pin));
    fed.into_iter().any(stays_on).then_some((feed, vehicle))
}

/// The load or coil on a pin without a ground that works all the same: over the vehicle's lamps, or from one feed to
/// another. With the moment of its highest voltage.
fn runs_unasked<'f>(facts: &'f Facts, id: PartId, ground: PinId) -> Option<(ElementId, &'f Peak<Volts>)> {
    let some = facts.model.limits.sneak_voltage;
    facts.model.part(id).elements.iter().find_map(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) if load.ground == ground => {
            let peak = facts.worst().highest(*id)?;
            (peak.value > some).then_some((*id, peak))
        }
        ElementKind::Coil(coil) if coil.ground == ground => {
            let highest = CORNERS.into_iter().filter_map(|corner| facts.worst().coil(corner, *id));
            let peak = highest.max_by(|a, b| a.value.value().total_cmp(&b.value.value()))?;
            (peak.value > some).then_some((*id, peak))
        }
        _ => None,
    })
}

/// Says that it works, and where its current goes.
fn unasked(facts: &Facts, finding: Finding, id: ElementId, ground: PinId, peak: &Peak<Volts>) -> Finding {
    let state = facts.names().moment(&peak.moment);
    let works = match &facts.model.element(id).kind {
        ElementKind::Load(load) => peak.value >= load.least,
        ElementKind::Coil(coil) => peak.value >= coil.pull_in,
        _ => false,
    };
    let feed = match &facts.model.element(id).kind {
        ElementKind::Load(load) => load.feed,
        ElementKind::Coil(coil) => coil.feed,
        _ => return finding,
    };
    let (finding, solution) = shown_at(facts, finding.value("voltage at it", peak.value), &peak.moment);
    let way = solution.as_ref().map(|solution| facts.paths().through(solution, id, feed, ground));
    let through = way
        .as_ref()
        .and_then(|way| beyond(facts, way, ground))
        .map_or_else(String::new, |through| format!(" through {through}"));
    let message = match works {
        true => format!("{}, but it runs all the same{through} {state}, on {}", finding.message, peak.value),
        false => format!("{}, but it gets {}{through} {state}", finding.message, peak.value),
    };
    let finding = Finding { message, ..finding };
    match solution.zip(way) {
        Some((solution, way)) => finding.path(waypoints(facts, &solution, &way)),
        None => finding,
    }
}

/// What a current passes between a pin and the battery's negative: what takes most voltage there.
fn beyond(facts: &Facts, way: &CurrentPath, pin: PinId) -> Option<String> {
    let at = way.steps.iter().position(|step| step.to == Spot::Pin(pin))?;
    let steps = || way.steps[at..].windows(2).map(|pair| (&pair[1], pair[0].volts - pair[1].volts));
    let taker = |(step, _): &(&PathStep, Volts)| match step.via {
        Via::Element(id) => !matches!(facts.model.element(id).kind, ElementKind::GroundPoint { .. }),
        Via::Shield(_) => true,
        _ => false,
    };
    let (step, _) = steps().filter(taker).max_by(|a, b| a.1.value().total_cmp(&b.1.value()))?;
    let model = facts.model;
    Some(match step.via {
        Via::Element(id) => {
            let name = &model.part(model.element(id).part).name;
            match model.element(id).kind {
                ElementKind::Derived { .. } => format!("the other loads on `{name}`"),
                ElementKind::Feed(_) if step.to == Spot::Negative => format!("the vehicle's own lamps on `{name}`"),
                _ => format!("`{name}`"),
            }
        }
        Via::Shield(id) => format!("the shield of {}", facts.names().wire(id)),
        _ => return None,
    })
}

/// Where a missing connection belongs: on the open contact of a switch, fuse or connector at which the path from a pin
/// ends, else on the pin itself.
pub fn open_end(facts: &Facts, pin: PinId, towards: Towards) -> PinId {
    let is_throw = |end: &PinId| {
        facts.model.elements.iter().any(|element| match &element.kind {
            ElementKind::Throw { common, throw, .. } => [common, throw].contains(&end),
            _ => false,
        })
    };
    let is_contact = |end: &PinId| match facts.model.part(facts.model.pin(*end).part).kind {
        PartKind::Connector => true,
        PartKind::Device => facts.model.pin(*end).role == PinRole::Through || is_throw(end),
        _ => is_throw(end),
    };
    let end = way(facts, pin, towards).last().copied();
    end.filter(|end| is_contact(end) && facts.connectivity().wires_on(*end).is_empty()).unwrap_or(pin)
}

/// What a pin leads to; not over a resistor, which is no ground, and not over the output of a module, which switches what it
/// feeds.
fn way(facts: &Facts, pin: PinId, towards: Towards) -> Vec<PinId> {
    let is_metal = |id: ElementId| match facts.model.element(id).kind {
        ElementKind::Resistor { resistance, .. } => resistance <= JOINT,
        ElementKind::Output { high_side, .. } => !high_side,
        _ => true,
    };
    facts.connectivity().reached_by(pin, towards, &|id, _| is_metal(id))
}

/// The end of its path connected to ground; if that gives supply, the pin itself instead.
fn repair(facts: &Facts, pin: PinId) -> Repair {
    let reached = way(facts, pin, Towards::Ground);
    match reached.last() {
        Some(&last) if !facts.connectivity().has_supply(&reached) => Repair::Ground(last),
        _ => Repair::GroundOnly(pin),
    }
}

/// A part that works, since the shield of its cable is its ground.
fn by_shield(facts: &Facts, pin: PinId, cable: WireId, peak: &Peak<Amps>) -> Finding {
    let part = facts.model.part(facts.model.pin(pin).part);
    let (cable, limit) = (facts.names().wire(cable), figures::shield_carries());
    let message = format!("`{}` has no ground of its own: the shield of {cable} carries its {}", part.name, peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("no wire ends on `{}`", facts.model.pin(pin).name))
        .limit("through the shield", peak.value, limit)
        .hint(format!("connect `{}` to a ground point; a shield is no ground", facts.model.pin_name(pin)))
        .repaired_by(repair(facts, pin));
    shown_at(facts, finding, &peak.moment).0
}

/// Where the path to ground ends.
fn why(facts: &Facts, pin: PinId) -> String {
    let name = facts.model.pin_name(pin);
    let reached = way(facts, pin, Towards::Ground);
    let feed = reached.iter().find(|pin| facts.connectivity().has_supply(&[**pin]));
    match feed.or(reached.last()) {
        Some(feed) if facts.connectivity().has_supply(&[*feed]) => {
            format!("`{name}` is connected to the feed `{}`", facts.model.pin_name(*feed))
        }
        Some(&last) if last != pin => format!("the path from `{name}` ends at `{}`", facts.model.pin_name(last)),
        _ => format!("no wire ends on `{name}`"),
    }
}
