use super::contact_overloaded::{Side, allowed, name, shares, sides};
use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity, tables};
use facts::Facts;
use facts::walk::Towards;
use model::{ElementId, ElementKind, Input, SignalKind};
use quantity::{Amps, PerMinute, significant};

pub const RULE: Rule = Rule {
    name: "load/contact-life",
    severity: Severity::Warning,
    explanation: include_str!("contact_life.md"),
    finds: Finds::InHarness(find),
};

const SECONDS_PER_MINUTE: f64 = 60.0;

/// Below this current only the movement wears a contact.
const IDLE: Amps = Amps::new(1e-3);

fn find(facts: &Facts) -> Vec<Finding> {
    let sides = (0..facts.model.elements.len()).flat_map(|i| sides(facts, ElementId(i)));
    let mut worst: Vec<(f64, Finding)> = Vec::new();
    for (share, finding) in sides.filter_map(|side| of_side(facts, &side)) {
        // The worst contact of a part, or the worse side of it, is enough.
        match worst.iter_mut().find(|(_, other)| other.about == finding.about) {
            Some(other) if other.0 <= share => {}
            Some(other) => *other = (share, finding),
            None => worst.push((share, finding)),
        }
    }
    worst.into_iter().map(|(_, finding)| finding).collect()
}

/// The share of the required operations that a side lasts, if that is below 1, and the finding.
fn of_side(facts: &Facts, side: &Side) -> Option<(f64, Finding)> {
    let model = facts.model;
    let ElementKind::Contact { relay, electrical_life, .. } = &model.element(side.element).kind else { return None };
    let SignalKind::Relay { coils, .. } = &model.signals[relay.0].kind else { return None };
    let peak = facts.worst().amps(side.branch)?;
    if peak.value < IDLE {
        return None;
    }
    let solution = facts.solution(&peak.moment)?;
    let most = allowed(&side.rating, &shares(facts, side, &solution));
    let lasts = (*electrical_life)? as f64 * (most / peak.value).max(1.0);
    let flasher = coils.iter().find_map(|coil| flasher(facts, *coil));
    let needs = flasher.map_or(tables::switching_life(), |(_, rate)| {
        tables::flashing_life().value() / SECONDS_PER_MINUTE * rate.value()
    });
    if lasts >= needs {
        return None;
    }
    let part = model.part(model.element(side.element).part);
    let why = match flasher {
        Some((input, rate)) => {
            let hours = lasts / rate.value() / SECONDS_PER_MINUTE;
            format!(
                "it follows `{}` at {rate} and lasts {} h of flashing, limit {} h",
                input.name,
                significant(hours, 2),
                significant(tables::flashing_life().value() / SECONDS_PER_MINUTE / SECONDS_PER_MINUTE, 2)
            )
        }
        None => {
            format!("it lasts {} operations at {}, limit {}", thousands(lasts), peak.value, thousands(needs))
        }
    };
    let finding = RULE
        .finding(part.place, format!("{} wears out early: {why}", name(facts, side)))
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .value("current through it", peak.value)
        .limit("operations until it is worn out", thousands(lasts), format!("at least {}", thousands(needs)))
        .hint(match flasher {
            Some(_) => "put a hold module between the flasher and the relay, or use a semiconductor switch",
            None => "use a contact rated for this load, or a semiconductor switch",
        });
    let (finding, _) = shown_at(facts, finding, &peak.moment);
    Some((lasts / needs, finding.path(waypoints(facts, &solution, &facts.paths().over(&solution, side.pin)))))
}

/// A number of operations, in whole thousands from ten thousand up.
fn thousands(operations: f64) -> String {
    let step = if operations < 1e4 { 1.0 } else { 1e3 };
    significant((operations / step).floor() * step, 2)
}

/// The flasher that a coil follows, with the middle of the flash rates that the spec allows.
fn flasher<'m>(facts: &Facts<'m>, coil: ElementId) -> Option<(&'m Input, PerMinute)> {
    let ElementKind::Coil(coil) = &facts.model.element(coil).kind else { return None };
    let fed_by = facts.connectivity().reached(coil.feed, Towards::Supply);
    fed_by.iter().find_map(|pin| {
        let input = &facts.model.inputs[facts.connectivity().feed_at(*pin)?.input.0];
        let flash = input.flash?;
        Some((input, PerMinute::new((flash.low.value() + flash.high.value()) / 2.0)))
    })
}
