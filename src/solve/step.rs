//! What the actors do next.

use super::circuit::{ActorId, Circuit, Logic, Rule};
use super::corner::Corner;
use super::plan::Plan;
use super::settle::Solver;

/// A threshold counts as reached when this little is missing, so that rounding doesn't decide.
const THRESHOLD_SLACK: f64 = 1e-4;

/// A threshold at one corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Watch {
    actor: u32,
    /// Columns, the last one being the battery's negative.
    plus: u32,
    minus: u32,
    on: f64,
    off: f64,
    /// A coil moves whichever way its current goes.
    either_way: bool,
    always_powered: bool,
}

impl Watch {
    pub(super) fn all(circuit: &Circuit, corner: Corner, plan: &Plan) -> Vec<Watch> {
        let copper_factor = corner.copper_factor(circuit);
        let column = |node: usize| plan.column_of[node].min(plan.columns as u32);
        let watches = circuit.actors.iter().enumerate().filter_map(|(i, actor)| match &actor.rule {
            Rule::Threshold { plus, minus, on, off, copper } => {
                let factor = if *copper { copper_factor } else { 1.0 } * corner.tolerance_factor(actor.tolerance);
                Some(Watch {
                    actor: i as u32,
                    plus: column(plus.index()),
                    minus: column(minus.index()),
                    on: on.value() * factor - THRESHOLD_SLACK,
                    off: off.value() * factor + THRESHOLD_SLACK,
                    either_way: *copper,
                    always_powered: actor.powered == Logic::Always,
                })
            }
            _ => None,
        });
        watches.collect()
    }

    fn decides(&self, volts: f64, was_on: bool) -> bool {
        let volts = if self.either_way { volts.abs() } else { volts };
        volts >= self.on || (volts > self.off && was_on)
    }
}

impl Solver<'_> {
    /// What every actor would be next, with the voltages and the actors as they are.
    pub(super) fn step(&mut self) {
        let spread = if self.bounds.is_some() { self.spread(&mut vec![]) } else { None };
        let mut next = std::mem::replace(&mut self.next, super::Memory { words: vec![] });
        next.words.copy_from_slice(&self.state.memory.words);
        for watch in &self.watches {
            let id = ActorId(watch.actor);
            let volts = self.column_volts(watch.plus) - self.column_volts(watch.minus);
            let was_on = self.state.memory.on(id);
            let on = watch.decides(volts, was_on);
            if let Some(spread) = &spread {
                let off = spread.between(watch.plus, watch.minus);
                if watch.decides(volts - off, was_on) != on || watch.decides(volts + off, was_on) != on {
                    self.doubts.set_on(id, true);
                }
            }
            let powered = watch.always_powered || self.state.holds(&self.circuit.actors[id.index()].powered);
            next.set_on(id, on && powered);
        }
        if self.watches.len() < self.circuit.actors.len() {
            for (i, actor) in self.circuit.actors.iter().enumerate() {
                let id = ActorId(i as u32);
                if !matches!(actor.rule, Rule::Threshold { .. }) {
                    let (on, was) =
                        if self.state.holds(&actor.powered) { self.moved(id, &actor.rule) } else { (false, false) };
                    next.set_on(id, on);
                    next.set_was(id, was);
                }
            }
        }
        self.next = next;
    }

    /// Actors whose decision could have been another within the bounds, at any time.
    pub(super) fn doubtful_actors(&self) -> Vec<ActorId> {
        (0..self.circuit.actors.len() as u32).map(ActorId).filter(|id| self.doubts.on(*id)).collect()
    }

    fn moved(&self, id: ActorId, rule: &Rule) -> (bool, bool) {
        let state = &self.state;
        let (on, was) = (state.memory.on(id), state.memory.was(id));
        match rule {
            Rule::Threshold { .. } => (on, false),
            Rule::Latch { set, reset } => (!state.holds(reset) && (on || state.holds(set)), false),
            Rule::Toggle { start } => (on ^ (state.holds(start) && !was), state.holds(start)),
            Rule::Hold { start } => (on || state.holds(start), false),
            Rule::Delay { start } => (on && state.holds(start), false),
            Rule::Pulse { start } => (on || (state.holds(start) && !was), state.holds(start)),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::quantity::{Ohms, Volts};
    use crate::solve::{Circuit, Corner, Law, NEGATIVE, Rule, Solver, State};

    /// A coil crossed pulls in; a trigger input crossed does not.
    #[test]
    fn a_coil_moves_whichever_way_its_current_goes() {
        let mut circuit = Circuit::new();
        let plus = circuit.node("battery +");
        circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.0); 3], ohms: Ohms::new(0.01) });
        circuit.branch("coil", plus, NEGATIVE, Law::Conductor { ohms: Ohms::new(90.0), copper: true });
        let crossed =
            |copper| Rule::Threshold { plus: NEGATIVE, minus: plus, on: Volts::new(7.2), off: Volts::new(1.2), copper };
        let coil = circuit.actor("K1", crossed(true));
        let sense = circuit.actor("REV", crossed(false));
        let settled = Solver::new(&circuit, Corner::NOMINAL).settle(&State::at_rest(&circuit)).settled().unwrap();
        assert!(settled.on(coil) && !settled.on(sense));
    }
}
