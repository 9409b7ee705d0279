use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Rule, Severity};
use facts::outputs::Joined;
use facts::{Facts, JoinedOutputs};

pub const RULE: Rule = Rule {
    name: "net/outputs-joined",
    severity: Severity::Error,
    explanation: include_str!("outputs_joined.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.joined_outputs().iter().map(|joined| finding(facts, joined)).collect()
}

fn finding(facts: &Facts, one: &JoinedOutputs) -> Finding {
    let model = facts.model;
    let (output, other) = (model.pin_name(one.output), model.pin_name(one.joined.pin()));
    if let Some(input) = one.swapped_input {
        let part = model.pin(input).part;
        let name = &model.part(part).name;
        return RULE
            .finding(part_place(facts, part), format!("inputs and outputs of `{name}` are swapped: `{}` meets no source, `{output}` and `{other}` are two outputs on one wire", model.pin_name(input)))
            .about(name.as_str())
            .label("swapped")
            .also(end_place(facts, input), "an input")
            .also(end_place(facts, one.joined.pin()), "an output")
            .without(one.wire)
            .hint("swap the wires of its inputs and its outputs");
    }
    let (message, hint) = match one.joined {
        Joined::Sound(_) => (
            format!("the outputs `{output}` and `{other}` are joined: each drives current into the other"),
            "give each output an input or a loudspeaker of its own",
        ),
        Joined::Across(_) => (
            format!(
                "one loudspeaker is between the outputs `{output}` and `{other}`: it gets the difference of two channels"
            ),
            "give each channel a loudspeaker of its own, with its return to ground",
        ),
        Joined::Converter(_) => (
            format!(
                "the converter outputs `{output}` and `{other}` are joined: the one with the higher voltage carries the whole load"
            ),
            "use one converter for the whole load, or divide the loads between them; join them only through a diode each",
        ),
        Joined::Feed(_) => (
            format!("`{other}` feeds the converter output `{output}` from behind"),
            "remove one of the two feeds, or let a change-over contact choose between them",
        ),
    };
    let moved = one.belongs.map(|(wire, from, to)| {
        let [from, to] = [from, to].map(|pin| model.pin_name(pin));
        format!("move {} from `{from}` to the free input `{to}`", facts.names().wire(wire))
    });
    let place = one.wire.map_or_else(|| end_place(facts, one.output), |wire| model.wire(wire).place);
    RULE.finding(place, message)
        .about(output.as_str())
        .at_pins([one.output, one.joined.pin()])
        .label("joins two outputs")
        .also(end_place(facts, one.output), "an output")
        .also(end_place(facts, one.joined.pin()), "joined to it")
        .without(one.wire)
        .hint(moved.unwrap_or_else(|| hint.to_string()))
}
