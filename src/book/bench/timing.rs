//! The bench test of timers and memories: hold, delay and pulse times, and the second press of buttons that toggle.

use crate::bench::state_readings::BenchReadings;
use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
use crate::bench::tolerance;
use crate::lists::connections::tip;
use crate::meter::Metered;
use crate::steps;
use circuit::Solution;
use facts::bench::{BenchState, TimerRun};
use model::{ElementKind, PinId, SignalId, SignalKind};
use states::{Solved, StateTable};

impl BenchReadings<'_> {
    /// A group for each time that a module is set to.
    pub fn timed(&self, solved: &Solved, table: &StateTable) -> Vec<BenchGroup> {
        self.bench.timer_runs(solved, table).iter().filter_map(|run| self.timer_run(run)).collect()
    }

    /// The step: what to do, what to watch, and how long it takes.
    fn timer_run(&self, run: &TimerRun) -> Option<BenchGroup> {
        let (model, assembly) = (self.model(), self.assembly());
        let signal = &model.signals[run.signal.0];
        let SignalKind::Timer { kind, time, tolerance, .. } = &signal.kind else { return None };
        let part = model.part(signal.part);
        let shown = |solution: &Solution| -> Vec<String> {
            self.screens(solution).into_iter().map(|step| step.expect).collect()
        };
        let (red, black, expect) = match self.output(run.signal) {
            Some([pin, ground]) => {
                let volts = |s: &Solution| Metered::new(assembly.mean(s, pin) - assembly.mean(s, ground));
                (tip(model, pin), tip(model, ground), format!("{}, then {}", volts(&run.running), volts(&run.over)))
            }
            None => (
                String::new(),
                String::new(),
                format!("{}, then {}", shown(&run.running).join(", "), shown(&run.over).join(", ")),
            ),
        };
        let mut set = steps::at_bench(model, assembly, &run.from.changes);
        set.insert(0, self.beginning());
        let done = steps::at_bench(model, assembly, std::slice::from_ref(&run.start)).join(" and ");
        let (within, limit) = tolerance::time(*time, *tolerance);
        Some(BenchGroup {
            title: format!("Timing: {kind} time of {} ({})", part.name, part.title),
            how: String::new(),
            kind: GroupKind::Timed,
            set,
            steps: vec![BenchStep {
                what: format!("{done}; then the time until the reading changes: {time}"),
                red,
                black,
                expect,
                pass: format!("after {within}"),
                limit,
                probe: BenchProbe::Action,
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
                (when.names_signal(id) && model.wires_on(*pin).next().is_some()).then_some([*pin, ground])
            }
            _ => None,
        })
    }

    /// For what a press toggles: the same press once more, and what the screens then show.
    pub(super) fn second_presses(&self, there: &BenchState) -> Vec<BenchStep> {
        let (model, assembly) = (self.model(), self.assembly());
        let before = self.screens(&there.solution);
        let mut steps = Vec::new();
        for press in self.bench.second_presses(there) {
            let shown = self.screens(&press.solution);
            // The same picture both times proves nothing.
            if shown == before {
                continue;
            }
            let done = steps::at_bench(model, assembly, &press.changes).join(" and ");
            let again = |step: BenchStep| BenchStep {
                what: format!("Second time: {done}. {}", step.what),
                probe: BenchProbe::Action,
                ..step
            };
            steps.extend(shown.into_iter().map(again));
        }
        steps
    }
}
