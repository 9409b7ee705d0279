use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Domain, PinId, PinRole, WireId, is_terminal};
use quantity::{Metres, Ohms};
use spec::WireMake;
use states::listed;

pub const RULE: Rule = Rule {
    name: "net/sound-unshielded",
    severity: Severity::Warning,
    explanation: include_str!("sound_unshielded.md"),
    finds: Finds::InHarness(find),
};

/// Up to this length in metres a single wire does no harm: the tails of a connector (common practice, no source).
const TAIL: f64 = 0.3;

/// From this impedance on an input takes line level, and hears what wires beside it carry (common practice, no source).
const LINE_LEVEL: Ohms = Ohms::new(1000.0);

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let is_plain = |id: &WireId| {
        let wire = model.wire(*id);
        let is_short = wire.length.is_some_and(|length| length <= Metres::new(TAIL));
        let is_mixed = facts.mixed_kinds().iter().any(|mixed| mixed.wires.contains(id));
        wire.domain == Domain::Audio && wire.make == WireMake::Single && !is_short && !is_mixed
    };
    let mut nets: Vec<(PinId, Vec<WireId>)> = Vec::new();
    for id in model.wire_ids().filter(is_plain) {
        let Some(input) = line_input(facts, id) else { continue };
        match nets.iter_mut().find(|(other, _)| *other == input) {
            Some((_, wires)) => wires.push(id),
            None => nets.push((input, vec![id])),
        }
    }
    nets.into_iter().map(|(input, wires)| finding(facts, input, &wires)).collect()
}

/// The input for line level on the net of a wire, if an output of sound is on it too.
fn line_input(facts: &Facts, wire: WireId) -> Option<PinId> {
    let model = facts.model;
    let of_role = |role: PinRole| {
        let pins = facts.nets().with(model.wire(wire).ends[0]).iter().copied();
        let is_one = move |pin: &PinId| {
            let this = model.pin(*pin);
            is_terminal(model, *pin) && this.domain == Domain::Audio && this.role == role
        };
        pins.filter(is_one)
    };
    of_role(PinRole::Output).next()?;
    of_role(PinRole::Input).find(|pin| model.pin(*pin).impedance.is_some_and(|ohms| ohms >= LINE_LEVEL))
}

fn finding(facts: &Facts, input: PinId, wires: &[WireId]) -> Finding {
    let (model, first) = (facts.model, facts.model.wire(wires[0]));
    let ids: Vec<String> = wires.iter().map(|id| model.wire(*id).id.to_string()).collect();
    let (ids, have) = match ids.len() {
        1 => (format!("wire {}", ids[0]), "has"),
        _ => (format!("wires {}", listed(&ids).unwrap_or_default()), "have"),
    };
    let message = format!("the sound to `{}` runs over {ids}, which {have} no shield", model.pin_name(input));
    let finding = RULE
        .finding(first.place, message)
        .about(facts.names().wire(wires[0]))
        .label("a single wire")
        .hint("run shielded cable (`make: coax`); if this is a conductor of a ready-made lead, say `make: lead`");
    wires[1..].iter().fold(finding, |finding, id| finding.also(model.wire(*id).place, "has no shield either"))
}
