use crate::evidence::end_place;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::speakers::{ChannelLoad, channel_loads};

pub const RULE: Rule = Rule {
    name: "net/speaker-load",
    severity: Severity::Error,
    explanation: include_str!("speaker_load.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let loads = channel_loads(facts.connectivity(), facts.nets()).into_iter();
    loads.filter(|load| load.ohms < load.least).map(|load| finding(facts, load)).collect()
}

fn finding(facts: &Facts, ChannelLoad { output, least, ohms, speakers }: ChannelLoad) -> Finding {
    let name = facts.model.pin_name(output);
    let (what, hint) = match speakers {
        1 => (
            "the loudspeaker on it has".to_string(),
            "use a loudspeaker of more resistance, or an amplifier for this one",
        ),
        several => (
            format!("the {several} loudspeakers on it have together"),
            "give each a channel of its own, or connect two in series: plus, minus to plus, minus",
        ),
    };
    RULE.finding(end_place(facts, output), format!("`{name}` drives {least} and more, and {what} {ohms}"))
        .about(name.as_str())
        .at_pins([output])
        .label(format!("drives {least} and more"))
        .limit("resistance of its loudspeakers", ohms, format!("at least {least}"))
        .hint(hint)
}
