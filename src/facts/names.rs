//! Names of states, moments, wires and signals.

use super::Explored;
use super::moment::{Moment, battery_volts};
use circuit::State;
use explore::{Exploration, Move};
use model::{ElementId, SignalId, SignalKind, WireId};
use states::{Solved, held, listed, state_words};

/// Names in words, as findings, lists and drawings print them.
#[derive(Debug, Clone, Copy)]
pub struct Names<'f> {
    solved: &'f Solved<'f>,
    explored: &'f Explored<'f>,
}

impl<'f> Names<'f> {
    pub(super) fn new(solved: &'f Solved<'f>, explored: &'f Explored<'f>) -> Names<'f> {
        Names { solved, explored }
    }

    /// The name of a state. It mentions a relay that holds itself if that makes a difference at any corner.
    pub fn state(&self, state: &State) -> String {
        state_words(self.solved, state, &held(self.solved, self.explored.all(), state))
    }

    /// The state that a moment settles to: `in state reverse, key run`.
    pub fn moment(&self, moment: &Moment) -> String {
        let name = moment.solve(self.solved).map(|solution| self.state(&solution.state));
        match name.as_deref() {
            Some(name) if name.starts_with("at rest") => name.into(),
            Some(name) => format!("in state {name}"),
            None => "in some state".into(),
        }
    }

    /// The corner of a moment: `lowest supply, hot copper`; with two batteries apart, the voltage of each.
    pub fn corner(&self, moment: &Moment) -> String {
        let Some(apart) = moment.apart else { return moment.corner.to_string() };
        let model = self.solved.model;
        let at = |id: ElementId, at: usize| {
            let name = &model.part(model.element(id).part).name;
            format!("{name} at {}", battery_volts(model, id)[at])
        };
        format!("{}, {}, cold copper", at(apart.full, 2), at(apart.empty, 0))
    }

    /// `wire 7`.
    pub fn wire(&self, wire: WireId) -> String {
        format!("wire {}", self.solved.model.wire(wire).id)
    }

    /// `K1 and K2`, each in backticks; a load or converter goes by its part's name.
    pub fn signals(&self, signals: &[SignalId]) -> String {
        let model = self.solved.model;
        let name = |id: &SignalId| match &model.signals[id.0] {
            signal if matches!(signal.kind, SignalKind::Working { .. }) => model.part(signal.part).name.to_string(),
            signal => signal.name.clone(),
        };
        let names: Vec<String> = signals.iter().map(|id| format!("`{}`", name(id))).collect();
        listed(&names).unwrap_or_else(|| "something that switches".to_string())
    }

    /// The changes that lead to a state: `after alarm on, then alarm off`. `None` if the exploration has none.
    pub fn way_to(&self, exploration: &Exploration, state: &State) -> Option<String> {
        let model = self.solved.model;
        let circuit = &self.solved.assembly.circuit;
        let words = |step: Move| match step {
            Move::Connect => "the battery connected".to_string(),
            Move::Input(input, at) => {
                let input = &model.inputs[input.index()];
                format!("{} {}", input.name, input.positions[usize::from(at)])
            }
            Move::Elapsed(actor) => format!("the time of {} over", circuit.actors[actor.index()].name),
            Move::PowerLoss => "the supply lost and back".to_string(),
        };
        let way: Vec<String> = exploration.way_to(state)?.into_iter().map(words).collect();
        Some(if way.is_empty() { "from the start".to_string() } else { format!("after {}", way.join(", then ")) })
    }

    /// The inputs that are away from rest: `reverse on, key run`.
    pub fn positions(&self, state: &State) -> String {
        let at = |i: usize| usize::from(state.positions.0[i]);
        let inputs = self.solved.model.inputs.iter().enumerate().filter(|(i, _)| at(*i) != 0);
        let away: Vec<String> = inputs.map(|(i, input)| format!("{} {}", input.name, input.positions[at(i)])).collect();
        if away.is_empty() { "at rest".to_string() } else { away.join(", ") }
    }
}
