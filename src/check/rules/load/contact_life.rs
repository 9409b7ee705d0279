use super::contact_overloaded::{Side, allowed, name, shares, sides};
use crate::check::walk::Way;
use crate::check::{Context, Finding, Finds, Rule, Severity, tables};
use crate::model::{ElementId, ElementKind, Input, SignalKind};
use crate::quantity::{PerMinute, significant};

pub const RULE: Rule = Rule {
    name: "load/contact-life",
    severity: Severity::Warning,
    explanation: include_str!("contact_life.md"),
    finds: Finds::InHarness(find),
};

const SECONDS_PER_MINUTE: f64 = 60.0;

fn find(context: &Context) -> Vec<Finding> {
    let sides = (0..context.model.elements.len()).flat_map(|i| sides(context, ElementId(i)));
    let mut found: Vec<Finding> = sides.filter_map(|side| of_side(context, &side)).collect();
    // The worse side of a change-over contact is enough.
    found.dedup_by(|a, b| a.about == b.about);
    found
}

fn of_side(context: &Context, side: &Side) -> Option<Finding> {
    let model = context.model;
    let ElementKind::Contact { relay, mechanical_life, electrical_life, .. } = &model.element(side.element).kind else {
        return None;
    };
    let SignalKind::Relay { coils, .. } = &model.signals[relay.0].kind else { return None };
    let peak = context.worst.amps(side.branch)?;
    let solution = context.solution(&peak.moment)?;
    let most = allowed(&side.rating, &shares(context, side, &solution));
    let electrical = electrical_life.map(|n| n as f64 * (most.value() / peak.value.value().max(1e-6)).max(1.0));
    let mechanical = mechanical_life.map(|n| n as f64);
    let lasts = match (electrical, mechanical) {
        (Some(a), Some(b)) => a.min(b),
        (a, b) => a.or(b)?,
    };
    let flasher = coils.iter().find_map(|coil| flasher(context, *coil));
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
            format!("it follows `{}` at {rate} and lasts {} hours of flashing", input.name, significant(hours, 2))
        }
        None => format!("it lasts {} operations with {}", significant(lasts, 2), peak.value),
    };
    let finding = RULE
        .finding(part.place, format!("{} wears out early: {why}", name(context, side)))
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .value("current through it", peak.value)
        .limit("operations that it lasts", significant(lasts, 2), format!("at least {}", significant(needs, 2)))
        .hint(match flasher {
            Some(_) => "put a hold module between the flasher and the relay, or take a semiconductor switch",
            None => "take a contact made for this load, or a semiconductor switch",
        });
    let (finding, _) = context.shown_at(finding, &peak.moment);
    Some(finding.path(context.waypoints(&solution, &context.way_over(&solution, side.pin))))
}

/// The flasher that a coil follows, with its usual rate: the middle of what the spec allows for.
fn flasher<'m>(context: &Context<'m>, coil: ElementId) -> Option<(&'m Input, PerMinute)> {
    let ElementKind::Coil(coil) = &context.model.element(coil).kind else { return None };
    let fed_by = context.reached(coil.feed, Way::Up);
    fed_by.iter().find_map(|pin| {
        let input = &context.model.inputs[context.feed_at(*pin)?.input.0];
        let flash = input.flash?;
        Some((input, PerMinute::new((flash.low.value() + flash.high.value()) / 2.0)))
    })
}
