use crate::evidence::{against_leak, end_place, shown_at, waypoints, with_worst_sneak};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::LoadKind;
use facts::Facts;
use facts::figures;
use facts::leaks::leak_of;
use facts::small_currents::current_words;
use facts::sneak::{Found, Lifted, Sneak};
use model::{ElementId, ElementKind, Load};

pub const RULE: Rule = Rule {
    name: "logic/lamp-glows",
    severity: Severity::Error,
    explanation: include_str!("lamp_glows.md"),
    finds: Finds::InHarness(find),
};

/// From this share of its nominal voltage a lamp does not just glow.
const LIGHTS_UP: f64 = 0.6;

fn find(facts: &Facts) -> Vec<Finding> {
    let of_vehicle = facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Lamps(id) => of_wire(facts, id, found, false),
        Sneak::LowLamps(id) => of_wire(facts, id, found, true),
        _ => None,
    });
    let own = facts.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Load(load) if matches!(load.kind, LoadKind::Lamp | LoadKind::Led) => {
            of_load(facts, ElementId(i), load)
        }
        _ => None,
    });
    of_vehicle.into_iter().chain(own).collect()
}

/// Vehicle lamps on a wire that is off: back-fed or, if it goes to ground when on, grounded.
fn of_wire(facts: &Facts, id: ElementId, found: &Found, low: bool) -> Option<Finding> {
    let ElementKind::Feed(feed) = &facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let (way, how, label, current, hint) = match low {
        false => (
            facts.backfeed().held_by(&solution, feed.pin)?,
            format!("the harness feeds them {}", found.volts),
            "off, but back-fed",
            "current into them",
            "put a diode between this feed and the other feed of the wire",
        ),
        true => (
            facts.paths().from(&solution, feed.pin),
            format!("the harness grounds them with {}", found.amps),
            "off, but grounded by the harness",
            "current through them",
            "put a diode between this wire and the other path to ground, cathode to the wire",
        ),
    };
    let name = facts.model.pin_name(feed.pin);
    let state = facts.names().moment(&found.moment);
    let finding = RULE
        .finding(end_place(facts, feed.pin), format!("the vehicle's lamps on `{name}` light up {state}: {how}"))
        .about(name.as_str())
        .label(label)
        .limit("voltage at the lamps", found.volts, facts.model.job.nominal * figures::glows_share().value())
        .value(current, current_words(found.amps))
        .value("highest voltage in any state", found.most_volts)
        .hint(hint);
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}

/// Whether a finding of this rule says that leakage lights a lamp.
pub fn is_lit_by_leakage(facts: &Facts, id: ElementId) -> bool {
    let ElementKind::Load(load) = &facts.model.element(id).kind else { return false };
    let is_lamp = matches!(load.kind, LoadKind::Lamp | LoadKind::Led);
    let shown = facts.sneaks().lifted(id).into_iter().filter(|lifted| is_lamp && glows(load, lifted));
    let solutions = shown.filter_map(|lifted| facts.solution(&lifted.moment));
    let mut through = solutions.filter_map(|solution| {
        let (_, way) = facts.backfeed().through_another(&solution, id, load.feed, load.ground)?;
        Some((solution, way))
    });
    through.next().is_some_and(|(solution, way)| leak_of(facts, &solution, &way).is_some())
}

/// Whether a voltage makes a lamp glow.
fn glows(load: &Load, lifted: &Lifted) -> bool {
    load.kind == LoadKind::Led || lifted.volts >= load.nominal * figures::glows_share().value()
}

/// A lamp of the harness whose current flows through another consumer.
fn of_load(facts: &Facts, id: ElementId, load: &Load) -> Option<Finding> {
    let lifted = facts.sneaks().lifted(id);
    lifted.into_iter().filter(|lifted| glows(load, lifted)).find_map(|lifted| finding(facts, id, load, lifted))
}

fn finding(facts: &Facts, id: ElementId, load: &Load, lifted: &Lifted) -> Option<Finding> {
    let solution = facts.solution(&lifted.moment)?;
    let (through, way) = facts.backfeed().through_another(&solution, id, load.feed, load.ground)?;
    // A lamp that is meant to be lit shares its ground with others: that is no glow.
    let lamp = facts.model.element(id).part;
    let is_meant = |when| facts.solved.assembly.holds(&solution, when);
    if facts.model.works.iter().any(|promise| promise.part == lamp && is_meant(&promise.when)) {
        return None;
    }
    let part = facts.model.part(lamp);
    let state = facts.names().moment(&lifted.moment);
    let does = if lifted.volts >= load.nominal * LIGHTS_UP { "lights up" } else { "glows" };
    let leak = leak_of(facts, &solution, &way);
    let message = match &leak {
        Some(leak) => {
            let from = &facts.model.part(leak.part).name;
            format!("`{}` {does} {state}: {} of leakage flows through `{from}`", part.name, lifted.amps)
        }
        None => format!("`{}` {does} {state}: {} flows through {through}", part.name, lifted.amps),
    };
    let hint = match &leak {
        Some(leak) => against_leak(facts, leak, facts.model.limits.sneak_voltage),
        None => "give the lamp its own feed and ground, or put a resistor across it to carry the small current".into(),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .value("voltage at the lamp", lifted.volts)
        .limit("current through it", lifted.amps, facts.model.limits.sneak_current)
        .hint(hint);
    let finding = with_worst_sneak(facts, finding, id, lifted, [load.feed, load.ground]);
    let (finding, _) = shown_at(facts, finding, &lifted.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}
