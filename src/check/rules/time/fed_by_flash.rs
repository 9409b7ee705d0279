use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::{Family, LoadKind};
use facts::Facts;
use facts::walk::Towards;
use model::{ElementId, ElementKind, Input, PartId, PartKind};
use quantity::Seconds;

pub const RULE: Rule = Rule {
    name: "time/fed-by-flash",
    severity: Severity::Warning,
    explanation: include_str!("fed_by_flash.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

/// A part that starts sooner than this is ready within a flash: half a period at 120 flashes a minute is 250 ms (ECE R6
/// allows 60 to 120 a minute, from memory).
const READY: Seconds = Seconds::new(0.25);

/// A part that needs time to start, or a motor, on a feed that flashes. What a view or a promise asks of it is reported by
/// rules of their own.
fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let (model, part) = (facts.model, facts.model.part(id));
    let is_promised = model.works.iter().any(|promise| promise.part == id)
        || model.screens.iter().any(|screen| screen.part == id)
        || part.form.family == Family::Camera;
    if part.kind != PartKind::Device || part.existing || is_promised {
        return None;
    }
    part.elements.iter().find_map(|element| match &model.element(*element).kind {
        ElementKind::Load(load) => {
            let suffers = part.start_up > READY || load.kind == LoadKind::Motor;
            let flasher = flasher(facts, load.feed).filter(|_| suffers)?;
            Some(finding(facts, id, *element, flasher))
        }
        _ => None,
    })
}

/// The flasher that alone feeds a pin.
fn flasher<'m>(facts: &Facts<'m>, feed: model::PinId) -> Option<&'m Input> {
    let model = facts.model;
    let reached = facts.connectivity().reached(feed, Towards::Supply);
    let taps = reached.iter().filter_map(|pin| facts.connectivity().feed_at(*pin));
    let flashing = |input: &model::InputId| model.inputs[input.0].flash.is_some();
    let inputs: Vec<model::InputId> = taps.map(|tap| tap.input).collect();
    let others = reached.iter().any(|pin| {
        let part = model.part(model.pin(*pin).part);
        let converts = part.elements.iter().any(|id| match &model.element(*id).kind {
            ElementKind::Converter { output, .. } => output == pin,
            ElementKind::Output { pin: own, .. } => own == pin,
            _ => false,
        });
        // The supply behind a tap is the vehicle's own wiring.
        converts || part.kind == PartKind::Supply && !inputs.iter().any(|input| is_behind(model, *input, *pin))
    });
    let first = *inputs.first()?;
    (inputs.iter().all(flashing) && !others).then(|| &model.inputs[first.0])
}

/// Whether a supply feeds an input's wire.
fn is_behind(model: &model::Model, input: model::InputId, supply: model::PinId) -> bool {
    model.elements.iter().any(|element| match &element.kind {
        ElementKind::Feed(feed) => feed.input == input && feed.from == Some(supply),
        _ => false,
    })
}

fn finding(facts: &Facts, id: PartId, element: ElementId, flasher: &Input) -> Finding {
    let part = facts.model.part(id);
    let (name, input) = (&part.name, &flasher.name);
    let does = match part.start_up > READY {
        true => format!("it restarts with each flash, and needs {} for that", part.start_up),
        false => "it stops and starts with each flash".to_string(),
    };
    let finding = RULE
        .finding(part_place(facts, id), format!("`{name}` is fed from the flasher `{input}`: {does}"))
        .about(name.as_str())
        .label("fed by flashes")
        .hint(format!("feed `{name}` from a wire that doesn't flash, and let `{input}` only trigger it"));
    let Some(peak) = facts.worst().highest(element) else { return finding };
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match (solution, &facts.model.element(element).kind) {
        (Some(solution), ElementKind::Load(load)) => {
            let way = facts.paths().through(&solution, element, load.feed, load.ground);
            finding.path(waypoints(facts, &solution, &way))
        }
        _ => finding,
    }
}
