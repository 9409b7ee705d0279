use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::Across;
use facts::CORNERS;
use facts::Facts;
use facts::walk::Towards;
use facts::worst::WORSE;
use model::{Coil, ElementId, ElementKind, PartId, PinId};

pub const RULE: Rule = Rule {
    name: "load/coil-unsuppressed",
    severity: Severity::Error,
    explanation: include_str!("coil_unsuppressed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, element) in facts.model.elements.iter().enumerate() {
        let ElementKind::Coil(coil) = &element.kind else { continue };
        if coil.across != Across::Nothing || has_suppressor(facts, element.part, coil) {
            continue;
        }
        if let Some(driver) = driver(facts, coil) {
            findings.push(finding(facts, ElementId(i), coil, driver));
        }
    }
    findings
}

/// A resistor across a coil suppresses it up to this many times the coil's resistance: as the coil is switched off, its
/// current flows through the resistor and gives this many times the supply's voltage. Relays with a resistor inside have some
/// 8 times (680 Ω at 12 V; from memory).
const MOST_TIMES: f64 = 10.0;

/// Whether a diode, suppressor or resistor is across the coil: one of the harness, or that of another relay whose coil is
/// connected to the same two points.
fn has_suppressor(facts: &Facts, relay: PartId, coil: &Coil) -> bool {
    let nets = &facts.nets();
    let ends = [nets.of(coil.feed), nets.of(coil.ground)];
    facts.model.elements.iter().any(|element| {
        let pins = match element.kind {
            ElementKind::Diode { anode, cathode, .. } => [anode, cathode],
            ElementKind::Resistor { between, resistance, .. } if resistance <= coil.resistance * MOST_TIMES => between,
            ElementKind::Coil(ref other) if element.part != relay && other.across != Across::Nothing => {
                [other.feed, other.ground]
            }
            _ => return false,
        };
        let [a, b] = pins.map(|pin| nets.of(pin));
        [a, b] == ends || [b, a] == ends
    })
}

/// The pin of a semiconductor that drives the coil: on its feed side or on its ground side.
fn driver(facts: &Facts, coil: &Coil) -> Option<PinId> {
    let ways = [
        (coil.feed, Towards::Supply),
        (coil.ground, Towards::Ground),
        (coil.ground, Towards::Supply),
        (coil.feed, Towards::Ground),
    ];
    ways.into_iter().find_map(|(pin, towards)| {
        // Through a resistor as large as the coil, the coil gets half of the voltage at most and does not pull in.
        let drives = |id: ElementId, _: [PinId; 2]| match facts.model.element(id).kind {
            ElementKind::Resistor { resistance, .. } => resistance < coil.resistance,
            _ => true,
        };
        let reached = facts.connectivity().reached_by(pin, towards, &drives);
        reached.into_iter().find(|&pin| is_semiconductor(facts, pin, towards))
    })
}

/// Whether a pin is a semiconductor's output: live when on towards the supply, grounded when on towards ground.
fn is_semiconductor(facts: &Facts, pin: PinId, towards: Towards) -> bool {
    let high = towards == Towards::Supply;
    let part = facts.model.part(facts.model.pin(pin).part);
    part.elements.iter().any(|id| match &facts.model.element(*id).kind {
        ElementKind::Output { pin: out, high_side, .. } => *out == pin && *high_side == high,
        ElementKind::Feed(feed) => feed.pin == pin && feed.semiconductor && feed.from.is_some() == high,
        _ => false,
    })
}

fn finding(facts: &Facts, id: ElementId, coil: &Coil, driver: PinId) -> Finding {
    let model = facts.model;
    let part = model.element(id).part;
    let relay = &model.part(part).name;
    let (feed, ground) = (&model.pin(coil.feed).name, &model.pin(coil.ground).name);
    let message = format!(
        "the coil of `{relay}` has no suppression, and semiconductor output `{}` switches it",
        model.pin_name(driver)
    );
    let finding = RULE
        .finding(part_place(facts, part), message)
        .about(relay.as_str())
        .label("coil without suppression")
        .also(part_place(facts, model.pin(driver).part), "switches it")
        .hint(format!("use a relay with a built-in diode, or put a diode across the coil: cathode to `{feed}`, anode to `{ground}`"));
    // The current that is switched off.
    let peak = CORNERS.into_iter().filter_map(|corner| facts.worst().coil(corner, id));
    let peak = peak.reduce(|most, next| if next.value > most.value * (1.0 + WORSE) { next } else { most });
    let Some(peak) = peak else { return finding };
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    let Some(solution) = solution else { return finding };
    finding.value("current at switch-off", peak.value / coil.resistance).path(waypoints(
        facts,
        &solution,
        &facts.paths().through_coil(&solution, id),
    ))
}
