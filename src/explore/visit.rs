//! Every state of an exploration, solved and shown.

use super::exploration::{Exploration, Inside};
use super::question::About;
use circuit::{Circuit, Known, Solution, State};
use engine::{Ending, Settler};
use std::borrow::Cow;
use std::sync::Arc;

/// Most voltages and currents, of all states together, that an exploration keeps once it has shown them: 8 MB, more with
/// pulses.
const MOST_KEPT: usize = 1 << 20;

impl Exploration {
    /// Shows solved, reachable states of the whole circuit in a steady order.
    ///
    /// In a circuit explored as a whole these are all of them. In one explored in zones, each zone is shown in all of
    /// its own states, with the rest of the circuit at its lowest and at its highest current: so the worst of one node,
    /// branch or actor is among the states shown. A question about several at once needs
    /// [`visit_about`](Self::visit_about).
    pub fn visit(&self, circuit: &Circuit, each: &mut dyn FnMut(&Solution)) {
        match &self.inside {
            Inside::Whole(reach) => {
                let states = reach.states.iter().map(|reached| Cow::Borrowed(&reached.state));
                if reach.states.len() * (circuit.nodes.len() + circuit.branches.len()) > MOST_KEPT {
                    return self.show(circuit, states, each);
                }
                let solved = || {
                    let mut all = vec![];
                    self.show(circuit, states, &mut |solution| all.push(solution.clone()));
                    Arc::new(all)
                };
                self.shown.get_or_init(solved).iter().for_each(each);
            }
            Inside::Zones(zoned) => self.show(circuit, zoned.worst(circuit).into_iter().map(Cow::Owned), each),
        }
    }

    /// Like [`visit`](Self::visit), for a question about several things at once: every combination of states that the
    /// zones with these things in them can be in together is shown, again with the rest at its lowest and highest
    /// current. States of a zone that only has inputs and actors of the question are shown once for each combination of
    /// those.
    pub fn visit_about(&self, circuit: &Circuit, about: &About, each: &mut dyn FnMut(&Solution)) {
        match &self.inside {
            Inside::Whole(_) => self.visit(circuit, each),
            Inside::Zones(zoned) => {
                self.show(circuit, zoned.worst_about(circuit, about).into_iter().map(Cow::Owned), each);
            }
        }
    }

    /// Like [`visit_about`](Self::visit_about), but shows at most `most` states of a circuit in zones, those with the
    /// fewest inputs away from rest: all combinations may be more than anybody could read.
    pub fn visit_simplest(&self, circuit: &Circuit, about: &About, most: usize, each: &mut dyn FnMut(&Solution)) {
        match &self.inside {
            Inside::Whole(_) => self.visit(circuit, each),
            Inside::Zones(zoned) => {
                self.show(circuit, zoned.simplest(circuit, about, most).into_iter().map(Cow::Owned), each);
            }
        }
    }

    fn show<'s>(
        &self,
        circuit: &Circuit,
        states: impl Iterator<Item = Cow<'s, State>>,
        each: &mut dyn FnMut(&Solution),
    ) {
        let mut settler = Settler::new(circuit, &self.plan, self.corner);
        let mut solution = None;
        let mut show = |settler: &mut Settler| {
            let solution = solution.get_or_insert_with(|| settler.solution());
            settler.solution_into(solution);
            each(solution);
        };
        let Inside::Zones(zoned) = &self.inside else { return settle_each(&mut settler, states, &mut show) };
        if zoned.doubtful.is_empty() {
            return settle_each(&mut settler, states, &mut show);
        }
        let mut shown = Known::default();
        for state in states.flat_map(|state| zoned.both_ways(&state)) {
            if settler.run(&state) == Ending::Settled && shown.insert(settler.state()) {
                show(&mut settler);
            }
        }
    }
}

/// Shows every state that settles to itself: one caught in a chatter is reachable, but has no solution.
fn settle_each<'s>(
    settler: &mut Settler,
    states: impl Iterator<Item = Cow<'s, State>>,
    show: &mut dyn FnMut(&mut Settler),
) {
    for state in states {
        if settler.run(&state) == Ending::Settled && *settler.state() == *state {
            show(settler);
        }
    }
}
