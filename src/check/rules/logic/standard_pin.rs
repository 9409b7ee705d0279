use crate::evidence::{more_states, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity, WorksFault};
use facts::on_when_asked::{OnWhenAsked, crossed};
use facts::screens::Shows;
use facts::{Facts, StandardPin};
use states::listed;

pub const RULE: Rule = Rule {
    name: "logic/standard-pin",
    severity: Severity::Error,
    explanation: include_str!("standard_pin.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let pins = facts.standard_pins();
    let live: Vec<&OnWhenAsked> = pins.iter().map(|pin| &pin.live).collect();
    let groups = crossed(&live);
    let of_groups = groups.iter().map(|group| of_group(facts, &group.iter().map(|i| &pins[*i]).collect::<Vec<_>>()));
    let alone = (0..pins.len()).filter(|i| !groups.iter().flatten().any(|member| member == i));
    of_groups.chain(alone.flat_map(|i| of_pin(facts, &pins[i]))).collect()
}

/// What a pin should have.
const LIVE: &str = "should be live";
const DEAD: &str = "should be 0 V";

/// Pins that are live at each other's times.
fn of_group(facts: &Facts, group: &[&StandardPin]) -> Finding {
    let words: Vec<String> = group.iter().map(|standard| pin_words(facts, standard)).collect();
    let other = if group.len() == 2 { "the other" } else { "another of them" };
    let message = format!("{} are crossed: each is live when {other} should be", listed(&words).unwrap_or_default());
    let finding = finding(facts, group[0], message);
    let finding = match group {
        [a, b] => finding.repaired_by(Repair::Exchange(a.pin, b.pin)),
        _ => finding,
    };
    let live = &group[0].live;
    let wanted = if live.unasked.is_some() { DEAD } else { LIVE };
    with_proof(facts, finding, group[0], live.unasked.as_ref().or(live.dead.as_ref()), wanted)
        .hint("exchange the wires at these pins, or the taps that they come from")
}

fn of_pin(facts: &Facts, standard: &StandardPin) -> Vec<Finding> {
    let name = pin_words(facts, standard);
    let inputs: Vec<String> = standard.inputs.iter().map(|id| format!("`{}`", facts.model.inputs[id.0].name)).collect();
    let Some(means) = standard.means else { return on_signal(facts, standard).into_iter().collect() };
    let inputs = listed(&inputs).unwrap_or(format!("an input that means `{means}`"));
    let when = |proof: &Shows| format!("{}{}", facts.names().moment(&proof.moment), more_states(proof));
    let mut all = Vec::new();
    if let Some(dead) = &standard.live.dead {
        let mut finding = finding(facts, standard, format!("{name} is dead {}", when(dead)));
        finding.involved.works = Some(WorksFault::Dead);
        all.push(with_proof(facts, finding, standard, Some(dead), LIVE).hint(format!(
            "connect it to what {inputs} switches, and check that the feed behind it is live in this state"
        )));
    }
    if let Some(unasked) = &standard.live.unasked {
        let mut finding = finding(facts, standard, format!("{name} is live {}, without {inputs}", when(unasked)));
        finding.involved.works = Some(WorksFault::Unasked);
        all.push(
            with_proof(facts, finding, standard, Some(unasked), DEAD)
                .hint(format!("move the wire: only {inputs} may make this pin live; the path shows what does")),
        );
    }
    all
}

/// A pin for a supply, or for a signal of the trailer, that a signal of the vehicle feeds.
fn on_signal(facts: &Facts, standard: &StandardPin) -> Option<Finding> {
    let proof = standard.live.unasked.as_ref()?;
    let (name, when) = (pin_words(facts, standard), facts.names().moment(&proof.moment));
    let message = format!("{name} is live {when}{}: a signal of the vehicle feeds it", more_states(proof));
    let finding = with_proof(facts, finding(facts, standard, message), standard, Some(proof), DEAD);
    Some(finding.hint("move the wire to the pin of its purpose; the path shows where it comes from"))
}

/// A pin and its purpose: `X1.6 (54, stop)`.
fn pin_words(facts: &Facts, standard: &StandardPin) -> String {
    format!("{} ({})", facts.model.pin_name(standard.pin), facts.model.pin(standard.pin).title)
}

fn finding(facts: &Facts, standard: &StandardPin, message: String) -> Finding {
    let part = facts.model.part(facts.model.pin(standard.pin).part);
    RULE.finding(part.place, message)
        .about(facts.model.pin_name(standard.pin))
        .at_pins([standard.pin])
        .label("a standard says what its pins are for")
}

fn with_proof(facts: &Facts, finding: Finding, standard: &StandardPin, proof: Option<&Shows>, wanted: &str) -> Finding {
    let Some(proof) = proof else { return finding };
    let (finding, solution) = shown_at(facts, finding, &proof.moment);
    let Some(solution) = solution else { return finding };
    let volts = facts.solved.assembly.volts(&solution, standard.pin);
    let path = facts.paths().to(&solution, standard.pin);
    finding.limit(&facts.model.pin_name(standard.pin), volts, wanted).path(waypoints(facts, &solution, &path))
}
