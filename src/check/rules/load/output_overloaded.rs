use crate::evidence::{shown_at, unless_short, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::Solution;
use facts::Facts;
use facts::branches::leaving;
use facts::moment::Peak;
use facts::walk::Towards;
use model::{Element, ElementId, ElementKind, Load, PinId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/output-overloaded",
    severity: Severity::Error,
    explanation: include_str!("output_overloaded.md"),
    finds: Finds::InHarness(find),
};

const LOAD: &str = "let it drive a relay or a solid-state switch only, and feed the load from a fused supply";
const TO_GROUND: &str = "let it pull a relay's coil to ground only, and let the relay's contact carry the load";
const COIL: &str = "use a solid-state switch instead of the relay, or a relay with a coil of higher resistance";
const CONVERTER: &str = "move loads to another supply, or use a converter with a higher limit";
const BACK: &str =
    "block the return path with a diode, or switch its feed together with the supply that it flows back into";

/// A converter for this many times the current feeds all its loads.
const ENOUGH: f64 = 20.0;

/// A regulated output can't exceed its limit, so this share of the limit counts as overloaded.
const AT_LIMIT: f64 = 0.999;

fn find(facts: &Facts) -> Vec<Finding> {
    let elements = facts.model.elements.iter().enumerate();
    elements.filter_map(|(i, element)| of_element(facts, ElementId(i), element)).collect()
}

fn of_element(facts: &Facts, id: ElementId, element: &Element) -> Option<Finding> {
    let worst = facts.worst();
    let through = || facts.solved.assembly.element(id).first().copied();
    let (pin, limit) = match &element.kind {
        ElementKind::Feed(feed) => (feed.pin, feed.limit?),
        ElementKind::Battery { plus: pin, figures, .. } | ElementKind::Derived { pin, figures, .. } => {
            (*pin, figures.limit?)
        }
        ElementKind::Output { pin, limit, .. } => {
            let (branch, limit) = (through()?, (*limit)?);
            let peak = worst.amps(branch).filter(|peak| peak.value > limit)?;
            return Some(finding(facts, *pin, limit, peak, worst.amps_over(branch, limit), false));
        }
        ElementKind::Converter { output, limit, .. } => {
            let (branch, most) = (through()?, *limit * AT_LIMIT);
            // A converter that charges a battery is at its limit by design.
            if facts.chargers().iter().any(|charger| charger.converter == id) {
                return None;
            }
            let peak = worst.amps(branch).filter(|peak| peak.value >= most)?;
            let finding = finding(facts, *output, *limit, peak, worst.amps_over(branch, most), true);
            let Some((largest, load)) = largest_behind(facts, *output) else { return Some(finding) };
            let part = &facts.model.part(facts.model.element(largest).part).name;
            let hint = format!(
                "use a converter for more current, or feed `{part}`, which draws {} at {}, from elsewhere",
                load.draws, load.nominal
            );
            return Some(finding.hint(hint).repaired_by(Repair::Gives(id, *limit * ENOUGH)));
        }
        _ => return None,
    };
    let peak = worst.taken(pin).filter(|peak| peak.value > limit)?;
    Some(finding(facts, pin, limit, peak, worst.taken_over(pin, limit), false))
}

/// The load that draws most from the output of a converter.
fn largest_behind<'f>(facts: &'f Facts, output: PinId) -> Option<(ElementId, &'f Load)> {
    let loads = facts.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Load(load) => Some((ElementId(i), load)),
        _ => None,
    });
    let behind = loads.filter(|(_, load)| facts.connectivity().reached(load.feed, Towards::Supply).contains(&output));
    behind.max_by(|(_, a), (_, b)| a.draws.value().total_cmp(&b.draws.value()))
}

fn finding(
    facts: &Facts,
    pin: PinId,
    limit: Amps,
    peak: &Peak<Amps>,
    over: Option<&Peak<Amps>>,
    gives_no_more: bool,
) -> Finding {
    let model = facts.model;
    let part = model.part(model.pin(pin).part);
    let (name, state) = (model.pin_name(pin), facts.names().moment(&peak.moment));
    let to_ground = is_low_side(facts, pin);
    let inwards = !gives_no_more && facts.solution(&peak.moment).is_some_and(|solution| goes_in(facts, &solution, pin));
    let backwards = inwards != to_ground;
    let does = match (gives_no_more, inwards, backwards) {
        (true, ..) => None,
        (_, true, true) => Some("flows back into"),
        (_, true, false) => Some("flows into"),
        (_, false, true) => Some("flows back out of"),
        (_, false, false) => Some("flows out of"),
    };
    let message = match does {
        None => format!("`{name}` is at its limit of {limit} {state}, and its voltage falls"),
        Some(does) => format!("{} {does} `{name}` {state}, limit {limit}", peak.value),
    };
    let finding = RULE.finding(part.place, message).about(part.name.as_str()).label(format!("limit {limit}")).hint(
        match backwards {
            _ if gives_no_more => CONVERTER,
            true => BACK,
            false if drives_a_coil(facts, pin) => COIL,
            false if to_ground => TO_GROUND,
            false => LOAD,
        },
    );
    let finding = match gives_no_more {
        true => finding.value("current, at the limit", peak.value),
        false => finding.limit("current", peak.value, limit),
    };
    let finding = with_simplest(facts, finding, &peak.moment, over);
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().taken_from(&solution, pin)),
        None => finding,
    }
}

/// Whether the harness's current goes into a pin rather than out of it.
fn goes_in(facts: &Facts, solution: &Solution, pin: PinId) -> bool {
    let leaving = leaving(facts.model, &facts.solved.assembly, pin);
    leaving.iter().map(|(branch, sign)| solution.amps(*branch) * *sign).sum::<Amps>() < Amps::new(0.0)
}

/// Whether a pin goes to ground when on, so that its load's current flows into it.
fn is_low_side(facts: &Facts, pin: PinId) -> bool {
    let elements = &facts.model.part(facts.model.pin(pin).part).elements;
    elements.iter().any(|id| match &facts.model.element(*id).kind {
        ElementKind::Feed(feed) => feed.pin == pin && feed.from.is_none(),
        ElementKind::Output { pin: own, high_side, .. } => *own == pin && !high_side,
        _ => false,
    })
}

/// Whether a pin drives one relay coil and nothing else.
fn drives_a_coil(facts: &Facts, pin: PinId) -> bool {
    let reached = [Towards::Supply, Towards::Ground].map(|way| facts.connectivity().reached(pin, way));
    let is_on = |at: PinId| reached.iter().any(|pins| pins.contains(&at));
    let own = facts.model.pin(pin).part;
    let mut coils = 0;
    for element in facts.model.elements.iter().filter(|element| element.part != own) {
        match &element.kind {
            ElementKind::Coil(coil) if is_on(coil.feed) || is_on(coil.ground) => coils += 1,
            ElementKind::Load(load) if is_on(load.feed) || is_on(load.ground) => return false,
            _ => {}
        }
    }
    coils == 1
}
