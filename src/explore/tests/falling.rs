//! The falling lemma on random zones: however the terminals move within their bounds, no voltage moves more than it
//! says.

use super::without::{Numbers, groups};
use crate::zones::{FallingLoads, take_apart};
use circuit::*;
use engine::{EliminationPlan, Settler, Solver, Unobserved, settle};
use std::sync::Arc;

#[test]
fn no_voltage_moves_more_than_the_lemma_says() {
    let (mut bounded, mut refused, mut closest) = (0, 0, 0.0_f64);
    for seed in 0..60 {
        let (circuit, _) = groups(seed, [0.005, 0.05], [3.0, 9.0]);
        let Some(zones) = take_apart(&circuit, &vec![false; circuit.nodes.len()]) else { continue };
        let mut numbers = Numbers(seed);
        for zone in &zones.zones {
            let volts: Vec<f64> = zones
                .trunk
                .iter()
                .map(|node| if circuit.nodes[node.index()] == "chassis" { 0.1 } else { 12.0 })
                .collect();
            let off: Vec<f64> = volts.iter().map(|_| numbers.between(0.01, 0.4)).collect();
            let mut own: Vec<f64> = zone.terminals.iter().map(|(_, at)| off[*at]).collect();
            own.sort_by(f64::total_cmp);
            let moves: f64 = own.iter().rev().take(2).sum();
            let middle = zone.held(zone.circuit.clone(), &[&volts]);
            let falling = FallingLoads::new(zone, &zone.circuit, Corner::NOMINAL);
            let plan = Arc::new(EliminationPlan::new(&middle));
            let mut settler = Settler::new(&middle, &plan, Corner::NOMINAL);
            for choice in 0..4u16 {
                let mut state = State::at_rest(&zone.circuit);
                state.positions.0.iter_mut().enumerate().for_each(|(i, at)| *at = choice >> i & 1);
                let state =
                    settle(&mut settler, &state, &mut Unobserved).settled().map_or(state, |solution| solution.state);
                settler.go_to(&state);
                assert!(settler.solve().is_ok());
                let before = settler.solution();
                let Some(most) = falling.most_off(&mut settler, moves) else {
                    refused += 1;
                    continue;
                };
                for _ in 0..8 {
                    let moved: Vec<f64> = volts
                        .iter()
                        .zip(&off)
                        .map(|(volts, off)| volts + off * [-1.0, 0.3, 1.0][numbers.below(3)])
                        .collect();
                    let held = zone.held(zone.circuit.clone(), &[&moved]);
                    let after = Solver::new(&held, Corner::NOMINAL).hold(&state).unwrap().solution;
                    let nodes = || (0..zone.circuit.nodes.len() as u32).map(NodeId);
                    let by = nodes().map(|node| (after.volts(node) - before.volts(node)).value());
                    let (down, up) = by.fold((0.0_f64, 0.0_f64), |(down, up), by| (down.min(by), up.max(by)));
                    assert!(up - down <= most + 1e-6, "seed {seed}: {} V, not {most} V", up - down);
                    closest = closest.max((up - down) / most);
                    bounded += 1;
                }
            }
        }
    }
    assert!(
        bounded > 1000 && refused > 20 && closest > 0.9,
        "{bounded} compared, {refused} refused, {closest} at most"
    );
}
