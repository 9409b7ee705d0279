use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use facts::sound::{SoundFault, sound_faults};
use facts::speakers::TwoChannels;
use model::{PartId, PartKind, PinId, WireId};

pub const RULE: Rule = Rule {
    name: "net/sound-crossed",
    severity: Severity::Warning,
    explanation: include_str!("sound_crossed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let faults = sound_faults(facts.connectivity(), facts.nets());
    let mut crossed: Vec<[PinId; 2]> = Vec::new();
    let mut findings = Vec::new();
    for fault in &faults {
        match *fault {
            SoundFault::Crossed { output, input } => crossed.push([output, input]),
            SoundFault::Reversed { speaker, plus, minus } => findings.push(reversed(facts, speaker, [plus, minus])),
            SoundFault::TwoChannels { speaker, exchanged } => findings.push(two_channels(facts, speaker, exchanged)),
            SoundFault::Grounded { minus, channel } => findings.push(grounded(facts, minus, channel)),
            SoundFault::Unheard { .. } | SoundFault::Unfed { .. } | SoundFault::NoReturn { .. } => {}
        }
    }
    let part = |pin: PinId| facts.model.pin(pin).part;
    while !crossed.is_empty() {
        let first = crossed.remove(0);
        // Left and right of the same two parts, or of two parts on one, are one finding.
        let is_other = |other: &[PinId; 2]| facts.model.pin(first[1]).side != facts.model.pin(other[1]).side;
        let rank = |other: &[PinId; 2]| (part(first[1]) != part(other[1]), other[1]);
        let beside = crossed.iter().copied().filter(|other| part(other[0]) == part(first[0]) && is_other(other));
        let other = beside.min_by_key(rank);
        crossed.retain(|one| Some(*one) != other && one.map(part) != first.map(part));
        findings.push(sides(facts, first, other));
    }
    findings
}

fn sides(facts: &Facts, [output, input]: [PinId; 2], other: Option<[PinId; 2]>) -> Finding {
    let model = facts.model;
    let [from, to] = [output, input].map(|pin| model.pin_name(pin));
    let finding = RULE
        .finding(end_place(facts, input), format!("left and right are crossed: `{from}` is joined to `{to}`"))
        .about(to.as_str())
        .label("the sound of the other side comes in here")
        .also(end_place(facts, output), "goes out here");
    let Some([_, second]) = other else {
        let part = &model.part(model.pin(input).part).name;
        return finding
            .hint(format!("exchange the left and the right cable at `{part}`, or in the connector before it"));
    };
    let finding = finding.also(end_place(facts, second), "and here");
    let parts = [input, second].map(|pin| &model.part(model.pin(pin).part).name);
    // The − of a loudspeaker goes along.
    match model.pins.iter().any(|pin| pin.minus_of == Some(output)) && parts[0] != parts[1] {
        true => finding.hint(format!("exchange both wires of `{}` with those of `{}`", parts[0], parts[1])),
        false => finding
            .hint(format!("exchange the wires of `{to}` and `{}`", model.pin_name(second)))
            .repaired_by(Repair::Exchange(input, second)),
    }
}

fn two_channels(facts: &Facts, speaker: TwoChannels, exchanged: Option<(PinId, PinId)>) -> Finding {
    let model = facts.model;
    let TwoChannels { poles: [plus, minus], on, meant } = speaker;
    let name = &model.part(model.pin(plus).part).name;
    let [first, second] = on.map(|pin| model.pin_name(pin));
    let finding = RULE
        .finding(
            end_place(facts, minus),
            format!("`{name}` is between two channels, `{first}` and `{second}`: it gets the difference of the two"),
        )
        .about(name.as_str())
        .at_pins([plus, minus])
        .label(format!("on `{second}`"))
        .also(end_place(facts, plus), format!("on `{first}`"));
    let from_to = [on[1], meant].map(|pin| model.pin_name(pin));
    if let Some((one, other)) = exchanged {
        let [one_name, other_name] = [one, other].map(|pin| model.pin_name(pin));
        return finding
            .also(end_place(facts, other), "belongs where the other is")
            .hint(format!("exchange the wires of `{one_name}` and `{other_name}`"))
            .repaired_by(Repair::Exchange(one, other));
    }
    let finding = finding.hint(format!("move `{}` from `{}` to `{}`", model.pin_name(minus), from_to[0], from_to[1]));
    match facts.connectivity().wires_on(minus) {
        [wire] if model.wire(*wire).ends.contains(&on[1]) => finding.repaired_by(Repair::Moved(*wire, on[1], meant)),
        _ => finding,
    }
}

fn grounded(facts: &Facts, minus: PinId, channel: PinId) -> Finding {
    let model = facts.model;
    let [name, plus] = [minus, channel].map(|pin| model.pin_name(pin));
    let own =
        model.part(model.pin(channel).part).pins.iter().copied().find(|pin| model.pin(*pin).minus_of == Some(channel));
    let own_name = own.map(|pin| model.pin_name(pin)).unwrap_or_default();
    let mut finding = RULE
        .finding(
            end_place(facts, minus),
            format!("`{name}` is on ground, and the − of channel `{plus}` must not be: the output works into a short circuit"),
        )
        .about(name.as_str())
        .at_pins([minus, channel])
        .label("on ground")
        .also(end_place(facts, channel), "its channel")
        .hint(match own.is_some_and(|own| facts.nets().of(own) == facts.nets().of(minus)) {
            true => format!("take ground off `{own_name}`: only a loudspeaker belongs between it and `{plus}`"),
            false => format!("take `{name}` off ground, and run its wire to `{own_name}`"),
        });
    finding.severity = Severity::Error;
    let ends = |wire: &WireId| model.wire(*wire).ends;
    let is_ground = |pin: &PinId| model.part(model.pin(*pin).part).kind == PartKind::Ground;
    if let ([wire], Some(own)) = (facts.connectivity().wires_on(minus), own.filter(|own| *own != minus))
        && let Some(point) = ends(wire).into_iter().find(is_ground)
    {
        finding = finding.repaired_by(Repair::Moved(*wire, point, own));
    }
    finding
}

fn reversed(facts: &Facts, speaker: PartId, pins: [PinId; 2]) -> Finding {
    let model = facts.model;
    let name = &model.part(speaker).name;
    let [plus, minus] = pins.map(|pin| &model.pin(pin).name);
    let finding = RULE
        .finding(
            part_place(facts, speaker),
            format!(
                "`{plus}` and `{minus}` of `{name}` are swapped: it moves against the other loudspeakers, so bass is weak"
            ),
        )
        .about(name.as_str())
        .label("swapped")
        .hint(format!("swap the two wires of `{name}`"))
        .repaired_by(Repair::Exchange(pins[0], pins[1]));
    pins.into_iter().fold(finding, |finding, pin| finding.also(end_place(facts, pin), "belongs on the other pin"))
}
