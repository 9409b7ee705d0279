//! The bench test of what takes its time or remembers: hold, delay and pulse times by the watch, and the second press of
//! what turns over at each.

use crate::bench::bench_supply::stays_in_vehicle;
use crate::bench::state_readings::{Bench, There};
use crate::bench::steps::{BenchGroup, BenchStep};
use crate::bench::tolerance;
use crate::corners::Metered;
use crate::lists::connections::tip;
use crate::way::{self, Change, Walker};
use catalogue::part_form::TimerKind;
use model::{ElementKind, Logic, PinId, SignalId, SignalKind};
use solve::{ActorId, Corner, Move, Solution, State};
use states::{Solved, StateTable};

/// Most states of the table from which a time is looked for.
const MOST_STATES: usize = 60;

impl Bench<'_> {
    /// A group for each time that a module is set to.
    pub fn timed(&self, solved: &Solved, table: &StateTable) -> Vec<BenchGroup> {
        let model = self.model();
        let timed = |id: &SignalId| {
            let signal = &model.signals[id.0];
            let timer = matches!(signal.kind, SignalKind::Timer { time, .. } if time.value() > 0.0);
            timer && !stays_in_vehicle(model, model.part(signal.part), signal.part)
        };
        (0..model.signals.len()).map(SignalId).filter(timed).filter_map(|id| self.time_of(solved, table, id)).collect()
    }

    /// The simplest state from which one change sets a timer going.
    fn time_of(&self, solved: &Solved, table: &StateTable, id: SignalId) -> Option<BenchGroup> {
        let circuit = &self.wiring.assembly.circuit;
        let actor = self.wiring.assembly.actor(id)?;
        let mut walker = Walker::new(&self.wiring);
        table.rows.iter().filter(|row| !row.passing).take(MOST_STATES).find_map(|row| {
            let moves = solved.exploration.way_to(&row.solution.state)?;
            let there = self.there(&moves, &row.solution.state)?;
            let before = &there.solution.state;
            if !before.pending(circuit).is_empty() {
                return None;
            }
            let inputs = (0..circuit.inputs.len()).flat_map(|i| {
                let id = solve::InputId(i as u32);
                circuit.inputs[i].each_position().map(move |at| Move::Input(id, at))
            });
            let moved = inputs.filter(|by| !matches!(by, Move::Input(id, at) if before.positions.of(*id) == *at));
            let changes: Vec<Change> = moved.filter_map(|by| walker.change(before, by)).collect();
            let going = changes.into_iter().find(|change| change.after.pending(circuit) == [actor])?;
            self.watch(&there, &going, (id, actor))
        })
    }

    /// The step: what to do, what to watch, and how long it takes.
    fn watch(&self, there: &There, going: &Change, (id, actor): (SignalId, ActorId)) -> Option<BenchGroup> {
        let (model, assembly) = (self.model(), &self.wiring.assembly);
        let signal = &model.signals[id.0];
        let SignalKind::Timer { kind, time, tolerance, .. } = &signal.kind else { return None };
        let part = model.part(signal.part);
        let over = Walker::new(&self.wiring).change(&going.after, Move::Elapsed(actor))?.after;
        let settled = |state: &State| self.wiring.solvers().settle(Corner::NOMINAL, state).settled();
        let [then, at_last] = [settled(&going.after)?, settled(&over)?];
        let shown = |solution: &Solution| -> Vec<String> {
            self.screens(solution).into_iter().map(|step| step.expect).collect()
        };
        let (red, black, expect) = match self.output(id) {
            Some([pin, ground]) => {
                let volts = |s: &Solution| Metered::new(assembly.mean(s, pin) - assembly.mean(s, ground));
                (tip(model, pin), tip(model, ground), format!("{}, then {}", volts(&then), volts(&at_last)))
            }
            None => (
                String::new(),
                String::new(),
                format!("{}, then {}", shown(&then).join(", "), shown(&at_last).join(", ")),
            ),
        };
        let mut set = way::at_bench(model, assembly, &there.changes);
        set.insert(0, "from rest".to_string());
        let done = way::at_bench(model, assembly, std::slice::from_ref(going)).join(" and ");
        Some(BenchGroup {
            title: format!("With a watch: {kind} time of {} ({})", part.name, part.title),
            how: String::new(),
            doing: false,
            set,
            steps: vec![BenchStep {
                what: format!("{done}, and from then on the time until it changes: {time}"),
                red,
                black,
                expect,
                pass: format!("after {}", tolerance::time(*time, *tolerance)),
            }],
        })
    }

    /// The output that a timer switches, and the ground of its part.
    fn output(&self, id: SignalId) -> Option<[PinId; 2]> {
        let model = self.model();
        let part = model.part(model.signals[id.0].part);
        let ground = part.pins.iter().copied().find(|pin| model.pin(*pin).domain == model::Domain::Ground)?;
        part.elements.iter().find_map(|element| match &model.element(*element).kind {
            ElementKind::Output { pin, when, .. } => {
                let mut mine = false;
                when.leaves(&mut |leaf| mine |= *leaf == Logic::Signal(id));
                (mine && model.wires_on(*pin).next().is_some()).then_some([*pin, ground])
            }
            _ => None,
        })
    }

    /// For what a press turned over: the same press once more, and what the screens then show.
    pub(super) fn second_press(&self, there: &There) -> Vec<BenchStep> {
        let (model, assembly) = (self.model(), &self.wiring.assembly);
        let mut steps = Vec::new();
        for (i, signal) in model.signals.iter().enumerate() {
            let toggles = matches!(&signal.kind, SignalKind::Timer { kind: TimerKind::Toggle, .. });
            let Some(actor) = assembly.actor(SignalId(i)).filter(|_| toggles) else { continue };
            let pressed = |change: &&Change| !change.before.memory.on(actor) && change.after.memory.on(actor);
            let Some(Change { by: Move::Input(input, at), .. }) = there.changes.iter().find(pressed) else { continue };
            let mut walker = Walker::new(&self.wiring);
            let Some(press) = walker.change(&there.solution.state, Move::Input(*input, *at)) else { continue };
            let mut changes = vec![press];
            changes.extend(walker.change(&changes[0].after, Move::Input(*input, 0)));
            let after = changes.last().map(|change| change.after.clone());
            let solution = after.and_then(|at| self.wiring.solvers().settle(Corner::NOMINAL, &at).settled());
            let Some(solution) = solution.filter(|solution| !solution.state.memory.on(actor)) else { continue };
            let shown = self.screens(&solution);
            // Where something else is shown all along, it tells nothing.
            if shown == self.screens(&there.solution) {
                continue;
            }
            let done = way::at_bench(model, assembly, &changes).join(" and ");
            let again = |step: BenchStep| BenchStep { what: format!("Second time: {done}. {}", step.what), ..step };
            steps.extend(shown.into_iter().map(again));
        }
        steps
    }
}
