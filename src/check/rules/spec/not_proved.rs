use crate::evidence::part_place;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::unsettled::signals_of;
use solve::{Corner, Together};
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "spec/not-proved",
    severity: Severity::Error,
    explanation: include_str!("not_proved.md"),
    finds: Finds::InHarness(find),
};

/// So many names are told, then how many more there are.
const MOST_NAMES: usize = 6;

fn find(facts: &Facts) -> Vec<Finding> {
    let mut cut: Option<(Corner, &Together, u128)> = None;
    let mut doubtful = BTreeSet::new();
    for exploration in facts.explored().all() {
        if let (Some(together), None) = (&exploration.together, cut) {
            cut = Some((exploration.corner, together, exploration.count()));
        }
        doubtful.extend(exploration.doubtful().iter().copied());
    }
    let doubtful = signals_of(facts.solved, &doubtful.into_iter().collect::<Vec<_>>());
    let cut = cut.map(|(corner, together, count)| few(facts, corner, together, count));
    let bounded = (!doubtful.is_empty()).then(|| {
        let parts: Vec<String> = doubtful.iter().map(|id| name(facts, *id)).collect();
        let mut finding = RULE
            .finding(
                part_place(facts, facts.model.signals[doubtful[0].0].part),
                format!("whether {} may hang on what all others draw, with too many states to solve each", names(&parts)),
            )
            .about(parts.join(", "))
            .label("known within bounds")
            .value("taken", "both ways: what is told may be a state that is never reached, and worst values are bounded")
            .hint(
                "give it a stiffer feed and ground, or a fuse and a wire of its own from the battery, so that what it gets \
                 doesn't hang on the others",
            );
        finding.severity = Severity::Warning;
        finding
    });
    cut.into_iter().chain(bounded).collect()
}

/// Of too many states only the simplest were solved.
fn few(facts: &Facts, corner: Corner, together: &Together, count: u128) -> Finding {
    let model = facts.model;
    let inputs: Vec<String> = together.inputs.iter().map(|id| format!("`{}`", model.inputs[id.index()].name)).collect();
    let relays = signals_of(facts.solved, &together.actors);
    let circuit = &facts.solved.assembly.circuit;
    let joint = together.joint.map(|id| signals_of(facts.solved, &[id])).and_then(|signals| signals.first().copied());
    let (why, hint) = match (joint, together.soft) {
        _ if together.sags => (
            "what they share sags so far that none can be told without the others".to_string(),
            "a thicker wire or one of its own from the battery for what draws most, a stiffer supply, a ground of its own"
                .to_string(),
        ),
        (_, Some(node)) => (
            format!("`{}` is fed over so much resistance that it ties them together", circuit.nodes[node.index()]),
            "feed it over a thicker wire, or give what hangs on it fuses and wires of their own from the battery".to_string(),
        ),
        (Some(joint), None) => (
            format!("{} ties them together", name(facts, joint)),
            format!("let {} do without one of what decides or feeds it, or take a relay of its own for each group", name(facts, joint)),
        ),
        (None, None) => (
            "no one part ties them together".to_string(),
            "divide the job into harnesses that can be checked one by one".to_string(),
        ),
    };
    let place =
        joint.or(relays.first().copied()).map_or(model.job.place, |id| part_place(facts, model.signals[id.0].part));
    RULE.finding(
        place,
        format!("not every state is checked: {} inputs act on each other, too many to solve", inputs.len()),
    )
    .about(inputs.join(", "))
    .label("holds them together")
    .value("checked", format!("the {count} states with the fewest changes from rest, and no others ({corner})"))
    .value("inputs", names(&inputs))
    .value("why", why)
    .hint(hint)
}

fn name(facts: &Facts, id: model::SignalId) -> String {
    facts.names().signals(&[id])
}

/// The first names, and how many more.
fn names(all: &[String]) -> String {
    let (told, more) = all.split_at(all.len().min(MOST_NAMES));
    match (told, more.len()) {
        ([one], 0) => one.clone(),
        ([others @ .., last], 0) => format!("{} and {last}", others.join(", ")),
        (told, more) => format!("{} and {more} more", told.join(", ")),
    }
}
