use crate::check::worst::Moment;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::form::Place;
use crate::model::{ElementId, ElementKind, PinId, SignalId, SignalKind};
use crate::quantity::Amps;
use crate::solve::{
    ActorId, BranchId, Chatter, Circuit, Corner, CurrentPath, Logic, Outcome, Reading, Solution, Solver, State,
};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

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
    /// Which of all states, in the order visited.
    number: usize,
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
    if breaks.is_empty() {
        return vec![];
    }
    // Every other state on a thread of its own; what is found doesn't depend on which.
    let losses = std::thread::scope(|scope| {
        let other = scope.spawn(|| losses(context, &breaks, 1));
        let even = losses(context, &breaks, 0);
        match other.join() {
            Ok(odd) => even.into_iter().zip(odd).map(|(even, odd)| even.with(odd)).collect::<Vec<_>>(),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    });
    breaks.iter().zip(losses).flat_map(|(one, loss)| findings(context, one, loss)).collect()
}

/// States are shared out among so many threads.
const THREADS: usize = 2;

/// What each of these breaks does, over a thread's share of all states.
fn losses(context: &Context, breaks: &[Break], thread: usize) -> Vec<Loss> {
    let circuit = &context.solved.assembly.circuit;
    let broken: Vec<Circuit> = breaks.iter().map(|one| opened(circuit, one.branch)).collect();
    let mut solvers: Vec<Solver> = broken.iter().map(|circuit| Solver::new(circuit, Corner::NOMINAL)).collect();
    let mut losses: Vec<Loss> = breaks.iter().map(|_| Loss::default()).collect();
    let mut number = 0;
    context.solved.exploration.visit(circuit, &mut |intact| {
        number += 1;
        if number % THREADS != thread {
            return;
        }
        for (solver, loss) in solvers.iter_mut().zip(&mut losses) {
            let seen = Seen { context, intact, number };
            match solver.settle(&intact.state) {
                Outcome::Settled(lost) => seen.compare(*lost, &mut loss.effects),
                Outcome::Chatter(chatter) => seen.chatters(*chatter, solver, &mut loss.effects),
                Outcome::Unsolved(_) => loss.unsolved += 1,
            }
        }
    });
    losses
}

impl Loss {
    /// With what another thread found; the earlier state shows an effect.
    fn with(mut self, other: Loss) -> Loss {
        self.unsolved += other.unsolved;
        for (effect, shown) in other.effects {
            match self.effects.entry(effect) {
                Entry::Vacant(entry) => _ = entry.insert(shown),
                Entry::Occupied(mut entry) if shown.number < entry.get().number => _ = entry.insert(shown),
                Entry::Occupied(_) => {}
            }
        }
        self
    }
}

/// A state with its ground whole, to be compared with.
#[derive(Clone, Copy)]
struct Seen<'a> {
    context: &'a Context<'a>,
    intact: &'a Solution,
    number: usize,
}

impl Seen<'_> {
    fn shown(self, solution: &Solution, amps: Amps) -> Shown {
        let moment = Moment { state: self.intact.state.clone(), corner: self.intact.corner };
        Shown { moment, solution: solution.clone(), amps, number: self.number }
    }

    /// Notes what chatters, or what a race comes to.
    fn chatters(self, chatter: Chatter, solver: &mut Solver, effects: &mut BTreeMap<Effect, Shown>) {
        for memory in &chatter.rests {
            let state = State { positions: self.intact.state.positions.clone(), memory: memory.clone() };
            if let Some(lost) = solver.settle(&state).settled() {
                self.compare(lost, effects);
            }
        }
        let (Some(solution), true) = (chatter.round.first(), chatter.rests.is_empty()) else { return };
        for actor in &chatter.actors {
            effects.entry(Effect::Chatters(*actor)).or_insert_with(|| self.shown(solution, Amps::new(0.0)));
        }
    }

    /// Notes what the lost ground does.
    fn compare(self, lost: Solution, effects: &mut BTreeMap<Effect, Shown>) {
        let (model, assembly) = (self.context.model, &self.context.solved.assembly);
        let (sneak, sneak_volts) = (model.limits.sneak_current, model.limits.sneak_voltage);
        for (i, signal) in model.signals.iter().enumerate() {
            if !matches!(signal.kind, SignalKind::Relay { .. } | SignalKind::Sense { .. }) {
                continue;
            }
            let on = |solution| assembly.reading(model, solution, SignalId(i)) == Reading::On;
            if on(&lost) && !on(self.intact) {
                let comes = effects.entry(Effect::Comes(SignalId(i)));
                comes.or_insert_with(|| self.shown(&lost, Amps::new(0.0)));
            }
        }
        for (i, element) in model.elements.iter().enumerate() {
            let (feed, ground) = match &element.kind {
                ElementKind::Load(load) => (load.feed, load.ground),
                ElementKind::Coil(coil) => (coil.feed, coil.ground),
                _ => continue,
            };
            let (id, volts) = (ElementId(i), assembly.volts(&lost, ground) - assembly.volts(&lost, feed));
            let amps = -assembly.amps(&lost, id);
            if volts > sneak_volts && amps > sneak && -assembly.amps(self.intact, id) <= sneak {
                effects.entry(Effect::Backwards(id)).or_insert_with(|| self.shown(&lost, amps));
            }
        }
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

/// The voltage that moves a relay or a trigger input, and what it takes to.
fn moved_by(context: &Context, finding: Finding, solution: &Solution, id: SignalId) -> Finding {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let across = |[plus, minus]: [PinId; 2]| assembly.volts(solution, plus) - assembly.volts(solution, minus);
    match &model.signals[id.0].kind {
        SignalKind::Sense { pin, ground, on_above, .. } => {
            finding.limit(&model.pin_name(*pin), across([*pin, *ground]), format!("on from {on_above}"))
        }
        SignalKind::Relay { coils, .. } => {
            let coils = coils.iter().filter_map(|coil| match &model.element(*coil).kind {
                ElementKind::Coil(coil) => Some((across([coil.feed, coil.ground]).abs(), coil)),
                _ => None,
            });
            match coils.max_by(|a, b| a.0.value().total_cmp(&b.0.value())) {
                Some((volts, coil)) => finding.limit("at its coil", volts, format!("pulls in at {}", coil.pull_in)),
                None => finding,
            }
        }
        _ => finding,
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
            format!("{} without end", context.swings(&context.signals_of(&[*id])))
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
    let (parts, _) = context.solved.exploration.parts();
    if parts > 1 {
        let how = format!(
            "each of the {parts} parts that it is solved in at its own worst state: every state of one, the others at \
             their least and at their greatest draw"
        );
        finding = finding.value("tried", how);
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
    if let Effect::Comes(signal) = effect {
        finding = moved_by(context, finding, &shown.solution, *signal);
    }
    if shown.amps > Amps::new(0.0) {
        finding = finding.limit("backwards", shown.amps, model.limits.sneak_current);
    }
    let finding = finding.shown_in(context.state_name(&shown.solution.state), shown.moment.corner);
    Some(finding.path(context.waypoints(&shown.solution, &way)))
}
