//! A first guess of the trunk's levels, from what the zones draw in a few of their states.

use super::apart::{Zone, Zones};
use super::trunk::{Levels, Trunk};
use circuit::{Corner, InputId, State};
use engine::{EliminationPlan, Ending, Settler};
use std::sync::Arc;

/// The levels are guessed further apart than the voltages found: by this share, and by these volts.
const SPARE_SHARE: f64 = 0.2;
const SPARE_VOLTS: f64 = 0.04;

/// What all zones were seen to draw at one combination of the masters, least and most, by trunk node.
type Seen = Vec<[f64; 2]>;

/// Levels at each combination that are likely to hold. They are proved later, or replaced.
pub(crate) fn first_levels(
    zones: &Zones,
    trunks: &[Trunk],
    plans: &[Arc<EliminationPlan>],
    corner: Corner,
) -> Vec<Levels> {
    let unloaded: Vec<Vec<f64>> = trunks.iter().map(Trunk::unloaded).collect();
    let mut seen: Vec<Seen> = vec![vec![[0.0; 2]; zones.trunk.len()]; trunks.len()];
    for (zone, plan) in zones.zones.iter().zip(plans) {
        let held = zone.held(zone.circuit.clone(), &unloaded);
        let mut settler = Settler::new(&held, plan, corner);
        for (combination, seen) in seen.iter_mut().enumerate() {
            for ((_, at), own) in zone.terminals.iter().zip(probe(zones, zone, &mut settler, combination)) {
                seen[*at] = [seen[*at][0] + own[0], seen[*at][1] + own[1]];
            }
        }
    }
    let each = trunks.iter().zip(&unloaded).zip(&seen).map(|((trunk, unloaded), seen)| {
        let at = |end: usize| {
            let amps: Vec<f64> = seen.iter().map(|seen| seen[end]).collect();
            trunk.moved(unloaded, &trunk.left_over(unloaded, &amps), &vec![0.0; amps.len()])
        };
        let (high, low) = (at(0), at(1));
        let ends =
            low.iter().zip(&high).zip(unloaded).zip(&trunk.floating).map(|(((low, high), unloaded), floating)| {
                // Currents into a floating node don't show its voltage.
                let [low, high] = if *floating { [*unloaded; 2] } else { [*low, *high] };
                let spare = SPARE_SHARE * (high - low).abs() + SPARE_VOLTS;
                (low - spare, high + spare)
            });
        let (low, high) = ends.unzip();
        Levels { low, high }
    });
    each.collect()
}

/// What a zone draws from each terminal, least and most, while one input after the other is put where most is drawn.
fn probe(zones: &Zones, zone: &Zone, settler: &mut Settler, combination: usize) -> Seen {
    let plan = settler.network().plan();
    let columns: Vec<u32> = zone.terminals.iter().map(|(node, _)| plan.column_of[node.index()]).collect();
    let mut state = State::at_rest(&zone.circuit);
    let masters = zones.combinations.positions(combination);
    state.positions.0[..masters.len()].copy_from_slice(&masters);
    let mut seen: Seen = vec![[f64::INFINITY, f64::NEG_INFINITY]; columns.len()];
    let mut most = 0.0;
    let mut look = |state: &State, seen: &mut Seen| {
        let settled = (settler.run(state) == Ending::Settled).then(|| settler.state().clone())?;
        let amps = settler.network_mut().drawn(&columns, &(zone.branches.len()..usize::MAX));
        seen.iter_mut().zip(&amps).for_each(|(seen, amps)| *seen = [seen[0].min(*amps), seen[1].max(*amps)]);
        Some((settled, amps.iter().map(|amps| amps.abs()).sum::<f64>()))
    };
    look(&state, &mut seen);
    for input in masters.len()..zone.inputs.len() {
        for position in 1..circuit::position(zone.circuit.inputs[input].positions.len()) {
            let Some(positions) = state.positions.moved(&zone.circuit, InputId(input as u32), position) else {
                continue;
            };
            let tried = State { positions, memory: state.memory.clone() };
            if let Some((settled, amps)) = look(&tried, &mut seen)
                && amps > most
            {
                (state, most) = (settled, amps);
            }
        }
    }
    seen.iter().map(|[least, most]| if least <= most { [*least, *most] } else { [0.0; 2] }).collect()
}
