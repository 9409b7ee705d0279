//! What the actors do next.

use super::bounds::Spread;
use super::circuit::{ActorId, Circuit, Logic, Rule, Sees};
use super::corner::Corner;
use super::laws::Curve;
use super::plan::Plan;
use super::settle::Solver;
use super::state::State;

/// A threshold counts as reached when this little is missing, so that rounding doesn't decide.
const THRESHOLD_SLACK: f64 = 1e-4;

/// Of decisions in doubt at once, so many are taken both ways.
const MOST_IN_DOUBT: usize = 5;

/// States that could come next instead, the decisions in doubt taken otherwise.
#[derive(Debug, Clone, Default)]
pub(super) struct BothWays {
    pub next: Vec<State>,
    /// States that may stand as they are.
    pub stand: Vec<State>,
    /// More were in doubt at once than are followed.
    pub too_many: bool,
}

/// A threshold at one corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Watch {
    actor: u32,
    /// Columns, the last one being the battery's negative.
    pub plus: u32,
    pub minus: u32,
    on: f64,
    off: f64,
    pub sees: Sees,
    always_powered: bool,
}

impl Watch {
    pub(super) fn all(circuit: &Circuit, corner: Corner, plan: &Plan) -> Vec<Watch> {
        let copper_factor = corner.copper_factor(circuit);
        let column = |node: usize| plan.column_of[node].min(plan.columns as u32);
        let watches = circuit.actors.iter().enumerate().filter_map(|(i, actor)| match &actor.rule {
            Rule::Threshold { plus, minus, on, off, sees } => {
                let factor =
                    if sees.is_coil() { copper_factor } else { 1.0 } * corner.tolerance_factor(actor.tolerance);
                Some(Watch {
                    actor: i as u32,
                    plus: column(plus.index()),
                    minus: column(minus.index()),
                    on: on.value() * factor - THRESHOLD_SLACK,
                    off: off.value() * factor + THRESHOLD_SLACK,
                    sees: *sees,
                    always_powered: actor.powered == Logic::Always,
                })
            }
            _ => None,
        });
        watches.collect()
    }

    pub(super) fn id(&self) -> ActorId {
        ActorId(self.actor)
    }

    pub(super) fn decides(&self, volts: f64, was_on: bool) -> bool {
        let volts = if self.sees.is_coil() { volts.abs() } else { volts };
        volts >= self.on || (volts > self.off && was_on)
    }
}

impl Solver<'_> {
    /// What every actor would be next, with the voltages and the actors as they are.
    pub(super) fn step(&mut self) {
        let mut next = std::mem::replace(&mut self.next, super::Memory { words: vec![] });
        next.words.copy_from_slice(&self.state.memory.words);
        let watches = std::mem::take(&mut self.watches);
        // Without bounds there is none either.
        let spread = if self.surely_decides(&watches) { None } else { self.spread(&mut vec![]) };
        let in_phases = if spread.is_some() { self.off_in_phases(&watches) } else { vec![] };
        let mut in_doubt = vec![];
        for (n, watch) in watches.iter().enumerate() {
            let id = watch.id();
            let volts = self.seen_volts(watch);
            let was_on = self.state.memory.on(id);
            let on = watch.decides(volts, was_on);
            if let Some(spread) = &spread {
                let off = spread.between(watch.plus, watch.minus).max(in_phases[n]);
                if watch.decides(volts - off, was_on) != on || watch.decides(volts + off, was_on) != on {
                    self.doubts.set_on(id, true);
                    if self.is_powered(watch) {
                        in_doubt.push(id);
                    }
                }
            }
            let on = on && self.is_powered(watch);
            next.set_on(id, on);
            next.set_was(id, watch.sees == Sees::Each && self.changes_in_phases(id, on));
        }
        self.watches = watches;
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
        self.take_both_ways(&in_doubt);
        self.most_off = spread.as_ref().map_or(self.most_off, Spread::most);
        self.spread = spread;
    }

    /// Notes what comes next if some of these actors decide otherwise.
    fn take_both_ways(&mut self, in_doubt: &[ActorId]) {
        let Some(ways) = &mut self.both_ways else { return };
        ways.too_many |= in_doubt.len() > MOST_IN_DOUBT;
        let in_doubt = &in_doubt[..in_doubt.len().min(MOST_IN_DOUBT)];
        for choice in 1..1usize << in_doubt.len() {
            let mut memory = self.next.clone();
            for (_, id) in in_doubt.iter().enumerate().filter(|(i, _)| choice >> i & 1 == 1) {
                memory.set_on(*id, !memory.on(*id));
            }
            let stands = memory == self.state.memory;
            let state = State { positions: self.state.positions.clone(), memory };
            if stands { &mut ways.stand } else { &mut ways.next }.push(state);
        }
    }

    /// Whether every threshold decides the same, and every load stays on its curve, however far apart the terminals move
    /// any two nodes: a bound that takes no solution to find, and is mostly enough.
    fn surely_decides(&mut self, watches: &[Watch]) -> bool {
        let Some(bounds) = &self.bounds else { return true };
        let mut off = bounds.most(&self.state.positions.0);
        if self.chords || self.has_phases() {
            return false;
        }
        let mut slack = 0.0;
        for at in 0..self.curved.len() {
            let one = self.curved[at];
            let Some(moves) = self.power_moves(at, off) else { continue };
            if moves.turns || matches!(self.curves[one.branch as usize], Curve::Power { output: Some(_), .. }) {
                return false;
            }
            if moves.bend > 0.0 {
                slack += 2.0 * moves.bend * self.looks_into(one.from, one.to);
            }
        }
        off += slack;
        self.most_off = off;
        watches.iter().all(|watch| {
            let (volts, was_on) = (self.own_volts(watch), self.state.memory.on(watch.id()));
            watch.decides(volts - off, was_on) == watch.decides(volts + off, was_on)
        })
    }

    /// The voltage of a threshold in this phase.
    pub(super) fn own_volts(&self, watch: &Watch) -> f64 {
        self.column_volts(watch.plus) - self.column_volts(watch.minus)
    }

    pub(super) fn is_powered(&self, watch: &Watch) -> bool {
        watch.always_powered || self.state.holds(&self.circuit.actors[watch.actor as usize].powered)
    }

    /// Actors whose decision could have been another within the bounds, at any time.
    pub(super) fn doubtful_actors(&self) -> Vec<ActorId> {
        (0..self.circuit.actors.len() as u32).map(ActorId).filter(|id| self.doubts.on(*id)).collect()
    }

    fn moved(&self, id: ActorId, rule: &Rule) -> (bool, bool) {
        let (on, was) = (self.state.memory.on(id), self.state.memory.was(id));
        // A pulse is enough to start or to set; what has to last must hold between pulses as well.
        let comes = |logic| self.holds_once(logic);
        match rule {
            Rule::Threshold { .. } => (on, false),
            Rule::Latch { set, reset } => (!comes(reset) && (on || comes(set)), false),
            Rule::Toggle { start } => (on ^ (comes(start) && !was), comes(start)),
            Rule::Hold { start } => (on || comes(start), false),
            Rule::Delay { start } => (on && self.holds_throughout(start), false),
            Rule::Pulse { start } => (on || (comes(start) && !was), comes(start)),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{Circuit, Corner, Law, NEGATIVE, Rule, Sees, Solver, State};
    use quantity::{Ohms, Volts};

    /// A coil crossed pulls in; a trigger input crossed does not.
    #[test]
    fn a_coil_moves_whichever_way_its_current_goes() {
        let mut circuit = Circuit::new();
        let plus = circuit.node("battery +");
        circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.0); 3], ohms: Ohms::new(0.01) });
        circuit.branch("coil", plus, NEGATIVE, Law::Conductor { ohms: Ohms::new(90.0), copper: true });
        let crossed =
            |sees| Rule::Threshold { plus: NEGATIVE, minus: plus, on: Volts::new(7.2), off: Volts::new(1.2), sees };
        let coil = circuit.actor("K1", crossed(Sees::Coil));
        let sense = circuit.actor("REV", crossed(Sees::Each));
        let settled = Solver::new(&circuit, Corner::NOMINAL).settle(&State::at_rest(&circuit)).settled().unwrap();
        assert!(settled.on(coil) && !settled.on(sense));
    }
}
