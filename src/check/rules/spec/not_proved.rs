use crate::evidence::part_place;
use crate::{Finding, Finds, Rule, Severity};
use circuit::Corner;
use explore::Together;
use facts::Facts;
use facts::unsettled::signals_of;
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "spec/not-proved",
    severity: Severity::Error,
    explanation: include_str!("not_proved.md"),
    finds: Finds::InHarness(find),
};

/// Maximum number of names in a list; the number of the others follows.
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
                format!("{} may depend on what other zones draw, and there are too many states to solve each", names(&parts)),
            )
            .about(parts.join(", "))
            .label("known only within bounds")
            .value("solved", "both ways: a finding may show a state that never occurs, and worst values are bounds")
            .hint(
                "give it a feed and a ground of lower resistance, or its own fuse and wire from the battery, so that other \
                 loads don't change its voltage",
            );
        finding.severity = Severity::Warning;
        finding
    });
    cut.into_iter().chain(bounded).collect()
}

/// There are too many states, and only the simplest were solved.
fn few(facts: &Facts, corner: Corner, together: &Together, count: u128) -> Finding {
    let model = facts.model;
    let inputs: Vec<String> = together.inputs.iter().map(|id| format!("`{}`", model.inputs[id.index()].name)).collect();
    let relays = signals_of(facts.solved, &together.actors);
    let circuit = &facts.solved.assembly.circuit;
    let joint = together.joint.map(|id| signals_of(facts.solved, &[id])).and_then(|signals| signals.first().copied());
    let (why, hint) = match (joint, together.soft) {
        _ if together.sags => (
            "the supply that they share drops so far that none can be solved without the others".to_string(),
            "run a thicker or separate wire from the battery to the largest load, or give it a separate ground"
                .to_string(),
        ),
        (_, Some(node)) => (
            format!("`{}` is fed through so much resistance that it connects them", circuit.nodes[node.index()]),
            "feed it through a thicker wire, or give its loads their own fuses and wires from the battery".to_string(),
        ),
        (Some(joint), None) => (
            format!("{} connects them", name(facts, joint)),
            format!(
                "remove one of the circuits that feed or switch {}, or use one relay for each group",
                name(facts, joint)
            ),
        ),
        (None, None) => (
            "no single part connects them".to_string(),
            "split the job into harnesses that can be checked separately".to_string(),
        ),
    };
    let place =
        joint.or(relays.first().copied()).map_or(model.job.place, |id| part_place(facts, model.signals[id.0].part));
    RULE.finding(
        place,
        format!("not every state is checked: {} inputs affect each other in too many combinations", inputs.len()),
    )
    .about(inputs.join(", "))
    .label("connects them")
    .value("checked", format!("the {count} states with the fewest inputs away from rest, and no others ({corner})"))
    .value("inputs", names(&inputs))
    .value("why", why)
    .hint(hint)
}

fn name(facts: &Facts, id: model::SignalId) -> String {
    facts.names().signals(&[id])
}

/// The first names, and how many more.
fn names(all: &[String]) -> String {
    let (named, more) = all.split_at(all.len().min(MOST_NAMES));
    match (named, more.len()) {
        ([one], 0) => one.clone(),
        ([others @ .., last], 0) => format!("{} and {last}", others.join(", ")),
        (named, more) => format!("{} and {more} more", named.join(", ")),
    }
}
