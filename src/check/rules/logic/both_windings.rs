use crate::screens::away;
use crate::worst::Moment;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::Acts;
use model::{ElementId, SignalId, SignalKind};
use solve::Solution;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "logic/both-windings",
    severity: Severity::Warning,
    explanation: include_str!("both_windings.md"),
    finds: Finds::InHarness(find),
};

/// A latching relay's windings that set it, and those that reset it.
struct Windings {
    relay: SignalId,
    sets: Vec<ElementId>,
    resets: Vec<ElementId>,
}

fn find(context: &Context) -> Vec<Finding> {
    let all = windings(context);
    let mut found: BTreeMap<SignalId, (usize, Solution)> = BTreeMap::new();
    for exploration in context.explorations().filter(|_| !all.is_empty()) {
        exploration.visit(&context.solved.assembly.circuit, &mut |solution| {
            let pulled = |id: &ElementId| context.solved.assembly.coil(*id).is_some_and(|actor| solution.on(actor));
            for one in all.iter().filter(|one| one.sets.iter().any(pulled) && one.resets.iter().any(pulled)) {
                let away = away(solution);
                if found.get(&one.relay).is_none_or(|(least, _)| away < *least) {
                    found.insert(one.relay, (away, solution.clone()));
                }
            }
        });
    }
    found.into_iter().map(|(relay, (_, solution))| finding(context, relay, &solution)).collect()
}

fn windings(context: &Context) -> Vec<Windings> {
    let model = context.model;
    let of = |coils: &[ElementId], acts: Acts| {
        let does = |id: &ElementId| context.model.coil(*id).is_some_and(|coil| coil.acts == acts);
        coils.iter().copied().filter(does).collect::<Vec<_>>()
    };
    let relays = model.signals.iter().enumerate().filter_map(|(i, signal)| match &signal.kind {
        SignalKind::Relay { coils, latching: true } => {
            let (sets, resets) = (of(coils, Acts::Sets), of(coils, Acts::Resets));
            Some(Windings { relay: SignalId(i), sets, resets })
        }
        _ => None,
    });
    relays.filter(|one| !one.sets.is_empty() && !one.resets.is_empty()).collect()
}

fn finding(context: &Context, relay: SignalId, solution: &Solution) -> Finding {
    let signal = &context.model.signals[relay.0];
    let moment = Moment::of(solution);
    let message = format!(
        "both windings of `{}` are live {}: its contact may go either way",
        signal.name,
        context.state_words(&moment)
    );
    let mut finding = RULE
        .finding(context.part_place(signal.part), message)
        .about(signal.name.as_str())
        .label("set and reset at once")
        .value("taken for the states", "reset, as if that winding were the stronger")
        .hint("let what sets it lead through a contact that what resets it opens, or accept it if both can't come at once");
    if let SignalKind::Relay { coils, .. } = &signal.kind {
        let assembly = &context.solved.assembly;
        for coil in coils.iter().filter_map(|id| context.model.coil(*id)) {
            let volts = (assembly.mean(solution, coil.feed) - assembly.mean(solution, coil.ground)).abs();
            let needs = format!("pulls in at {}", context.pull_in(coil, solution.corner));
            finding =
                finding.limit(&format!("between {} and its ground", context.model.pin_name(coil.feed)), volts, needs);
        }
    }
    let (finding, _) = context.shown_at(finding, &moment);
    finding.path(context.waypoints(solution, &context.way_of_signal(solution, relay)))
}
