use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use facts::walk::Towards;
use model::{ElementId, ElementKind, PartId, PinId};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "net/isolator-reversed",
    severity: Severity::Error,
    explanation: include_str!("isolator_reversed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

/// A part that joins two pins while the first of them charges, with a battery on each.
fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let model = facts.model;
    let kinds = || model.part(id).elements.iter().map(|id| &model.element(*id).kind);
    let (first, on_above) = kinds().find_map(|kind| match kind {
        ElementKind::Sense { pin, signal, .. } => match model.signals[signal.0].kind {
            model::SignalKind::Sense { on_above, .. } => Some((*pin, on_above)),
            _ => None,
        },
        _ => None,
    })?;
    let second = kinds().find_map(|kind| match kind {
        ElementKind::Output { pin, other, high_side: true, .. } if *other == first => Some(*pin),
        _ => None,
    })?;
    let [here, there] = [first, second].map(|pin| battery(facts, pin, id));
    let (here, there) = (here?, there?);
    if here.id == there.id {
        return None;
    }
    let never = here.highest < on_above && there.highest >= on_above;
    let by_alternator = there.has_alternator && !here.has_alternator;
    (never || by_alternator).then(|| finding(facts, id, [first, second], [&here, &there], on_above))
}

/// The battery that a pin leads to.
struct Joined {
    id: ElementId,
    name: String,
    highest: Volts,
    has_alternator: bool,
}

/// The battery on a pin, outside the part itself.
fn battery(facts: &Facts, pin: PinId, part: PartId) -> Option<Joined> {
    let model = facts.model;
    let outside = |id: ElementId, _: [PinId; 2]| model.element(id).part != part;
    let reached = facts.connectivity().reached_by(pin, Towards::Supply, &outside);
    model.elements.iter().enumerate().find_map(|(i, element)| match &element.kind {
        ElementKind::Battery { plus, volts, figures, .. } if reached.contains(plus) => Some(Joined {
            id: ElementId(i),
            name: model.part(element.part).name.to_string(),
            highest: volts[2],
            has_alternator: figures.alternator.is_some(),
        }),
        _ => None,
    })
}

fn finding(facts: &Facts, id: PartId, pins: [PinId; 2], batteries: [&Joined; 2], on_above: Volts) -> Finding {
    let model = facts.model;
    let name = &model.part(id).name;
    let [first, second] = pins.map(|pin| model.pin(pin).name.clone());
    let [here, there] = batteries;
    let finding = RULE
        .finding(
            part_place(facts, id),
            format!(
                "`{first}` and `{second}` of `{name}` are swapped: `{}`, which charges, is on `{second}`, and `{}` on `{first}`",
                there.name, here.name
            ),
        )
        .about(name.as_str())
        .label("swapped")
        .limit(&format!("highest voltage of `{}`", here.name), here.highest, format!("joins from {on_above}"))
        .hint(format!("exchange the wires of `{first}` and `{second}`"))
        .repaired_by(Repair::Exchange(pins[0], pins[1]));
    pins.into_iter().fold(finding, |finding, pin| finding.also(end_place(facts, pin), "belongs on the other pin"))
}
