use crate::evidence::{in_state, part_place, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{Corner, State};
use explore::{Exploration, History};
use facts::unsettled::relays_of;
use facts::{Facts, Moment};
use model::SignalId;
use states::state_name;

pub const RULE: Rule = Rule {
    name: "logic/depends-on-history",
    severity: Severity::Warning,
    explanation: include_str!("depends_on_history.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    // Relays that chatter or race have more than one result too; logic/chatter and logic/race report them.
    let unsettled = facts.unsettled();
    let restless: Vec<SignalId> =
        unsettled.chatters.iter().chain(&unsettled.races).flat_map(|(relays, _)| relays).copied().collect();
    let mut reported: Vec<Vec<SignalId>> = Vec::new();
    let mut findings = Vec::new();
    let by_supply: Vec<SignalId> = facts.moved_by_supply().iter().map(|moved| moved.relay).collect();
    for exploration in facts.explored().all() {
        for history in &exploration.history {
            let mut relays = relays_of(facts.solved, &history.undeclared);
            relays.retain(|relay| !restless.contains(relay));
            // logic/depends-on-supply reports relays that depend on their past only at a low or high supply voltage.
            relays.retain(|relay| exploration.corner == Corner::NOMINAL || !by_supply.contains(relay));
            // logic/trigger-undecided reports a trigger input that keeps its state between its thresholds.
            if !relays.is_empty() && !reported.contains(&relays) {
                findings.push(finding(facts, exploration, history, &relays));
                reported.push(relays);
            }
        }
    }
    findings
}

fn finding(facts: &Facts, exploration: &Exploration, history: &History, relays: &[SignalId]) -> Finding {
    let model = facts.model;
    let names: Vec<&str> = relays.iter().map(|id| model.signals[id.0].name.as_str()).collect();
    let coil_on = |id: &SignalId, state: &State| state.holds(facts.solved.assembly.signal(*id));
    let is_in = |state: &&State| relays.iter().any(|id| coil_on(id, state));
    // Show the state in which it is in; without one, the first.
    let shown = history.states.iter().find(is_in).or(history.states.first());
    let solution = shown.and_then(|state| facts.solution(&Moment::new(state.clone(), exploration.corner)));
    let state = solution.as_ref().map_or_else(String::new, |solution| facts.names().state(&solution.state));
    let inputs = solution.as_ref().map_or_else(String::new, |solution| state_name(facts.solved, solution));
    let (words, is) = (facts.names().signals(relays), if relays.len() == 1 { "is" } else { "are" });
    let mut finding = RULE
        .finding(
            part_place(facts, model.signals[relays[0].0].part),
            format!("{words} {is} in or out {}, depending on what happened before", in_state(&inputs)),
        )
        .about(names.join(", "))
        .label("holds itself")
        .shown_in(state, exploration.corner)
        .hint("open the path back to its coil; if it should hold itself, use a latching relay or accept this with the reason");
    if let Some(solution) = &solution {
        let held = relays.iter().find(|id| coil_on(id, &solution.state)).unwrap_or(&relays[0]);
        finding = finding.path(waypoints(facts, solution, &facts.paths().of_signal(solution, *held)));
    }
    for state in &history.states {
        let on: Vec<&str> =
            relays.iter().filter(|id| coil_on(id, state)).map(|id| model.signals[id.0].name.as_str()).collect();
        let stands = if on.is_empty() { "out".to_string() } else { format!("{} in", on.join(", ")) };
        if let Some(way) = facts.names().way_to(exploration, state) {
            finding = finding.value(&stands, way);
        }
    }
    finding
}
