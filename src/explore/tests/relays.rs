//! Textbook circuits of relays: what holds itself, what never rests, what remembers.

use super::by_hand::{battery, close, closed, ohms, settle, settled};
use crate::*;
use circuit::*;
use engine::Solver;
use quantity::{Amps, Share, Volts};

fn relay(circuit: &mut Circuit, name: &str, plus: NodeId, minus: NodeId) -> ActorId {
    circuit.resistor(format!("{name} coil"), plus, minus, ohms(90.0));
    let (on, off) = (Volts::new(7.2), Volts::new(1.2));
    circuit.actor(name, ActorRule::Threshold { plus, minus, on, off, senses: Senses::Mean })
}

/// A start button, a stop button, and a relay that holds itself: on or off depending on what was pressed last.
#[test]
fn relay_holds_itself() {
    let (mut circuit, plus) = battery();
    let start = circuit.input("start", &["off", "on"]);
    let stop = circuit.input("stop", &["off", "on"]);
    let (after_stop, coil) = (circuit.node("after stop"), circuit.node("K1.86"));
    let k1 = relay(&mut circuit, "K1", coil, NEGATIVE);
    circuit.switched("stop", plus, after_stop, closed(), Logic::At(stop, 0));
    circuit.switched("start", after_stop, coil, closed(), Logic::At(start, 1));
    circuit.switched("K1 30-87", after_stop, coil, closed(), Logic::On(k1));
    let exploration = explore(&circuit, Corner::NOMINAL);
    // At rest it is off or holds; with start it is on; with stop it is off, with or without start.
    assert_eq!(exploration.count(), 5);
    assert!(exploration.chatter.is_empty());
    assert_eq!(exploration.history.len(), 1);
    let history = &exploration.history[0];
    assert_eq!((&history.positions.0[..], &history.undeclared[..]), (&[0, 0][..], &[k1][..]));
    let held = history.states.iter().find(|state| state.memory.on(k1)).unwrap();
    assert_eq!(exploration.way_to(held).unwrap(), [Move::Input(start, 1), Move::Input(start, 0)]);
}

/// A relay that interrupts its own coil.
#[test]
fn buzzer() {
    let (mut circuit, plus) = battery();
    let on = circuit.input("on", &["off", "on"]);
    let (fed, coil) = (circuit.node("fed"), circuit.node("K1.86"));
    let k1 = relay(&mut circuit, "K1", coil, NEGATIVE);
    let idle = relay(&mut circuit, "K2", fed, NEGATIVE);
    circuit.switched("on", plus, fed, closed(), Logic::At(on, 1));
    circuit.switched("K1 30-87a", fed, coil, closed(), Logic::On(k1).negated());
    let Outcome::Chatter(chatter) = settle(&circuit, &[1]) else { panic!("it settled") };
    assert_eq!(chatter.actors, [k1]);
    assert!(chatter.rests.is_empty());
    assert!(chatter.round.iter().all(|one| one.on(idle)));
    let exploration = explore(&circuit, Corner::NOMINAL);
    assert_eq!(exploration.chatter.len(), 1);
}

/// Held still, the buzzer's relay always wants to be the other way; a settled state wants itself.
#[test]
fn a_held_state_tells_what_it_wants() {
    let (mut circuit, plus) = battery();
    let coil = circuit.node("K1.86");
    let k1 = relay(&mut circuit, "K1", coil, NEGATIVE);
    circuit.switched("K1 30-87a", plus, coil, closed(), Logic::On(k1).negated());
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    let mut state = State::at_rest(&circuit);
    for on in [false, true] {
        state.memory.set_on(k1, on);
        let held = solver.hold(&state).unwrap();
        assert_eq!(held.solution.state, state);
        assert_eq!(held.wants.on(k1), !on);
        // 12 V behind 0.1 Ω and the contact's 10 mΩ into 90 Ω; or nothing at all.
        close(held.solution.volts(coil).value(), if on { 0.0 } else { 12.0 * 90.0 / 90.11 });
    }
    let (mut circuit, plus) = battery();
    let k1 = relay(&mut circuit, "K1", plus, NEGATIVE);
    let settled = settled(&circuit, &[]);
    assert!(settled.on(k1));
    assert_eq!(Solver::new(&circuit, Corner::NOMINAL).hold(&settled.state).unwrap().wants, settled.state.memory);
}

/// Two relays, each fed through the other's rest contact: which one wins is a race.
#[test]
fn race() {
    let (mut circuit, plus) = battery();
    let on = circuit.input("on", &["off", "on"]);
    let fed = circuit.node("fed");
    circuit.switched("on", plus, fed, closed(), Logic::At(on, 1));
    let coils = [circuit.node("K1.86"), circuit.node("K2.86")];
    let k1 = relay(&mut circuit, "K1", coils[0], NEGATIVE);
    let k2 = relay(&mut circuit, "K2", coils[1], NEGATIVE);
    circuit.switched("K2 30-87a", fed, coils[0], closed(), Logic::On(k2).negated());
    circuit.switched("K1 30-87a", fed, coils[1], closed(), Logic::On(k1).negated());
    let Outcome::Chatter(chatter) = settle(&circuit, &[1]) else { panic!("it settled") };
    assert_eq!(chatter.actors, [k1, k2]);
    let rests: Vec<(bool, bool)> = chatter.rests.iter().map(|memory| (memory.on(k1), memory.on(k2))).collect();
    assert_eq!(rests, [(true, false), (false, true)]);
}

/// A bistable relay, toggled by each press of one button, keeps its position without supply.
#[test]
fn bistable_relay() {
    let (mut circuit, plus) = battery();
    let press = circuit.input("press", &["off", "on"]);
    let coil = circuit.node("K1.86");
    circuit.switched("press", plus, coil, closed(), Logic::At(press, 1));
    let pulled = relay(&mut circuit, "K1 coil", coil, NEGATIVE);
    let k1 = circuit.actor("K1", ActorRule::Toggle { start: Logic::On(pulled) });
    let exploration = explore(&circuit, Corner::NOMINAL);
    assert_eq!(exploration.count(), 4);
    assert!(exploration.history.iter().all(|history| history.undeclared.is_empty()));
    let mut state = exploration.first().clone();
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    let turns: Vec<bool> = [1, 0, 1, 0]
        .map(|to| {
            state.positions = state.positions.clone().with(press, to);
            state = solver.settle(&state).settled().unwrap().state;
            state.memory.on(k1)
        })
        .to_vec();
    assert_eq!(turns, [true, true, false, false]);
    // A power loss leaves it where it is; while the button is held, the coil pulls in again and turns it over.
    assert!(!power_loss(&circuit, &state).memory.on(k1));
    state.positions = state.positions.clone().with(press, 1);
    let held = solver.settle(&state).settled().unwrap().state;
    assert!(held.memory.on(k1) && !power_loss(&circuit, &held).memory.on(k1));
}

/// The state in which a circuit settles when its supply goes and comes back.
fn power_loss(circuit: &Circuit, state: &State) -> State {
    let mut solver = Solver::new(circuit, Corner::NOMINAL);
    solver.set_variant(&Variant::supplied(circuit, Volts::new(0.0)));
    let dark = solver.settle(state).settled().unwrap().state;
    solver.set_variant(&Variant::NONE);
    solver.settle(&dark).settled().unwrap().state
}

/// A relay that holds itself keeps its position over a key-off where its supply is always live, and loses it with the
/// supply.
#[test]
fn a_power_loss_ends_a_self_hold() {
    let (mut circuit, plus) = battery();
    let key = circuit.input("key", &["off", "run"]);
    let start = circuit.input("start", &["off", "on"]);
    circuit.inputs[start.index()].needs = Logic::At(key, 1);
    let coil = circuit.node("K1.86");
    let k1 = relay(&mut circuit, "K1", coil, NEGATIVE);
    circuit.switched("start", plus, coil, closed(), Logic::At(start, 1));
    circuit.switched("K1 30-87", plus, coil, closed(), Logic::On(k1));
    let mut state = State::at_rest(&circuit);
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    for (input, position, on) in [(key, 1, false), (start, 1, true), (start, 0, true), (key, 0, true)] {
        state.positions = state.positions.moved(&circuit, input, position).unwrap();
        state = solver.settle(&state).settled().unwrap().state;
        assert_eq!(state.memory.on(k1), on, "{input:?} at {position}");
    }
    assert!(!power_loss(&circuit, &state).memory.on(k1));
    // The exploration has each of these states, with the power loss among the ways to leave them.
    let exploration = explore(&circuit, Corner::NOMINAL);
    assert!(exploration.way_to(&state).is_some());
    assert!(exploration.way_to(&power_loss(&circuit, &state)).is_some());
}

/// A hold module is found both while it holds and after.
#[test]
fn hold_module_both_ways() {
    let (mut circuit, plus) = battery();
    let reverse = circuit.input("reverse", &["off", "on"]);
    let trigger = circuit.node("trigger");
    circuit.switched("reverse", plus, trigger, closed(), Logic::At(reverse, 1));
    let sense = relay(&mut circuit, "sense", trigger, NEGATIVE);
    let hold = circuit.actor("hold", ActorRule::Hold { start: Logic::On(sense) });
    let exploration = explore(&circuit, Corner::NOMINAL);
    assert_eq!(exploration.count(), 3);
    let mut held = exploration.first().clone();
    held.memory.set_on(hold, true);
    assert_eq!(exploration.way_to(&held).unwrap(), [Move::Input(reverse, 1), Move::Input(reverse, 0)]);
}

/// A converter whose input current returns through its own output has no solution. The exploration says so, and has no
/// state.
#[test]
fn a_state_at_rest_without_a_solution_is_reported() {
    let (mut circuit, plus) = battery();
    circuit.input("reverse", &["off", "on"]);
    let output = circuit.node("output");
    let law = Law::Regulated { volts: Volts::new(5.0), ohms: ohms(0.05), limit: Amps::new(1.4) };
    let branch = circuit.branch("output", output, NEGATIVE, law);
    let drawn =
        Law::Drawn { output: branch, efficiency: Share::new(0.85), idle: Amps::new(0.01), least: Volts::new(7.0) };
    circuit.branch("input", plus, output, drawn);
    circuit.resistor("beside", output, plus, ohms(17.0));
    let exploration = explore(&circuit, Corner::NOMINAL);
    assert_eq!((exploration.count(), exploration.unsolved.len()), (0, 1));
    assert_eq!(*exploration.first(), State::at_rest(&circuit));
    exploration.visit(&circuit, &mut |solution| panic!("{solution:?}"));
}
