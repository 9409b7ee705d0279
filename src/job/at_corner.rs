//! A state that was found at nominal supply, at another corner.

use crate::Stop;
use circuit::{ActorId, Circuit, Corner, Solution, State};
use engine::Solver;
use explore::{Watch, explore_all};
use states::{Asked, Wiring};

/// The state with the same inputs and the nearest memory among all states that the corner can reach.
pub(crate) fn at_corner(wiring: &Wiring, asked: &Asked, corner: Corner, watch: Watch) -> Result<Solution, Stop> {
    if corner == asked.solution.corner {
        return Ok(asked.solution.clone());
    }
    let circuit = &wiring.assembly.circuit;
    let wanted = &asked.solution.state;
    let exploration = explore_all(circuit, &[corner], watch)?.remove(0);
    let mut nearest: Option<([usize; 2], Solution)> = None;
    exploration.visit(circuit, &mut |solution| {
        if solution.state.positions == wanted.positions {
            let far = differences(circuit, wanted, &solution.state);
            if nearest.as_ref().is_none_or(|(least, _)| far < *least) {
                nearest = Some((far, solution.clone()));
            }
        }
    });
    // An exploration in parts does not visit every combination: settle this one, with its latches and timers as they
    // are and everything else from rest.
    if nearest.is_none() && exploration.zones() > 1 {
        let mut start = wanted.clone();
        for (i, _) in circuit.actors.iter().enumerate().filter(|(_, actor)| !actor.rule.is_memory()) {
            start.memory.set_on(ActorId(i as u32), false);
        }
        let settled = Solver::new(circuit, corner).settle(&start).settled();
        nearest = settled.map(|solution| (differences(circuit, wanted, &solution.state), solution));
    }
    match nearest {
        Some(([0, _], solution)) => Ok(solution),
        _ => Err(Stop::Because(format!(
            "`{}` is never reached at {corner}: its memory differs there, or it doesn't settle",
            asked.name
        ))),
    }
}

/// How many latches, timers and toggles differ between two states, then how many other relays and trigger inputs.
fn differences(circuit: &Circuit, one: &State, other: &State) -> [usize; 2] {
    let mut differ = [0; 2];
    for (i, actor) in circuit.actors.iter().enumerate() {
        let on = |state: &State| state.memory.on(ActorId(i as u32));
        differ[usize::from(!actor.rule.is_memory())] += usize::from(on(one) != on(other));
    }
    differ
}
