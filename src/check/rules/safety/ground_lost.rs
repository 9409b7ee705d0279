use crate::check::worst::Moment;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::form::Place;
use crate::model::{ElementId, ElementKind, SignalId, SignalKind};
use crate::quantity::Amps;
use crate::solve::{
    ActorId, BranchId, Chatter, Circuit, Corner, CurrentPath, Logic, Outcome, Reading, Solution, Solver, State,
};
use crate::states::state_name;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "safety/ground-lost",
    severity: Severity::Note,
    explanation: include_str!("ground_lost.md"),
    finds: Finds::InHarness(find),
};

/// A ground that may break: a point, or one of several wires to it.
struct Break {
    name: String,
    about: String,
    place: Place,
    branch: BranchId,
}

/// What happens when a ground is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Effect {
    /// A relay comes in or a trigger input comes on.
    Comes(SignalId),
    /// Current goes backwards through a load or a coil.
    Backwards(ElementId),
    /// A relay, a trigger input or a timer finds no rest.
    Chatters(ActorId),
}

/// An effect in the simplest state that shows it.
struct Shown {
    moment: Moment,
    solution: Solution,
    amps: Amps,
}

/// All that the loss of one ground does.
#[derive(Default)]
struct Loss {
    effects: BTreeMap<Effect, Shown>,
    /// States that could not be solved without it.
    unsolved: usize,
}

fn find(context: &Context) -> Vec<Finding> {
    let breaks = breaks(context);
    let half = breaks.len().div_ceil(2);
    let (first, second) = breaks.split_at(half);
    // Each half on a thread of its own; what is found doesn't depend on which.
    let losses = std::thread::scope(|scope| {
        let other = scope.spawn(|| losses(context, second));
        let mut all = losses(context, first);
        match other.join() {
            Ok(more) => all.extend(more),
            Err(panic) => std::panic::resume_unwind(panic),
        }
        all
    });
    breaks.iter().zip(losses).flat_map(|(one, loss)| findings(context, one, loss)).collect()
}

/// What each of these breaks does, over every state.
fn losses(context: &Context, breaks: &[Break]) -> Vec<Loss> {
    let circuit = &context.solved.assembly.circuit;
    let broken: Vec<Circuit> = breaks.iter().map(|one| opened(circuit, one.branch)).collect();
    let mut solvers: Vec<Solver> = broken.iter().map(|circuit| Solver::new(circuit, Corner::NOMINAL)).collect();
    let mut losses: Vec<Loss> = breaks.iter().map(|_| Loss::default()).collect();
    if breaks.is_empty() {
        return losses;
    }
    context.solved.exploration.visit(circuit, &mut |intact| {
        for (solver, loss) in solvers.iter_mut().zip(&mut losses) {
            match solver.settle(&intact.state) {
                Outcome::Settled(lost) => compare(context, intact, *lost, &mut loss.effects),
                Outcome::Chatter(chatter) => chatters(context, intact, *chatter, solver, &mut loss.effects),
                Outcome::Unsolved(_) => loss.unsolved += 1,
            }
        }
    });
    losses
}

/// Notes what chatters, or what a race comes to.
fn chatters(
    context: &Context,
    intact: &Solution,
    chatter: Chatter,
    solver: &mut Solver,
    effects: &mut BTreeMap<Effect, Shown>,
) {
    for memory in &chatter.rests {
        let state = State { positions: intact.state.positions.clone(), memory: memory.clone() };
        if let Some(lost) = solver.settle(&state).settled() {
            compare(context, intact, lost, effects);
        }
    }
    let (Some(solution), true) = (chatter.round.first(), chatter.rests.is_empty()) else { return };
    for actor in &chatter.actors {
        effects.entry(Effect::Chatters(*actor)).or_insert_with(|| Shown {
            moment: Moment { state: intact.state.clone(), corner: intact.corner },
            solution: solution.clone(),
            amps: Amps::new(0.0),
        });
    }
}

fn breaks(context: &Context) -> Vec<Break> {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let mut all = Vec::new();
    for (i, element) in model.elements.iter().enumerate() {
        let ElementKind::GroundPoint { pin, .. } = element.kind else { continue };
        let part = model.part(element.part);
        let wires = context.wires_on(pin);
        all.extend(assembly.element(ElementId(i)).first().map(|&branch| Break {
            name: format!("ground point `{}`", part.name),
            about: part.name.to_string(),
            place: part.place,
            branch,
        }));
        for &wire in wires.iter().filter(|_| wires.len() > 1) {
            all.extend(assembly.wire(wire).map(|branch| Break {
                name: context.wire_words(wire),
                about: context.wire_words(wire),
                place: model.wire(wire).place,
                branch,
            }));
        }
    }
    all
}

fn opened(circuit: &Circuit, branch: BranchId) -> Circuit {
    let mut circuit = circuit.clone();
    circuit.branches[branch.index()].when = Logic::Never;
    circuit
}

/// Notes what the lost ground does in a state.
fn compare(context: &Context, intact: &Solution, lost: Solution, effects: &mut BTreeMap<Effect, Shown>) {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let (sneak, sneak_volts) = (model.limits.sneak_current, model.limits.sneak_voltage);
    let mut found: Vec<(Effect, Amps)> = Vec::new();
    for (i, signal) in model.signals.iter().enumerate() {
        if !matches!(signal.kind, SignalKind::Relay { .. } | SignalKind::Sense { .. }) {
            continue;
        }
        let on = |solution| assembly.reading(model, solution, SignalId(i)) == Reading::On;
        if on(&lost) && !on(intact) {
            found.push((Effect::Comes(SignalId(i)), Amps::new(0.0)));
        }
    }
    for (i, element) in model.elements.iter().enumerate() {
        let (feed, ground) = match &element.kind {
            ElementKind::Load(load) => (load.feed, load.ground),
            ElementKind::Coil(coil) => (coil.feed, coil.ground),
            _ => continue,
        };
        let (id, volts) = (ElementId(i), assembly.volts(&lost, ground) - assembly.volts(&lost, feed));
        let amps = |solution| assembly.amps(solution, id);
        if volts > sneak_volts && -amps(&lost) > sneak && -amps(intact) <= sneak {
            found.push((Effect::Backwards(id), -amps(&lost)));
        }
    }
    for (effect, amps) in found {
        effects.entry(effect).or_insert_with(|| Shown {
            moment: Moment { state: intact.state.clone(), corner: intact.corner },
            solution: lost.clone(),
            amps,
        });
    }
}

fn findings(context: &Context, one: &Break, loss: Loss) -> Vec<Finding> {
    let unsolved = (loss.unsolved > 0).then(|| {
        let states = if loss.unsolved == 1 { "1 state".to_string() } else { format!("{} states", loss.unsolved) };
        RULE.finding(one.place, format!("with {} lost, {states} could not be solved and so not checked", one.name))
            .about(one.about.as_str())
            .label("if this is lost")
            .hint("look at what this ground carries by hand, or give it a second wire")
    });
    finding(context, one, loss.effects).into_iter().chain(unsolved).collect()
}

fn finding(context: &Context, one: &Break, effects: BTreeMap<Effect, Shown>) -> Option<Finding> {
    let model = context.model;
    let words = |effect: &Effect| match effect {
        Effect::Comes(signal) => {
            let signal = &model.signals[signal.0];
            let comes = if matches!(signal.kind, SignalKind::Relay { .. }) { "pulls in" } else { "comes on" };
            format!("`{}` {comes}", signal.name)
        }
        Effect::Backwards(id) => format!("`{}` is fed backwards", model.part(model.element(*id).part).name),
        Effect::Chatters(id) => {
            format!("`{}` chatters", context.solved.assembly.circuit.actors[id.index()].name)
        }
    };
    let (effect, shown) = effects.first_key_value()?;
    let state = context.state_words(&shown.moment);
    let more = match effects.len() - 1 {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    let mut finding = RULE
        .finding(one.place, format!("with {} lost, {} {state}{more}", one.name, words(effect)))
        .about(one.about.as_str())
        .label("if this is lost")
        .hint(
            "take the grounds of what is always fed and of what is switched to the ground point on wires of their own",
        );
    let is_relay = |effect: &Effect| match effect {
        Effect::Comes(signal) => matches!(model.signals[signal.0].kind, SignalKind::Relay { .. }),
        Effect::Backwards(_) => false,
        Effect::Chatters(_) => true,
    };
    if effects.keys().any(is_relay) {
        finding.severity = Severity::Warning;
    }
    for (effect, shown) in effects.iter().skip(1) {
        finding = finding.value("also", format!("{} {}", words(effect), context.state_words(&shown.moment)));
    }
    let way = match effect {
        Effect::Comes(signal) => context.way_of_signal(&shown.solution, *signal),
        Effect::Backwards(id) => match &model.element(*id).kind {
            ElementKind::Load(load) => context.way_through(&shown.solution, *id, load.ground, load.feed),
            ElementKind::Coil(coil) => context.way_through(&shown.solution, *id, coil.ground, coil.feed),
            _ => CurrentPath::default(),
        },
        Effect::Chatters(actor) => {
            let signals = || (0..model.signals.len()).map(SignalId);
            let signal = signals().find(|id| context.solved.assembly.actor(*id) == Some(*actor));
            signal.map_or_else(CurrentPath::default, |id| context.way_of_signal(&shown.solution, id))
        }
    };
    if shown.amps > Amps::new(0.0) {
        finding = finding.limit("backwards", shown.amps, model.limits.sneak_current);
    }
    let finding = finding.shown_in(state_name(context.solved, &shown.solution), shown.moment.corner);
    Some(finding.path(context.waypoints(&shown.solution, &way)))
}
