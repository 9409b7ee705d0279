//! Worst currents, held to every state at every corner.

use crate::Facts;
use circuit::{BranchId, Corner};
use explore::{explore_all, unwatched};
use model::{ElementId, ElementKind};
use quantity::Amps;
use size::opens_a_fuse;
use states::Solved;

/// No state at any of the six corners has more in a branch than the worst value of it.
#[test]
fn no_corner_has_more() {
    for demo in sample::DEMOS {
        let model = sample::demo(demo);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let circuit = &solved.assembly.circuit;
        let mut most = vec![Amps::default(); circuit.branches.len()];
        for exploration in explore_all(circuit, &Corner::ALL, &unwatched).unwrap() {
            exploration.visit(circuit, &mut |solution| {
                if !opens_a_fuse(&model, &solved.assembly, solution) {
                    for (k, most) in most.iter_mut().enumerate() {
                        *most = most.max(solution.amps(BranchId(k as u32)).abs());
                    }
                }
            });
        }
        for (k, most) in most.iter().enumerate() {
            let known = facts.worst().amps(BranchId(k as u32)).map_or(Amps::default(), |peak| peak.value);
            let name = &circuit.branches[k].name;
            let missed = most.value() - known.value();
            assert!(missed <= 1e-3 * most.value() + 1e-5, "{demo}: {name} has {most}, known {known}");
        }
    }
}

/// The battery at its lowest leaves a converter below its working voltage in one state; with its supply off it is not fed.
#[test]
fn the_lowest_voltage_of_a_converter_is_one_at_which_it_is_fed() {
    let text = "harness: 1\njob: {title: Truck, nominal: 24 V}\nplaces: [dash]\n\
        supplies:\n  battery: {terminal: \"30\", at: dash, volts: [17 V, 25.2 V, 28.8 V]}\n  \
        run: {terminal: \"15\", at: dash, follows: key}\n\
        grounds: {GND: {at: dash}}\ninputs: {key: {positions: [off, run]}}\n\
        parts:\n  F1: {use: fuse-blade, rating: 5 A, at: dash}\n  PS1: {use: converter-24-12-5a, at: dash}\n  \
        BZ: {use: buzzer-12v, at: dash}\nwires:\n  - {id: 1, from: run, to: F1.1}\n  - {id: 2, from: F1.2, to: PS1.in}\n  \
        - {id: 3, from: PS1.ground, to: GND}\n  - {id: 4, from: PS1.out, to: BZ.power}\n  - {id: 5, from: BZ.ground, to: GND}\n";
    let model = sample::of_text("small.yaml", text).unwrap_or_else(|problems| panic!("{problems}"));
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let is_converter = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Converter { .. });
    let converter = (0..model.elements.len()).map(ElementId).find(is_converter).unwrap();
    let lowest = facts.worst().lowest(converter).map(|peak| peak.value.value()).fold(f64::INFINITY, f64::min);
    assert!((16.5..17.0).contains(&lowest), "{lowest} V");
}
