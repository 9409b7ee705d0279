use crate::worst::Moment;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::Acts;
use model::{ElementId, ElementKind, SignalId, SignalKind};
use quantity::Volts;
use solve::{ActorId, Circuit, Corner, Law, Solver, State};
use states::is_memory;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "logic/left-behind",
    severity: Severity::Note,
    explanation: include_str!("left_behind.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let circuit = &context.solved.assembly.circuit;
    let remembers: Vec<(SignalId, ActorId)> = (0..context.model.signals.len())
        .map(SignalId)
        .filter(|id| is_memory(context.model, *id))
        .filter_map(|id| Some((id, context.solved.assembly.actor(id)?)))
        .collect();
    let mut left: BTreeMap<SignalId, State> = BTreeMap::new();
    context.solved.exploration.visit(circuit, &mut |solution| {
        let at_rest = solution.state.positions.0.iter().all(|at| *at == 0);
        if at_rest && solution.state.pending(circuit).is_empty() {
            for (id, _) in remembers.iter().filter(|(_, actor)| solution.on(*actor)) {
                left.entry(*id).or_insert_with(|| solution.state.clone());
            }
        }
    });
    left.into_iter().filter_map(|(id, state)| finding(context, id, state)).collect()
}

fn finding(context: &Context, id: SignalId, state: State) -> Option<Finding> {
    let signal = &context.model.signals[id.0];
    let actor = context.solved.assembly.actor(id)?;
    let keeps = survives(&context.solved.assembly.circuit, actor, &state)?;
    let loss = if keeps { "and through a power loss" } else { "and a power loss ends it" };
    let moment = Moment::new(state, Corner::NOMINAL);
    let mut finding = RULE
        .finding(
            context.part_place(signal.part),
            format!("`{}` stays set when everything is back at rest, {loss}", signal.name),
        )
        .about(context.model.part(signal.part).name.as_str())
        .label("remembers")
        .hint("see that the next drive may start like this; if not, let the key or a power-up reset it");
    if let Some(words) = context.way_words(&context.solved.exploration, &moment.state) {
        finding = finding.value("set", words);
    }
    let (finding, solution) = context.shown_at(finding, &moment);
    let solution = solution?;
    let way = context.way_of_part(&solution, signal.part);
    let points = context.waypoints(&solution, &way);
    Some(if points.is_empty() { with_what_set_it(context, finding, id) } else { finding.path(points) })
}

/// Where nothing flows through it at rest: the current of its coil, when that had most.
fn with_what_set_it(context: &Context, finding: Finding, id: SignalId) -> Finding {
    let SignalKind::Relay { coils, .. } = &context.model.signals[id.0].kind else { return finding };
    let sets = |coil: &&ElementId| match &context.model.element(**coil).kind {
        ElementKind::Coil(coil) => coil.acts != Acts::Resets,
        _ => false,
    };
    let peak = coils.iter().find(sets).and_then(|coil| Some((*coil, context.worst.coil(Corner::NOMINAL, *coil)?)));
    let Some((coil, peak)) = peak else { return finding };
    let Some(solution) = context.solution(&peak.moment) else { return finding };
    let way = context.way_through_coil(&solution, coil);
    finding.value("its coil", peak.value).path(context.waypoints(&solution, &way))
}

/// Whether it is still on when the supply has gone and come back.
fn survives(circuit: &Circuit, actor: ActorId, state: &State) -> Option<bool> {
    let mut dark = circuit.clone();
    for branch in &mut dark.branches {
        if let Law::Source { volts, .. } = &mut branch.law {
            *volts = [Volts::new(0.0); 3];
        }
    }
    let lost = Solver::new(&dark, Corner::NOMINAL).settle(state).settled()?;
    let back = Solver::new(circuit, Corner::NOMINAL).settle(&lost.state).settled()?;
    Some(back.on(actor))
}
