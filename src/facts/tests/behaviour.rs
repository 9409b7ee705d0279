//! Signals that never settle, memory that stays set, relays that move with the supply voltage, and sneak currents.

use super::*;
use crate::inputs::can_leave_rest;
use crate::sneak::Sneak;
use crate::{Facts, Moment};
use circuit::{Corner, Supply};
use model::InputId;
use states::Solved;

#[test]
fn a_relay_that_opens_its_own_feed_never_comes_to_rest() {
    let model = harness(
        "inputs: {alarm: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  K1: {use: relay-mini-spdt-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: SW1.common}
  - {id: 3, from: SW1.on, to: K1.30}
  - {id: 4, from: K1.87a, to: K1.86}
  - {id: 5, from: K1.85, to: GND}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let [(relays, chatter)] = &facts.unsettled().chatters[..] else { panic!("one buzzer") };
    assert_eq!(facts.names().signals(relays), "`K1`");
    assert!(chatter.rests.is_empty() && facts.unsettled().races.is_empty());
    assert!(facts.unsettled().is_chattering(relays[0]) && facts.moved_by_supply().is_empty());
}

const LATCH: &str = "inputs: {start: {kind: push, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  SW1: {use: push-spst, at: dash}
  K1: {use: relay-latching-toggle-12v, at: dash}
  BZ: {use: buzzer-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: SW1.common}
  - {id: 3, from: SW1.on, to: K1.86}
  - {id: 4, from: K1.85, to: GND}
  - {id: 5, from: F1.2, to: K1.30}
  - {id: 6, from: K1.87, to: BZ.power}
  - {id: 7, from: BZ.ground, to: GND}
";

#[test]
fn a_latching_relay_stays_set_at_rest_and_through_a_power_loss() {
    let model = harness(LATCH);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let [left] = facts.left_behind() else { panic!("{:?}", facts.left_behind()) };
    assert!(left.survives_power_loss && left.state.positions.away() == 0);
    assert_eq!(facts.names().signals(&[left.signal]), "`K1`");
    let way = facts.names().way_to(&solved.exploration, &left.state).unwrap();
    assert_eq!(way, "after start on, then start off");
    assert!(facts.both_windings().is_empty() && facts.pulsed().is_empty());
}

#[test]
fn both_windings_of_a_latching_relay_can_be_live() {
    let model = harness(
        "inputs:
  left: {kind: lamp-feed, at: dash, limit: 1 A, lamps: 42 W}
  right: {kind: lamp-feed, at: dash, limit: 1 A, lamps: 42 W}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  K1: {use: relay-latching-12v, at: dash}
  BZ: {use: buzzer-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.30}
  - {id: 3, from: K1.87, to: BZ.power}
  - {id: 4, from: BZ.ground, to: GND}
  - {id: 5, from: left, to: K1.86a}
  - {id: 6, from: right, to: K1.86b}
  - {id: 7, from: K1.85, to: GND}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let [both] = facts.both_windings() else { panic!("{:?}", facts.both_windings()) };
    assert_eq!(facts.names().moment(&Moment::of(&both.solution)), "in state left, right");
}

/// A feed that is on reaches a feed that is off through their common wire.
#[test]
fn a_feed_that_is_off_gets_the_voltage_of_another() {
    let model = harness(
        "inputs:
  reverse: {kind: lamp-feed, at: dash}
  left-turn: {kind: lamp-feed, at: dash}
parts:
  K1: {use: relay-mini-spst-12v-diode, at: dash}
wires:
  - {id: 1, from: reverse, to: K1.86}
  - {id: 2, from: left-turn, to: K1.86}
  - {id: 3, from: K1.85, to: GND}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let fed = facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Input(id) => Some((id, found.moment.clone(), found.volts)),
        _ => None,
    });
    let [(_, moment, volts), _] = &fed[..] else { panic!("{fed:?}") };
    assert!(moment.corner == Corner::NOMINAL && moment.away() == 1 && volts.value() > 12.0, "{moment:?} {volts}");
    let off = pin(&model, "reverse");
    let solution = facts.solution(moment).unwrap();
    let path = facts.backfeed().held_by(&solution, off).unwrap();
    assert_eq!(path.steps.last().unwrap().to.pin(), Some(off));
    assert!(facts.backfeed().grounded_by(&solution, off).is_none());
}

/// Beside a switch, a resistance leaves a coil what pulls it in at 14.6 V and not at 12.6 V. Without the switch it would
/// be a weak coil.
#[test]
fn a_relay_can_hang_on_the_supply_alone() {
    let spec = |ohms: &str| {
        harness(&format!(
            "own-parts:
  series:
    title: Resistor
    family: resistor
    pins: {{\"1\": {{domain: power}}, \"2\": {{domain: power}}}}
    inside: [{{resistor: {{between: [\"1\", \"2\"], resistance: {ohms}}}}}]
inputs: {{light: {{kind: toggle, part: SW1}}}}
parts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  R1: {{use: series, at: dash}}
  K1: {{use: relay-mini-spst-12v, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: SW1.common}}
  - {{id: 3, from: F1.2, to: R1.1}}
  - {{id: 4, from: R1.2, to: K1.86}}
  - {{id: 6, from: SW1.on, to: R1.2}}
  - {{id: 5, from: K1.85, to: GND}}
"
        ))
    };
    let moved = |ohms: &str| {
        let model = spec(ohms);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        facts.moved_by_supply().iter().map(|moved| moved.out.0.corner.supply).collect::<Vec<Supply>>()
    };
    assert_eq!(moved("1 Ω"), []);
    // A coil of about 90 Ω pulls in at some 7 to 8 V: with 60 Ω before it, it does at 12.6 V and may at 11.8 V; with
    // as much as it has itself, between 12.6 V and 14.6 V at the most.
    let all: Vec<Vec<Supply>> = ["40 Ω", "50 Ω", "60 Ω", "70 Ω", "80 Ω", "90 Ω"].map(moved).into();
    assert!(all.iter().any(|moved| moved == &[Supply::Nominal]), "{all:?}");
}

#[test]
fn an_input_that_excludes_what_it_needs_never_leaves_rest() {
    let model = harness(
        "inputs:
  key: {positions: [off, run], excludes: [pto]}
  pto: {kind: toggle, part: SW1, needs: key}
parts: {SW1: {use: toggle-spst, at: dash}}
wires: []
",
    );
    assert!(can_leave_rest(&model, InputId(0)) && !can_leave_rest(&model, InputId(1)));
}

#[test]
fn a_load_behind_an_open_circuit_never_works_and_its_worst_values_say_so() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    assert!(facts.never_works().is_empty());
    let fuse = solved.assembly.element(
        model
            .elements
            .iter()
            .position(|e| matches!(e.kind, model::ElementKind::Fuse { .. }))
            .map(model::ElementId)
            .unwrap(),
    )[0];
    // 5 W at 12 V are 0.42 A; a filament takes a little more at 14.6 V.
    let most = facts.worst().amps(fuse).unwrap();
    assert!((0.42..0.55).contains(&most.value.value()) && most.moment.corner.supply == Supply::Greatest, "{most:?}");
    assert_eq!(facts.bundles().loaded(model::WireId(0)), 1);
    assert!(!facts.explored().is_bounded() && facts.explored().unsolved().next().is_none());
    assert_eq!(facts.explored().all().count(), crate::CORNERS.len());
}
