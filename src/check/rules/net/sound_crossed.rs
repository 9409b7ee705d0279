use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::sound::{SoundFault, sound_faults};
use model::{PartId, PinId};

pub const RULE: Rule = Rule {
    name: "net/sound-crossed",
    severity: Severity::Warning,
    explanation: include_str!("sound_crossed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let faults = sound_faults(facts.connectivity(), facts.nets());
    let mut crossed: Vec<[PartId; 2]> = Vec::new();
    let mut findings = Vec::new();
    for fault in &faults {
        match *fault {
            SoundFault::Crossed { output, input } => {
                let parts = [output, input].map(|pin| facts.model.pin(pin).part);
                // Left and right of the same two parts are one finding.
                if !crossed.contains(&parts) {
                    crossed.push(parts);
                    findings.push(sides(facts, output, input));
                }
            }
            SoundFault::Reversed { speaker, plus, minus } => findings.push(reversed(facts, speaker, [plus, minus])),
            SoundFault::Unheard { .. } | SoundFault::Unfed { .. } | SoundFault::NoReturn { .. } => {}
        }
    }
    findings
}

fn sides(facts: &Facts, output: PinId, input: PinId) -> Finding {
    let model = facts.model;
    let [from, to] = [output, input].map(|pin| model.pin_name(pin));
    let part = &model.part(model.pin(input).part).name;
    RULE.finding(end_place(facts, input), format!("left and right are crossed: `{from}` is joined to `{to}`"))
        .about(to.as_str())
        .label("the sound of the other side comes in here")
        .also(end_place(facts, output), "goes out here")
        .hint(format!("exchange the left and the right cable at `{part}`, or in the connector before it"))
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
        .hint(format!("swap the two wires of `{name}`"));
    pins.into_iter().fold(finding, |finding, pin| finding.also(end_place(facts, pin), "belongs on the other pin"))
}
