//! The bench test with power: one group of readings for each state, from rest and back to it.

use crate::bench::limit::Limit;
use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
use crate::bench::{tolerance, voltages};
use crate::lists::connections::tip;
use crate::lists::states::printed;
use crate::steps::{self, Clips};
use circuit::{Assembly, Reading, Solution, State};
use facts::Bench;
use facts::bench::{BenchState, stays_in_vehicle};
use model::{Coil, ElementKind, Model, PartId, PinId, ScreenId, Shown, Signal, SignalId, SignalKind};
use quantity::Amps;
use states::{Solved, StateRow, read_screen, shown_words};

/// The harness with a bench supply, and what its states read.
pub struct BenchReadings<'m> {
    pub(super) bench: Bench<'m>,
}

/// The title of a state's group.
pub(super) fn title(row: &StateRow) -> String {
    format!("With power: {}", row.name)
}

impl<'m> BenchReadings<'m> {
    /// Takes a model with a bench supply in the vehicle's place.
    pub fn new(model: &'m Model) -> BenchReadings<'m> {
        BenchReadings { bench: Bench::new(model) }
    }

    pub(super) fn model(&self) -> &'m Model {
        self.bench.wiring.model
    }

    pub(super) fn assembly(&self) -> &Assembly {
        &self.bench.wiring.assembly
    }

    /// A state of the table at the bench; `None` if it does not settle there.
    pub fn state(&self, solved: &Solved, row: &StateRow) -> Option<BenchState> {
        self.bench.state(solved, &row.solution.state)
    }

    /// What the whole harness draws from the bench supply in a state.
    pub fn drawn(&self, there: &BenchState) -> Amps {
        self.bench.drawn(&there.solution)
    }

    /// The readings of a state.
    pub fn powered(&self, row: &StateRow, there: &BenchState) -> BenchGroup {
        let model = self.model();
        let rest = self.bench.rest();
        let mut steps = self.signals(there, rest.as_ref().unwrap_or(&there.solution));
        steps.extend(self.fuses(&there.solution));
        if there.is_rest {
            steps.push(self.taken_at_rest(there));
        }
        steps.extend(self.screens(&there.solution));
        match rest.as_ref().and_then(|rest| self.back(there, &rest.state)) {
            Some(back) => steps.push(back),
            None => steps.extend(self.second_presses(there)),
        }
        let set = if there.is_rest {
            let rest = &there.solution.state;
            vec![self.clipped(rest), self.switches(rest)]
        } else {
            let way = steps::at_bench(model, self.assembly(), &there.changes);
            std::iter::once(self.beginning()).chain(way).collect()
        };
        BenchGroup {
            title: title(row),
            how: String::new(),
            kind: GroupKind::Powered,
            set: set.into_iter().filter(|line| !line.is_empty()).collect(),
            steps,
        }
    }

    /// Where a state's steps begin: `from rest: plus on end of wire 10 (battery) only`.
    pub(super) fn beginning(&self) -> String {
        let Some(rest) = self.bench.rest() else { return "from rest".to_string() };
        let plus = Clips::of(self.model(), self.assembly(), &rest.state).plus;
        let names: Vec<String> = plus.iter().filter_map(|id| steps::clip(self.model(), *id)).collect();
        match names.is_empty() {
            true => "from rest: plus on nothing".to_string(),
            false => format!("from rest: plus on {} only", names.join(", ")),
        }
    }

    /// What the whole harness takes at rest: what the battery loses while the vehicle stands.
    fn taken_at_rest(&self, there: &BenchState) -> BenchStep {
        let drawn = self.bench.drawn(&there.solution);
        let (pass, limit) = tolerance::at_most(drawn);
        BenchStep {
            what: "Current from the bench supply, ammeter in its plus lead".to_string(),
            red: String::new(),
            black: String::new(),
            expect: printed(drawn).to_string(),
            pass,
            limit,
            probe: BenchProbe::Drawn,
        }
    }

    fn clipped(&self, rest: &State) -> String {
        let model = self.model();
        let clips = Clips::of(model, self.assembly(), rest);
        let names = |ids: &[PartId]| ids.iter().filter_map(|id| steps::clip(model, *id)).collect::<Vec<_>>();
        let plus = names(&clips.plus);
        let minus: Vec<String> = std::iter::once("every ground ring".to_string()).chain(names(&clips.minus)).collect();
        match plus.is_empty() {
            true => format!("no plus yet; minus of the bench supply on {}", minus.join(", ")),
            false => format!("plus of the bench supply on {}, minus on {}", plus.join(", "), minus.join(", ")),
        }
    }

    fn switches(&self, rest: &State) -> String {
        let model = self.model();
        let at = |(i, input): (usize, &model::Input)| {
            let switch = model.part(input.switch?);
            (!input.momentary).then(|| {
                format!("{} ({}) to {}", switch.name, input.title, input.positions[usize::from(rest.positions.0[i])])
            })
        };
        model.inputs.iter().enumerate().filter_map(at).collect::<Vec<_>>().join(", ")
    }

    /// The signals that are on or differ from rest, and all of the screens.
    fn signals(&self, there: &BenchState, rest: &Solution) -> Vec<BenchStep> {
        let (model, now) = (self.model(), &there.solution);
        let mut steps = Vec::new();
        for (i, signal) in model.signals.iter().enumerate() {
            let id = SignalId(i);
            let reading = self.assembly().reading(model, now, id);
            let before = self.assembly().reading(model, rest, id);
            let of_screen = model.screens.iter().any(|screen| screen.part == signal.part);
            let here = !stays_in_vehicle(model, model.part(signal.part), signal.part);
            if here && (reading == Reading::On || reading != before || of_screen) {
                steps.extend(self.signal(there, id, reading));
            }
        }
        steps
    }

    /// One reading for a signal, between the pins that decide it.
    fn signal(&self, there: &BenchState, id: SignalId, reading: Reading) -> Vec<BenchStep> {
        let (model, wiring) = (self.model(), &self.bench.wiring);
        let signal: &Signal = &model.signals[id.0];
        let band = |red: PinId, black: PinId| voltages::band(wiring, there, [red, black]);
        let step = |what: String, red: PinId, black: PinId, pass: (String, Limit)| {
            voltages::step(wiring, there, what, [red, black], pass)
        };
        let heard = |mut step: BenchStep| {
            if let BenchProbe::Volts { heard, .. } = &mut step.probe {
                *heard = Some(id);
            }
            step
        };
        let part = model.part(signal.part);
        let of = format!("{} ({})", part.name, part.title);
        match &signal.kind {
            SignalKind::Sense { pin, ground, on_above, off_below } => {
                let pass = match reading {
                    Reading::Undecided => (
                        format!("undecided between {off_below} and {on_above}"),
                        Limit::Volts { least: Some(*off_below), most: *on_above },
                    ),
                    Reading::Pulsing => ("follows the pulses".to_string(), Limit::Confirmed),
                    Reading::On | Reading::Off => band(*pin, *ground),
                };
                vec![step(format!("Trigger of {of}"), *pin, *ground, pass)]
            }
            SignalKind::Working { feed, ground, .. } => {
                let is_promised = model.works.iter().any(|promise| promise.part == signal.part);
                let works = if is_promised && reading == Reading::On { ", and it works" } else { "" };
                let (band, limit) = band(*feed, *ground);
                let step = step(format!("Supply of {of}"), *feed, *ground, (format!("{band}{works}"), limit));
                vec![if works.is_empty() { step } else { heard(step) }]
            }
            SignalKind::Relay { coils, latching } => {
                let across = |coil: &Coil| voltages::between(wiring, &there.solution, [coil.feed, coil.ground]).abs();
                let pass = |coil: &Coil| match reading {
                    Reading::On if *latching && across(coil) < coil.pull_in => {
                        ("set, and stays so without voltage".to_string(), Limit::Confirmed)
                    }
                    _ if *latching && across(coil) < coil.pull_in => {
                        ("reset, and stays so".to_string(), Limit::Confirmed)
                    }
                    Reading::On => {
                        let (band, limit) = band(coil.feed, coil.ground);
                        (format!("{band}, and it clicks"), limit)
                    }
                    _ => band(coil.feed, coil.ground),
                };
                let steps = coils.iter().filter_map(|id| model.coil(*id));
                steps.map(|coil| heard(step(format!("Coil of {of}"), coil.feed, coil.ground, pass(coil)))).collect()
            }
            SignalKind::Timer { .. } => Vec::new(),
        }
    }

    fn fuses(&self, now: &Solution) -> Vec<BenchStep> {
        let model = self.model();
        let mut steps = Vec::new();
        for (i, element) in model.elements.iter().enumerate() {
            let ElementKind::Fuse { between: [a, b], rating, .. } = &element.kind else { continue };
            let (amps, part) = (self.assembly().amps(now, model::ElementId(i)).abs(), model.part(element.part));
            if amps.value() >= 0.001 && !stays_in_vehicle(model, part, element.part) {
                let (pass, limit) = tolerance::amps(amps, *rating);
                steps.push(BenchStep {
                    what: format!("Current through {} ({}): fuse out, ammeter in its place", part.name, part.title),
                    red: tip(model, *a),
                    black: tip(model, *b),
                    expect: printed(amps).to_string(),
                    pass,
                    limit,
                    probe: BenchProbe::Fuse(model::ElementId(i)),
                });
            }
        }
        steps
    }

    pub(super) fn screens(&self, now: &Solution) -> Vec<BenchStep> {
        let model = self.model();
        let screens = model.screens.iter().enumerate();
        let here = screens.filter(|(_, screen)| !stays_in_vehicle(model, model.part(screen.part), screen.part));
        let step = |(i, screen): (usize, &model::Screen)| {
            let (part, reading) = (model.part(screen.part), read_screen(&self.bench.wiring, now, ScreenId(i)));
            let wanted = reading.view.map(|view| shown_words(model, screen.views[view].show));
            let is_any = reading.view.is_some_and(|view| matches!(screen.views[view].show, Shown::Any));
            let (expect, pass) = (reading.picture.words(model), wanted.unwrap_or_default());
            let names = if is_any { Vec::new() } else { vec![expect.clone(), pass.clone()] };
            BenchStep {
                what: format!("Picture on {} ({})", part.name, part.title),
                red: String::new(),
                black: String::new(),
                limit: Limit::Picture(names),
                probe: BenchProbe::Screen(ScreenId(i)),
                expect,
                pass,
            }
        };
        here.map(step).collect()
    }

    /// The steps back to rest, if more is needed than putting every input to rest: the next group starts from rest.
    fn back(&self, there: &BenchState, rest: &State) -> Option<BenchStep> {
        let (model, assembly) = (self.model(), self.assembly());
        let here = &there.solution.state;
        let way = self.bench.way_back(there, rest)?;
        let differs = |id: &SignalId| {
            let mine = assembly.actor(*id);
            states::is_memory(model, *id) && mine.is_some_and(|a| here.memory.on(a) != rest.memory.on(a))
        };
        let names: Vec<String> =
            (0..model.signals.len()).map(SignalId).filter(differs).map(|id| model.signals[id.0].name.clone()).collect();
        let reset = if names.is_empty() { String::new() } else { format!(", {} reset", names.join(", ")) };
        let way = steps::at_bench(model, assembly, &way).join("; ");
        Some(BenchStep::action(format!("Back to rest{reset}"), way, "done"))
    }
}
