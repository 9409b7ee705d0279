//! Circuits explored zone by zone, against the same circuits explored as a whole.

use crate::exploration::{doubts, in_zones};
use crate::zones::Doubts;
use crate::*;
use circuit::*;
use engine::{EliminationPlan, Solver};
use quantity::{Amps, Ohms, Volts, Watts};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A vehicle: a battery, a key that feeds an accessory bus, and `groups` of a key-fed trigger, an always live one, a
/// relay on each with a diode between them, cameras, lamps and amplifiers.
fn vehicle(groups: usize) -> Circuit {
    let mut circuit = Circuit::new();
    let (plus, bus, accessory, chassis) =
        (circuit.node("plus"), circuit.node("bus"), circuit.node("accessory"), circuit.node("chassis"));
    let volts = [11.8, 12.6, 14.6].map(Volts::new);
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: Ohms::new(0.012) });
    circuit.resistor("main fuse", plus, bus, Ohms::new(0.006));
    circuit.resistor("chassis", chassis, NEGATIVE, Ohms::new(0.003));
    let key = circuit.input("key", &["off", "run"]);
    let closed = |ohms: f64| Law::Conductor { ohms: Ohms::new(ohms), copper: false };
    circuit.switched("key", bus, accessory, closed(0.02), Logic::At(key, 1));
    for g in 0..groups {
        let reverse = circuit.input(format!("reverse {g}"), &["off", "on"]);
        circuit.inputs[reverse.index()].needs = Logic::At(key, 1);
        let hazard = circuit.input(format!("hazard {g}"), &["off", "on"]);
        let names = ["tap 1", "tap 2", "coil 1", "coil 2", "made", "load", "ground", "made 2"];
        let [tap1, tap2, coil1, coil2, made, load, ground, made2] = names.map(|n| circuit.node(format!("{n} of {g}")));
        circuit.switched("feed 1", accessory, tap1, closed(0.05), Logic::At(reverse, 1));
        circuit.switched("feed 2", bus, tap2, closed(0.05), Logic::At(hazard, 1));
        circuit.branch("lamp 1", tap1, chassis, Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) });
        circuit.branch("lamp 2", tap2, chassis, Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) });
        let diode = Law::Diode { knee: Volts::new(0.65), ohms: Ohms::new(0.05), zener: None };
        circuit.branch("D1", tap1, coil1, diode.clone());
        circuit.branch("D2", tap2, coil1, diode);
        circuit.resistor("wire", tap2, coil2, Ohms::new(0.1));
        let mut relay = |name: &str, plus: NodeId| {
            circuit.resistor(format!("{name} {g}"), plus, ground, Ohms::new(90.0));
            let (on, off) = (Volts::new(7.2), Volts::new(1.2));
            circuit.actor(
                format!("{name} {g}"),
                ActorRule::Threshold { plus, minus: ground, on, off, senses: Senses::Coil },
            )
        };
        let (k1, k2) = (relay("K1", coil1), relay("K2", coil2));
        circuit.resistor("ground", ground, chassis, Ohms::new(0.02));
        circuit.switched("K1 30-87", accessory, made, closed(0.01), Logic::On(k1));
        circuit.switched("K2 30-87", bus, made2, closed(0.01), Logic::On(k2));
        circuit.resistor("wire", made, load, Ohms::new(0.15));
        circuit.branch("camera", load, ground, Law::Current { amps: Amps::new(0.12), least: Volts::new(9.0) });
        let law = Law::Power { watts: Watts::new(20.0), least: Volts::new(9.0) };
        circuit.branch("amplifier", made2, chassis, law);
        let works = ActorRule::Threshold {
            plus: load,
            minus: ground,
            on: Volts::new(9.0),
            off: Volts::new(9.0),
            senses: Senses::Least,
        };
        circuit.actor(format!("camera {g}"), works);
    }
    circuit
}

fn both(circuit: &Circuit, corner: Corner) -> (Exploration, Exploration) {
    let plan = Arc::new(EliminationPlan::new(circuit));
    let zones = in_zones(circuit, &plan, corner, Doubts::Refused).unwrap().expect("it splits");
    (explore(circuit, corner), zones)
}

fn volts_and_amps(solution: &Solution) -> impl Iterator<Item = f64> {
    let volts = solution.each_volts().iter().map(|volts| volts.value());
    volts.chain(solution.each_amps().iter().map(|amps| amps.value()))
}

/// Lowest and highest of every voltage and current that is shown.
fn extremes(circuit: &Circuit, exploration: &Exploration) -> Vec<[f64; 2]> {
    let mut all = vec![[f64::INFINITY, f64::NEG_INFINITY]; circuit.nodes.len() + circuit.branches.len()];
    exploration.visit(circuit, &mut |solution| {
        for (range, value) in all.iter_mut().zip(volts_and_amps(solution)) {
            *range = [range[0].min(value), range[1].max(value)];
        }
    });
    all
}

fn agree(circuit: &Circuit, corner: Corner, zones: usize) {
    let (whole, split) = both(circuit, corner);
    assert_eq!(split.zones(), zones);
    assert_eq!(split.count(), whole.count());
    split.visit(circuit, &mut |solution| assert!(whole.way_to(&solution.state).is_some()));
    let names = circuit.nodes.iter().chain(circuit.branches.iter().map(|branch| &branch.name));
    let ranges = extremes(circuit, &whole).into_iter().zip(extremes(circuit, &split));
    for (name, (whole, split)) in names.zip(ranges) {
        for (a, b) in whole.iter().zip(split) {
            assert!((a - b).abs() <= 1e-6 * a.abs().max(1.0), "{name}: {whole:?} as a whole, {split:?} in zones");
        }
    }
    // Every state of the whole has a way in zones, and that way leads there.
    let mut solver = Solver::new(circuit, corner);
    let mut states = vec![];
    whole.visit(circuit, &mut |solution| states.push(solution.state.clone()));
    for target in states.iter().step_by(7) {
        let mut state = split.first().clone();
        for step in split.way_to(target).unwrap() {
            let Move::Input(input, position) = step else { panic!("{step:?}") };
            state.positions = state.positions.moved(circuit, input, position).unwrap();
            state = solver.settle(&state).settled().unwrap().state;
        }
        assert_eq!(&state, target);
    }
}

#[test]
fn zones_have_the_states_of_the_whole() {
    // The key takes every group with it; without it the accessory bus is dead, and only hazards are left.
    for corner in [Corner::NOMINAL, Corner::ALL[1], Corner::ALL[4]] {
        agree(&vehicle(3), corner, 3);
    }
}

/// Feeds that are driven with pulses: coils go by the mean, which depends on the current of all zones in each phase.
#[test]
fn zones_with_pulses_have_the_states_of_the_whole() {
    let mut circuit = vehicle(3);
    let duty = "70..90 %".parse().unwrap();
    for branch in circuit.branches.iter_mut().filter(|branch| branch.name == "feed 1") {
        branch.law = Law::Pulsed { ohms: Ohms::new(0.05), duty };
    }
    for corner in [Corner::NOMINAL, Corner::ALL[1], Corner::ALL[4]] {
        let mut pulses = 0;
        explore(&circuit, corner).visit(&circuit, &mut |solution| pulses += usize::from(solution.has_pulses()));
        assert!(pulses > 0);
        agree(&circuit, corner, 3);
    }
}

/// Amplifiers whose lowest voltage is within the range of the supply draw most at a voltage within that range: a small
/// circuit then stays whole, and a large one is reported as bounded.
#[test]
fn loads_near_their_least_voltage_are_whole_or_bounded() {
    let near = |groups: usize| {
        let mut circuit = vehicle(groups);
        for branch in &mut circuit.branches {
            if let Law::Power { least, .. } = &mut branch.law {
                *least = Volts::new(12.3);
            }
        }
        let plan = Arc::new(EliminationPlan::new(&circuit));
        in_zones(&circuit, &plan, Corner::NOMINAL, doubts(&circuit)).unwrap()
    };
    assert!(near(3).is_none());
    let large = near(9).expect("it splits");
    assert_eq!((large.zones(), large.is_bounded()), (9, true));
}

#[path = "../../../benches/vehicle/mod.rs"]
mod bench;

#[test]
fn the_bench_vehicle_in_zones() {
    agree(&bench::vehicle(7, 2, 0), Corner::NOMINAL, 4);
}

#[test]
fn a_question_about_two_parts_meets_every_combination() {
    let circuit = vehicle(3);
    let (whole, split) = both(&circuit, Corner::NOMINAL);
    let about = About {
        inputs: vec![InputId(1), InputId(3)],
        actors: ["K1 0", "K2 1"].map(|name| circuit.actor_named(name).unwrap()).to_vec(),
        ..About::default()
    };
    let aspect = |solution: &Solution| {
        let positions: Vec<Position> = about.inputs.iter().map(|id| solution.position(*id)).collect();
        (positions, about.actors.iter().map(|id| solution.on(*id)).collect::<Vec<bool>>())
    };
    let (mut all, mut shown) = (BTreeSet::new(), BTreeSet::new());
    whole.visit(&circuit, &mut |solution| _ = all.insert(aspect(solution)));
    split.visit_about(&circuit, &about, &mut |solution| _ = shown.insert(aspect(solution)));
    assert_eq!(all, shown);
}

/// The simplest states of zones are those of the whole with the fewest inputs away from rest.
#[test]
fn the_simplest_states_come_first() {
    let circuit = vehicle(3);
    let (whole, split) = both(&circuit, Corner::NOMINAL);
    let away = |solution: &Solution| solution.state.positions.away();
    let about = About { inputs: (0..circuit.inputs.len() as u32).map(InputId).collect(), ..About::default() };
    let mut all = vec![];
    whole.visit(&circuit, &mut |solution| all.push((away(solution), solution.state.clone())));
    all.sort();
    for most in [1, 8, 29, 1000] {
        let mut shown = vec![];
        split.visit_simplest(&circuit, &about, most, &mut |solution| {
            shown.push((away(solution), solution.state.clone()))
        });
        assert!(shown.is_sorted_by_key(|one| one.0));
        assert_eq!(
            shown.iter().map(|one| one.0).collect::<Vec<_>>(),
            all.iter().map(|one| one.0).take(most).collect::<Vec<_>>()
        );
        assert!(shown.iter().all(|one| all.binary_search(one).is_ok()));
    }
}

/// A relay that pulls in or not depending on what the other zones draw: the zones aren't independent, and that is seen.
#[test]
fn a_doubtful_relay_is_not_split() {
    let mut circuit = vehicle(2);
    let k1 = circuit.actor_named("K1 0").unwrap();
    // What the coil has with everything else off, less 20 mV.
    let exploration = explore(&circuit, Corner::NOMINAL);
    let mut greatest: f64 = 0.0;
    let ActorRule::Threshold { plus, minus, .. } = circuit.actors[k1.index()].rule else { panic!() };
    exploration.visit(&circuit, &mut |s| greatest = greatest.max((s.volts(plus) - s.volts(minus)).value()));
    if let ActorRule::Threshold { on, .. } = &mut circuit.actors[k1.index()].rule {
        *on = Volts::new(greatest - 0.02);
    }
    let plan = Arc::new(EliminationPlan::new(&circuit));
    assert!(in_zones(&circuit, &plan, Corner::NOMINAL, Doubts::Refused).unwrap().is_none());
}

/// An accessory bus that is dead with other loads on it, fed from behind by a load in every zone: 6 Ω to ground hold it,
/// so it is neither trunk nor floating.
#[test]
fn a_dead_bus_with_loads_on_it_is_the_same_in_zones() {
    let dead = |ohms: f64| {
        let mut circuit = vehicle(3);
        let accessory = circuit.node_named("accessory").unwrap();
        let key = circuit.input_named("key").unwrap();
        let loads = Law::Conductor { ohms: Ohms::new(6.0), copper: false };
        circuit.switched("other loads", accessory, NEGATIVE, loads, Logic::At(key, 1).negated());
        for g in 0..3 {
            let tap = circuit.node_named(&format!("tap 2 of {g}")).unwrap();
            circuit.resistor("sneak", tap, accessory, Ohms::new(ohms));
        }
        circuit
    };
    for corner in [Corner::NOMINAL, Corner::ALL[1], Corner::ALL[4]] {
        agree(&dead(300.0), corner, 3);
    }
}
