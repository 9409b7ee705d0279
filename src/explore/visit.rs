//! Every state of an exploration, solved and shown.

use super::exploration::{Exploration, Inside};
use super::question::About;
use super::reach::Reached;
use circuit::{Circuit, Known, Position, Positions, Solution, State};
use engine::{Ending, Settler};
use std::borrow::Cow;
use std::sync::Arc;

/// Most voltages and currents, of all states together, that an exploration keeps at once: 16 MB, more with pulses.
const MOST_KEPT: usize = 1 << 21;

impl Exploration {
    /// Shows solved, reachable states of the whole circuit in a steady order.
    ///
    /// In a circuit explored as a whole these are all of them. In one explored in zones, each zone is shown in all of
    /// its own states, with the rest of the circuit at its lowest and at its highest current: so the worst of one node,
    /// branch or actor is among the states shown. A question about several at once needs
    /// [`visit_about`](Self::visit_about).
    pub fn visit(&self, circuit: &Circuit, each: &mut dyn FnMut(&Solution)) {
        match &self.inside {
            Inside::Whole(reach) => self.show_whole(circuit, &reach.states, each),
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

    /// Like [`visit`](Self::visit), in the order that is quickest to solve, and without keeping the solutions.
    pub fn visit_in_any_order(&self, circuit: &Circuit, each: &mut dyn FnMut(&Solution)) {
        let Inside::Whole(reach) = &self.inside else { return self.visit(circuit, each) };
        if self.shown.get().is_some() {
            return self.visit(circuit, each);
        }
        let mut settler = Settler::new(circuit, &self.plan, self.corner);
        let mut solution = None;
        solve_each(&mut settler, &reach.states, &mut |_, settler| {
            let solution = solution.get_or_insert_with(|| settler.solution());
            settler.solution_into(solution);
            each(solution);
        });
    }

    /// Shows every state of a circuit that is explored as a whole, in the order found. The solutions are kept if they are
    /// few enough; if not, they are found block by block.
    fn show_whole(&self, circuit: &Circuit, states: &[Reached], each: &mut dyn FnMut(&Solution)) {
        let block = (MOST_KEPT / (circuit.nodes.len() + circuit.branches.len())).max(1);
        let mut settler = None;
        let mut solve = |states: &[Reached]| {
            solutions(settler.get_or_insert_with(|| Settler::new(circuit, &self.plan, self.corner)), states)
        };
        if states.len() <= block {
            return self.shown.get_or_init(|| Arc::new(solve(states))).iter().for_each(each);
        }
        states.chunks(block).for_each(|states| solve(states).iter().for_each(&mut *each));
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

/// The solutions of all states that settle to themselves, in the order of the states.
fn solutions(settler: &mut Settler, states: &[Reached]) -> Vec<Solution> {
    let mut solved: Vec<Option<Solution>> = vec![None; states.len()];
    solve_each(settler, states, &mut |at, settler| solved[at] = Some(settler.solution()));
    solved.into_iter().flatten().collect()
}

/// Solves each state that settles to itself, in the order of a Gray code: one input moves from state to state, and each
/// solution starts from the one before. `each` gets the place of the state among the states.
fn solve_each(settler: &mut Settler, states: &[Reached], each: &mut dyn FnMut(usize, &mut Settler)) {
    let mut order: Vec<usize> = (0..states.len()).collect();
    order.sort_by_cached_key(|at| gray_code(settler.circuit(), &states[*at].state.positions));
    for at in order {
        let state = &states[at].state;
        if settler.run(state) == Ending::Settled && settler.state() == state {
            each(at, settler);
        }
    }
}

/// The place of positions in the reflected Gray code (Knuth, The Art of Computer Programming, 7.2.1.1): where the sum of
/// the positions before is odd, a digit counts down.
fn gray_code(circuit: &Circuit, positions: &Positions) -> Vec<Position> {
    let mut down = false;
    let digits = circuit.inputs.iter().zip(&positions.0).map(|(input, at)| {
        let last = input.each_position().end.saturating_sub(1);
        let digit = if down { last - at } else { *at };
        down ^= at % 2 == 1;
        digit
    });
    digits.collect()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_input_moves_by_one_position_at_a_time() {
        for sizes in [vec![2, 2, 2, 2], vec![2, 3, 2], vec![3, 3, 3], vec![4, 1, 3, 2], vec![3, 2, 5]] {
            let mut circuit = Circuit::new();
            for (i, size) in sizes.iter().enumerate() {
                circuit.input(format!("{i}"), &["a", "b", "c", "d", "e"][..*size]);
            }
            let mut all = vec![Positions::at_rest(&circuit)];
            for (i, size) in sizes.iter().enumerate() {
                let each =
                    |p: Positions| (0..*size as Position).map(move |at| p.clone().with(circuit::InputId(i as u32), at));
                all = all.into_iter().flat_map(each).collect();
            }
            all.sort_by_cached_key(|positions| gray_code(&circuit, positions));
            assert_eq!(all.len(), sizes.iter().product::<usize>());
            for pair in all.windows(2) {
                let apart = pair[0].0.iter().zip(&pair[1].0).map(|(a, b)| a.abs_diff(*b)).sum::<Position>();
                assert_eq!(apart, 1, "{pair:?} of {sizes:?}");
            }
        }
    }
}
