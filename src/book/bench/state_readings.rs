//! The bench test with power: one group of readings for each state, from rest and back to it.

use crate::bench::bench_supply::stays_in_vehicle;
use crate::bench::steps::{BenchGroup, BenchStep};
use crate::bench::tolerance;
use crate::corners::Metered;
use crate::lists::connections::tip;
use crate::lists::states::printed;
use crate::way::{self, Change, Clips, Walker};
use model::{Coil, ElementKind, Model, PartId, PinId, ScreenId, Signal, SignalId, SignalKind};
use quantity::Amps;
use solve::{Corner, Move, Reading, Solution, State};
use states::{Solved, StateRow, Wiring, read_screen, shown_words};

/// The harness with a bench supply.
pub struct Bench<'m> {
    pub(super) wiring: Wiring<'m>,
}

/// A state at the bench, with the way to it.
pub(super) struct There {
    pub(super) solution: Solution,
    /// The same with hot copper, and with parts at the ends of their tolerances.
    others: Vec<Solution>,
    pub(super) changes: Vec<Change>,
}

impl<'m> Bench<'m> {
    /// Takes a model with a bench supply in the vehicle's place; see [`super::on_bench`].
    pub fn new(model: &'m Model) -> Bench<'m> {
        Bench { wiring: Wiring::new(model) }
    }

    pub(super) fn model(&self) -> &'m Model {
        self.wiring.model
    }

    /// The readings of a state.
    pub fn powered(&self, solved: &Solved, row: &StateRow) -> BenchGroup {
        let model = self.model();
        let title = format!("With power: {}", row.name);
        let Some(rest) = Walker::new(&self.wiring).rest() else {
            return BenchGroup { title, how: String::new(), doing: false, set: Vec::new(), steps: Vec::new() };
        };
        let moves = solved.exploration.way_to(&row.solution.state).unwrap_or_default();
        let Some(there) = self.there(&moves, &row.solution.state) else {
            let how = "It doesn't settle at the bench.".to_string();
            return BenchGroup { title, how, doing: false, set: Vec::new(), steps: Vec::new() };
        };
        let mut steps = self.signals(&there, &rest);
        steps.extend(self.fuses(&there.solution));
        steps.extend(self.screens(&there.solution));
        match self.back(&there, &rest) {
            Some(back) => steps.push(back),
            None => steps.extend(self.second_press(&there)),
        }
        let set = if moves.is_empty() {
            vec![self.clipped(&rest), self.switches(&rest)]
        } else {
            let way = way::at_bench(model, &self.wiring.assembly, &there.changes);
            std::iter::once("from rest".to_string()).chain(way).collect()
        };
        BenchGroup {
            title,
            how: String::new(),
            doing: false,
            set: set.into_iter().filter(|line| !line.is_empty()).collect(),
            steps,
        }
    }

    /// Goes the way, or where it can't be gone at the bench, settles from the state that it leads to in the vehicle.
    pub(super) fn there(&self, moves: &[Move], state: &State) -> Option<There> {
        let mut walker = Walker::new(&self.wiring);
        let changes = walker.walk(moves);
        let last = match &changes {
            Some(changes) => changes.last().map_or_else(|| walker.rest(), |change| Some(change.after.clone()))?,
            None => state.clone(),
        };
        let solution = self.wiring.solvers().settle(Corner::NOMINAL, &last).settled()?;
        let others = Corner::ALL.iter().filter(|corner| **corner != Corner::NOMINAL);
        let others = others.filter_map(|corner| self.wiring.solvers().settle(*corner, &solution.state).settled());
        Some(There { others: others.collect(), solution, changes: changes.unwrap_or_default() })
    }

    /// What the whole harness draws from the bench supply in a state.
    pub fn drawn(&self, solved: &Solved, row: &StateRow) -> Option<Amps> {
        let moves = solved.exploration.way_to(&row.solution.state).unwrap_or_default();
        let there = self.there(&moves, &row.solution.state)?;
        let battery = |e: &model::Element| matches!(e.kind, ElementKind::Battery { .. });
        let batteries = self.model().elements.iter().enumerate().filter(|(_, element)| battery(element));
        let amps = |i| self.wiring.assembly.amps(&there.solution, model::ElementId(i)).abs();
        Some(batteries.map(|(i, _)| amps(i)).sum())
    }

    fn clipped(&self, rest: &State) -> String {
        let model = self.model();
        let clips = Clips::of(model, &self.wiring.assembly, rest);
        let names = |ids: &[PartId]| ids.iter().filter_map(|id| way::clip(model, *id)).collect::<Vec<_>>();
        let plus = names(&clips.plus);
        let plus = if plus.is_empty() { "nothing yet".to_string() } else { plus.join(", ") };
        let minus: Vec<String> = std::iter::once("every ground ring".to_string()).chain(names(&clips.minus)).collect();
        format!("plus of the bench supply on {plus}, minus on {}", minus.join(", "))
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
    fn signals(&self, there: &There, rest: &State) -> Vec<BenchStep> {
        let (model, now) = (self.model(), &there.solution);
        let at_rest = self.wiring.solvers().settle(Corner::NOMINAL, rest).settled();
        let mut steps = Vec::new();
        for (i, signal) in model.signals.iter().enumerate() {
            let id = SignalId(i);
            let reading = self.wiring.assembly.reading(model, now, id);
            let before = at_rest.as_ref().map(|rest| self.wiring.assembly.reading(model, rest, id));
            let of_screen = model.screens.iter().any(|screen| screen.part == signal.part);
            let here = !stays_in_vehicle(model, model.part(signal.part), signal.part);
            if here && (reading == Reading::On || Some(reading) != before || of_screen) {
                steps.extend(self.signal(there, signal, reading));
            }
        }
        steps
    }

    /// One reading for a signal, between the pins that decide it.
    fn signal(&self, there: &There, signal: &Signal, reading: Reading) -> Vec<BenchStep> {
        let model = self.model();
        let between = |solution: &Solution, red, black| {
            self.wiring.assembly.mean(solution, red) - self.wiring.assembly.mean(solution, black)
        };
        let band = |red: PinId, black: PinId| {
            tolerance::volts(std::iter::once(&there.solution).chain(&there.others).map(|s| between(s, red, black)))
        };
        let step = |what: String, red: PinId, black: PinId, pass: String| BenchStep {
            what,
            red: tip(model, red),
            black: tip(model, black),
            expect: Metered::new(between(&there.solution, red, black)).to_string(),
            pass,
        };
        let part = model.part(signal.part);
        let of = format!("{} ({})", part.name, part.title);
        match &signal.kind {
            SignalKind::Sense { pin, ground, on_above, off_below } => {
                let pass = match reading {
                    Reading::Undecided => format!("undecided between {off_below} and {on_above}"),
                    Reading::Pulsing => "comes and goes with pulses".to_string(),
                    Reading::On | Reading::Off => band(*pin, *ground),
                };
                vec![step(format!("Trigger of {of}"), *pin, *ground, pass)]
            }
            SignalKind::Working { feed, ground, .. } => {
                vec![step(format!("Supply of {of}"), *feed, *ground, band(*feed, *ground))]
            }
            SignalKind::Relay { coils, latching } => {
                let across = |coil: &Coil| between(&there.solution, coil.feed, coil.ground).abs();
                let pass = |coil: &Coil| match reading {
                    Reading::On if *latching && across(coil) < coil.pull_in => {
                        "set, and stays so without voltage".into()
                    }
                    _ if *latching && across(coil) < coil.pull_in => "reset, and stays so".to_string(),
                    Reading::On => format!("{}, and it clicks", band(coil.feed, coil.ground)),
                    _ => band(coil.feed, coil.ground),
                };
                let steps = coils.iter().filter_map(|id| model.coil(*id));
                steps.map(|coil| step(format!("Coil of {of}"), coil.feed, coil.ground, pass(coil))).collect()
            }
            SignalKind::Timer { .. } => Vec::new(),
        }
    }

    fn fuses(&self, now: &Solution) -> Vec<BenchStep> {
        let model = self.model();
        let mut steps = Vec::new();
        for (i, element) in model.elements.iter().enumerate() {
            let ElementKind::Fuse { between: [a, b], rating, .. } = &element.kind else { continue };
            let (amps, part) = (self.wiring.assembly.amps(now, model::ElementId(i)).abs(), model.part(element.part));
            if amps.value() >= 0.001 && !stays_in_vehicle(model, part, element.part) {
                steps.push(BenchStep {
                    what: format!("Current through {} ({}): fuse out, ammeter in its place", part.name, part.title),
                    red: tip(model, *a),
                    black: tip(model, *b),
                    expect: printed(amps).to_string(),
                    pass: tolerance::amps(amps, *rating),
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
            let (part, reading) = (model.part(screen.part), read_screen(&self.wiring, now, ScreenId(i)));
            let wanted = reading.view.map(|view| shown_words(model, screen.views[view].show));
            BenchStep {
                what: format!("Picture on {} ({})", part.name, part.title),
                red: String::new(),
                black: String::new(),
                expect: reading.picture.words(model),
                pass: wanted.unwrap_or_default(),
            }
        };
        here.map(step).collect()
    }

    /// What has to be done at the end, so that the next group starts from rest, where putting every input to rest is not
    /// enough.
    fn back(&self, there: &There, rest: &State) -> Option<BenchStep> {
        let (model, assembly) = (self.model(), &self.wiring.assembly);
        let mut walker = Walker::new(&self.wiring);
        let here = &there.solution.state;
        let inputs = (0..model.inputs.len()).rev().map(|i| Move::Input(solve::InputId(i as u32), 0));
        if walker.put_to_rest(here, inputs).as_ref() == Some(rest) {
            return None;
        }
        let way = walker.between(here, rest)?;
        let differs = |id: &SignalId| {
            let mine = assembly.actor(*id);
            states::is_memory(model, *id) && mine.is_some_and(|a| here.memory.on(a) != rest.memory.on(a))
        };
        let names: Vec<String> =
            (0..model.signals.len()).map(SignalId).filter(differs).map(|id| model.signals[id.0].name.clone()).collect();
        Some(BenchStep {
            what: format!(
                "Back to rest{}",
                if names.is_empty() { String::new() } else { format!(", {} reset", names.join(", ")) }
            ),
            red: String::new(),
            black: String::new(),
            expect: way::at_bench(model, assembly, &way).join("; "),
            pass: "done".to_string(),
        })
    }
}
