//! What the actors do next.

use super::plan::EliminationPlan;
use super::settle::Solver;
use circuit::{ActorId, ActorRule, Circuit, Corner, Logic, Memory, Senses};

/// A threshold counts as reached when this little is missing, so that rounding doesn't decide.
const THRESHOLD_SLACK: f64 = 1e-4;

/// A threshold at one corner.
#[derive(Debug, Clone, Copy)]
pub struct Threshold {
    actor: u32,
    pub nodes: [usize; 2],
    /// Columns, the last one being the battery's negative.
    pub plus: u32,
    pub minus: u32,
    on: f64,
    off: f64,
    pub senses: Senses,
    always_powered: bool,
}

impl Threshold {
    pub fn all(circuit: &Circuit, corner: Corner, plan: &EliminationPlan) -> Vec<Threshold> {
        let copper_factor = corner.copper_factor(circuit);
        let column = |node: usize| plan.column_of[node].min(plan.columns as u32);
        let watches = circuit.actors.iter().enumerate().filter_map(|(i, actor)| match &actor.rule {
            ActorRule::Threshold { plus, minus, on, off, senses } => {
                let factor =
                    if senses.is_coil() { copper_factor } else { 1.0 } * corner.tolerance_factor(actor.tolerance);
                Some(Threshold {
                    actor: i as u32,
                    nodes: [plus.index(), minus.index()],
                    plus: column(plus.index()),
                    minus: column(minus.index()),
                    on: on.value() * factor - THRESHOLD_SLACK,
                    off: off.value() * factor + THRESHOLD_SLACK,
                    senses: *senses,
                    always_powered: actor.powered == Logic::Always,
                })
            }
            _ => None,
        });
        watches.collect()
    }

    pub fn id(&self) -> ActorId {
        ActorId(self.actor)
    }

    pub fn decides(&self, volts: f64, was_on: bool) -> bool {
        let volts = if self.senses.is_coil() { volts.abs() } else { volts };
        volts >= self.on || (volts > self.off && was_on)
    }

    /// Whether some voltages between these decide one way and some the other. A coil goes by the size of its voltage, so
    /// the one nearest to nought is looked at too.
    pub fn may_decide_both(&self, [low, high]: [f64; 2], was_on: bool) -> bool {
        let all = [low, high, 0.0_f64.clamp(low, high)].map(|volts| self.decides(volts, was_on));
        all[1..].iter().any(|on| *on != all[0])
    }
}

impl Solver<'_> {
    /// What every actor would be next, with the voltages and the actors as they are.
    pub fn step(&mut self) {
        let mut next = std::mem::replace(&mut self.next, Memory { words: vec![] });
        next.words.copy_from_slice(&self.state.memory.words);
        let mut surroundings = self.surroundings.take();
        let in_doubt = surroundings.as_mut().map_or(vec![], |surroundings| surroundings.in_doubt(self));
        let watches = std::mem::take(&mut self.watches);
        for watch in &watches {
            let id = watch.id();
            let volts = self.seen_volts(watch);
            let was_on = self.state.memory.on(id);
            let on = watch.decides(volts, was_on);
            let on = on && self.is_powered(watch);
            next.set_on(id, on);
            next.set_was(id, watch.senses == Senses::Each && self.changes_in_phases(id, on));
        }
        self.watches = watches;
        if self.watches.len() < self.circuit.actors.len() {
            for (i, actor) in self.circuit.actors.iter().enumerate() {
                let id = ActorId(i as u32);
                if !matches!(actor.rule, ActorRule::Threshold { .. }) {
                    let (on, was) =
                        if self.state.holds(&actor.powered) { self.moved(id, &actor.rule) } else { (false, false) };
                    next.set_on(id, on);
                    next.set_was(id, was);
                }
            }
        }
        self.next = next;
        if let (Some(surroundings), false) = (&mut surroundings, in_doubt.is_empty()) {
            surroundings.found().doubt(&in_doubt, &self.state, &self.next);
        }
        self.surroundings = surroundings;
    }

    /// The voltage of a threshold in this phase.
    pub fn own_volts(&self, watch: &Threshold) -> f64 {
        self.column_volts(watch.plus) - self.column_volts(watch.minus)
    }

    pub fn is_powered(&self, watch: &Threshold) -> bool {
        watch.always_powered || self.state.holds(&self.circuit.actors[watch.actor as usize].powered)
    }

    fn moved(&self, id: ActorId, rule: &ActorRule) -> (bool, bool) {
        let (on, was) = (self.state.memory.on(id), self.state.memory.was(id));
        // A pulse is enough to start or to set; what has to last must hold between pulses as well.
        let comes = |logic| self.holds_once(logic);
        match rule {
            ActorRule::Threshold { .. } => (on, false),
            ActorRule::Latch { set, reset } => (!comes(reset) && (on || comes(set)), false),
            ActorRule::Toggle { start } => (on ^ (comes(start) && !was), comes(start)),
            ActorRule::Hold { start } => (on || comes(start), false),
            ActorRule::Delay { start } => (on && self.holds_throughout(start), false),
            ActorRule::Pulse { start } => (on || (comes(start) && !was), comes(start)),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::Solver;
    use circuit::{ActorRule, Circuit, Corner, Law, NEGATIVE, Senses, State};
    use quantity::{Ohms, Volts};

    /// A coil crossed pulls in; a trigger input crossed does not.
    #[test]
    fn a_coil_moves_whichever_way_its_current_goes() {
        let mut circuit = Circuit::new();
        let plus = circuit.node("battery +");
        circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.0); 3], ohms: Ohms::new(0.01) });
        circuit.branch("coil", plus, NEGATIVE, Law::Conductor { ohms: Ohms::new(90.0), copper: true });
        let crossed = |senses| ActorRule::Threshold {
            plus: NEGATIVE,
            minus: plus,
            on: Volts::new(7.2),
            off: Volts::new(1.2),
            senses,
        };
        let coil = circuit.actor("K1", crossed(Senses::Coil));
        let sense = circuit.actor("REV", crossed(Senses::Each));
        let settled = Solver::new(&circuit, Corner::NOMINAL).settle(&State::at_rest(&circuit)).settled().unwrap();
        assert!(settled.on(coil) && !settled.on(sense));
    }
}
