use crate::walk::Way;
use crate::worst::{CORNERS, WORSE};
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::Across;
use model::{Coil, ElementId, ElementKind, PartId, PinId};

pub const RULE: Rule = Rule {
    name: "load/coil-unsuppressed",
    severity: Severity::Error,
    explanation: include_str!("coil_unsuppressed.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, element) in context.model.elements.iter().enumerate() {
        let ElementKind::Coil(coil) = &element.kind else { continue };
        if coil.across != Across::Nothing || has_suppressor(context, element.part, coil) {
            continue;
        }
        if let Some(driver) = driver(context, coil) {
            findings.push(finding(context, ElementId(i), coil, driver));
        }
    }
    findings
}

/// Whether a diode, a suppressor or a resistor lies across the coil: one of the harness, or that of another relay whose coil
/// is joined to the same two points.
fn has_suppressor(context: &Context, relay: PartId, coil: &Coil) -> bool {
    let nets = &context.nets;
    let ends = [nets.of(coil.feed), nets.of(coil.ground)];
    context.model.elements.iter().any(|element| {
        let pins = match element.kind {
            ElementKind::Diode { anode, cathode, .. } => [anode, cathode],
            ElementKind::Resistor { between, .. } => between,
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
fn driver(context: &Context, coil: &Coil) -> Option<PinId> {
    let ways = [(coil.feed, Way::Up), (coil.ground, Way::Down), (coil.ground, Way::Up), (coil.feed, Way::Down)];
    ways.into_iter().find_map(|(pin, way)| {
        let reached = context.reached(pin, way);
        reached.into_iter().find(|&pin| is_semiconductor(context, pin, way))
    })
}

/// Whether a pin is a semiconductor's output: live when on for the way up, to ground when on for the way down.
fn is_semiconductor(context: &Context, pin: PinId, way: Way) -> bool {
    let high = way == Way::Up;
    let part = context.model.part(context.model.pin(pin).part);
    part.elements.iter().any(|id| match &context.model.element(*id).kind {
        ElementKind::Output { pin: out, high_side, .. } => *out == pin && *high_side == high,
        ElementKind::Feed(feed) => feed.pin == pin && feed.semiconductor && feed.from.is_some() == high,
        _ => false,
    })
}

fn finding(context: &Context, id: ElementId, coil: &Coil, driver: PinId) -> Finding {
    let model = context.model;
    let part = model.element(id).part;
    let relay = &model.part(part).name;
    let (feed, ground) = (&model.pin(coil.feed).name, &model.pin(coil.ground).name);
    let message =
        format!("nothing is across the coil of `{relay}`, which the semiconductor `{}` drives", model.pin_name(driver));
    let finding = RULE
        .finding(context.part_place(part), message)
        .about(relay.as_str())
        .label("coil without a diode")
        .also(context.part_place(model.pin(driver).part), "drives it")
        .hint(format!("take a relay with a diode, or put one across: cathode to `{feed}`, anode to `{ground}`"));
    // What it carries when it is cut off.
    let peak = CORNERS.into_iter().filter_map(|corner| context.worst.coil(corner, id));
    let peak = peak.reduce(|most, next| if next.value > most.value * (1.0 + WORSE) { next } else { most });
    let Some(peak) = peak else { return finding };
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    let Some(solution) = solution else { return finding };
    finding
        .value("cut off while it carries", peak.value / coil.resistance)
        .path(context.waypoints(&solution, &context.way_through_coil(&solution, id)))
}
