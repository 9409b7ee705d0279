use super::lamp_glows::is_lit_by_leakage;
use crate::evidence::{against_leak, more_states, or_nothing, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity, WorksFault};
use circuit::Solution;
use facts::Facts;
use facts::leaks::leak_into;
use facts::on_when_asked::{OnWhenAsked, crossed};
use facts::screens::Shows;
use model::{ElementKind, Model, SignalId, SignalKind, WorksId, WorksPromise};
use states::listed;

pub const RULE: Rule = Rule {
    name: "logic/works-differs",
    severity: Severity::Error,
    explanation: include_str!("works_differs.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let all: Vec<&OnWhenAsked> = facts.promised_works().all().iter().collect();
    let groups = crossed(&all);
    let of_groups = groups.iter().map(|group| of_group(facts, group));
    let alone = (0..all.len()).filter(|i| !groups.iter().flatten().any(|member| member == i));
    let of_each = alone.flat_map(|i| of_promise(facts, WorksId(i), all[i]));
    of_groups.chain(of_each).collect()
}

/// Parts that work at each other's times.
fn of_group(facts: &Facts, group: &[usize]) -> Finding {
    let model = facts.model;
    let promises: Vec<&WorksPromise> = group.iter().map(|i| &model.works[*i]).collect();
    let words: Vec<String> = promises.iter().map(|promise| works_words(model, promise)).collect();
    let other = if group.len() == 2 { "the other" } else { "another of them" };
    let message = format!("{} are crossed: each works when {other} should", listed(&words).unwrap_or_default());
    let finding = finding(facts, promises[0], WorksFault::Crossed, message);
    let finding = promises[1..].iter().fold(finding, |finding, other| finding.also(other.place, "works then instead"));
    let found = facts.promised_works().of(WorksId(group[0]));
    with_proof(facts, finding, promises[0], found.unasked.as_ref().or(found.dead.as_ref()))
        .hint("exchange their feeds: where the harness, the connector or the taps cross them")
}

fn of_promise(facts: &Facts, id: WorksId, found: &OnWhenAsked) -> Vec<Finding> {
    let promise = &facts.model.works[id.0];
    let what = works_words(facts.model, promise);
    let when = |proof: &Shows| format!("{}{}", facts.names().moment(&proof.moment), more_states(proof));
    let mut all = Vec::new();
    // Why a load never works, and why a condition never holds, is reported by rules of its own.
    if let Some(dead) = found.dead.as_ref().filter(|_| !never_works(facts, promise)) {
        let finding = finding(facts, promise, WorksFault::Dead, format!("{what} doesn't work {}", when(dead)));
        all.push(with_proof(facts, finding, promise, Some(dead)).hint(
            "follow its feed back to the contact or fuse where the voltage ends in this state, and its ground to the stud",
        ));
    }
    if let Some(unasked) = found.unasked.as_ref().filter(|_| found.is_reached) {
        all.extend(of_unasked(
            facts,
            promise,
            &format!("{what} works {}, when it should be off", when(unasked)),
            unasked,
        ));
    }
    all
}

/// A part that works when it shouldn't. Lamps that leakage lights have a rule of their own.
fn of_unasked(facts: &Facts, promise: &WorksPromise, message: &str, proof: &Shows) -> Option<Finding> {
    let model = facts.model;
    let leak = facts.solution(&proof.moment).and_then(|solution| {
        promise.loads.iter().find_map(|load| match model.signals[load.0].kind {
            SignalKind::Working { feed, .. } if solution.state.holds(facts.solved.assembly.signal(*load)) => {
                leak_into(facts, &solution, feed)
            }
            _ => None,
        })
    });
    let Some(leak) = leak else {
        let finding =
            with_proof(facts, finding(facts, promise, WorksFault::Unasked, message.into()), promise, Some(proof));
        return Some(finding.hint(
            "follow the path: it shows what feeds it. Look for crossed wires, 87 and 87a swapped, or a missing diode",
        ));
    };
    if model.part(promise.part).elements.iter().any(|element| is_lit_by_leakage(facts, *element)) {
        return None;
    }
    let message = format!("{message}: the leakage of `{}` feeds it", model.part(leak.part).name);
    let finding = with_proof(facts, finding(facts, promise, WorksFault::Unasked, message), promise, Some(proof));
    Some(finding.hint(against_leak(facts, &leak, model.limits.sneak_voltage)))
}

fn never_works(facts: &Facts, promise: &WorksPromise) -> bool {
    let is_open = |load: &SignalId| match facts.model.signals[load.0].kind {
        SignalKind::Working { feed, ground, .. } => {
            [feed, ground].iter().any(|pin| !facts.connectivity().is_joined(*pin))
        }
        _ => false,
    };
    promise.loads.iter().any(is_open)
        || facts.never_works().iter().any(|never| match &facts.model.element(never.element).kind {
            ElementKind::Load(load) => promise.loads.contains(&load.working),
            ElementKind::Converter { working, .. } => promise.loads.contains(working),
            _ => false,
        })
}

fn finding(facts: &Facts, promise: &WorksPromise, works: WorksFault, message: String) -> Finding {
    let mut finding = RULE
        .finding(promise.place, message)
        .about(facts.model.part(promise.part).name.as_str())
        .label("should work then, and only then");
    finding.involved.works = Some(works);
    finding
}

/// A state that shows it, with what each load gets there and the way of its current.
fn with_proof(facts: &Facts, finding: Finding, promise: &WorksPromise, proof: Option<&Shows>) -> Finding {
    let Some(proof) = proof else { return finding };
    let (finding, solution) = shown_at(facts, finding, &proof.moment);
    let Some(solution) = solution else { return finding };
    promise.loads.iter().fold(finding, |finding, load| with_load(facts, finding, &solution, *load))
}

fn with_load(facts: &Facts, finding: Finding, solution: &Solution, load: SignalId) -> Finding {
    let SignalKind::Working { feed, ground, least } = facts.model.signals[load.0].kind else { return finding };
    let assembly = &facts.solved.assembly;
    let volts = assembly.volts(solution, feed) - assembly.volts(solution, ground);
    let finding = finding.limit(&facts.model.pin_name(feed), or_nothing(volts), format!("works from {least}"));
    finding.path(waypoints(facts, solution, &facts.paths().of_signal(solution, load)))
}

/// A promised load in words: `L3 (Left stop lamp)`.
pub fn works_words(model: &Model, promise: &WorksPromise) -> String {
    let part = model.part(promise.part);
    let load = promise.load.as_ref().map(|load| format!(".{load}")).unwrap_or_default();
    format!("{}{load} ({})", part.name, part.title)
}
