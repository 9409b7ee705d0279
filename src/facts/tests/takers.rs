//! What takes a current, held to Kirchhoff's current law.

use super::harness;
use crate::Facts;
use circuit::Solution;
use model::{ElementId, ElementKind, Model, PinId};
use quantity::Amps;
use states::Solved;

/// Every side of a contact and every throw that carries current in a state: its current, and its pins along that current.
fn carrying(facts: &Facts, solution: &Solution) -> Vec<(ElementId, Amps, [PinId; 2])> {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
    let mut all = Vec::new();
    for (i, element) in model.elements.iter().enumerate() {
        if !matches!(element.kind, ElementKind::Contact { .. } | ElementKind::Throw { .. } | ElementKind::Fuse { .. }) {
            continue;
        }
        let id = ElementId(i);
        for (path, branch) in element.paths().zip(assembly.element(id)) {
            let amps = solution.amps(*branch);
            if let Some([a, b]) = path.pins().filter(|_| amps.abs() > Amps::new(0.01)) {
                all.push((id, amps.abs(), if amps.value() > 0.0 { [a, b] } else { [b, a] }));
            }
        }
    }
    all
}

/// A spec with lamps on one feed, each with a relay of its own; the relays switch the feeds or the grounds of the lamps.
fn lamps(count: usize, switched_ground: bool) -> Model {
    let (mut inputs, mut parts, mut wires) = (String::new(), String::new(), String::new());
    let mut id = 1;
    let mut wire = |from: &str, to: &str| {
        id += 1;
        wires.push_str(&format!("  - {{id: {id}, from: {from}, to: {to}, gauge: 2.5 mm², length: 1 m}}\n"));
    };
    for n in 1..=count {
        inputs.push_str(&format!("  in{n}: {{kind: toggle, part: SW{n}}}\n"));
        parts.push_str(&format!("  SW{n}: {{use: toggle-spst, at: dash}}\n  L{n}: {{use: lamp-21w, at: dash}}\n"));
        parts.push_str(&format!("  K{n}: {{use: relay-mini-spst-12v-diode, at: dash}}\n"));
        wire("F1.2", &format!("SW{n}.common"));
        wire(&format!("SW{n}.on"), &format!("K{n}.86"));
        wire(&format!("K{n}.85"), "GND");
        if switched_ground {
            wire("F1.2", &format!("L{n}.power"));
            wire(&format!("L{n}.ground"), &format!("K{n}.30"));
            wire(&format!("K{n}.87"), "GND");
        } else {
            wire("F1.2", &format!("K{n}.30"));
            wire(&format!("K{n}.87"), &format!("L{n}.power"));
            wire(&format!("L{n}.ground"), "GND");
        }
    }
    harness(&format!(
        "inputs:\n{inputs}parts:\n  F1: {{use: fuse-blade, rating: 20 A, at: dash}}\n{parts}wires:\n  - {{id: 1, from: battery, to: F1.1, \
         gauge: 2.5 mm², length: 1 m}}\n{wires}"
    ))
}

#[test]
fn a_contact_is_charged_for_its_own_lamp_alone() {
    for switched_ground in [false, true] {
        let model = lamps(4, switched_ground);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let mut contacts = 0;
        for row in &facts.table().rows {
            for (id, amps, between) in carrying(&facts, &row.solution) {
                let takers = facts.takers(&row.solution, between);
                let sum: Amps = takers.iter().map(|taker| taker.intake.amps).sum();
                assert!((sum - amps).abs().value() < 1e-3 * amps.value() + 1e-4, "{}: {sum} of {amps}", row.name);
                if let ElementKind::Contact { .. } = model.element(id).kind {
                    assert_eq!(takers.len(), 1, "{}", row.name);
                    let ElementKind::Load(load) = &model.element(takers[0].element).kind else { panic!("a lamp") };
                    // In proportion to the lamp's voltage: its catalogue's figure is meant at its nominal one.
                    let volts = |pin| solved.assembly.volts(&row.solution, pin);
                    let share = (volts(load.feed) - volts(load.ground)) / load.nominal;
                    assert_eq!(takers[0].intake.inrush, load.inrush * share);
                    contacts += 1;
                }
            }
        }
        assert_eq!(contacts, 32, "each of 4 lamps is on in half of 16 states");
    }
}

/// No load of a demo is missed: what takes the current of a contact, a switch or a fuse takes no less than that current, but for
/// trigger inputs, leakage, and what the vehicle itself has on its wires.
#[test]
fn takers_take_all_the_current_of_every_contact_of_every_demo() {
    let (mut all, mut exact) = (0, 0);
    for name in sample::DEMOS {
        let model = sample::demo(name);
        let vehicles = |element: &model::Element| match &element.kind {
            ElementKind::Feed(feed) => feed.lamps.is_some(),
            ElementKind::Derived { others, .. } => *others > Amps::default(),
            _ => false,
        };
        let is_pure = !model.elements.iter().any(vehicles);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        for row in facts.table().rows.iter().filter(|row| !row.solution.has_pulses()).step_by(5) {
            for (id, amps, between) in carrying(&facts, &row.solution) {
                let sum: Amps = facts.takers(&row.solution, between).iter().map(|taker| taker.intake.amps).sum();
                all += 1;
                exact += usize::from((sum - amps).abs().value() < 0.05 * amps.value());
                let missed = amps - sum;
                let part = &model.part(model.element(id).part).name;
                assert!(!is_pure || missed.value() < 0.02, "{name}, {}: {part} carries {amps}, {sum} found", row.name);
            }
        }
    }
    assert!(all > 200 && exact * 10 > all * 8, "{exact} of {all} exact");
}

/// By the data of the converter: 5 V, no more than its limit, whatever the battery could give; its own fuse upstream carries
/// the input current and not the short's.
#[test]
fn a_short_behind_a_converter_draws_no_more_than_its_limit() {
    let model = harness(
        "parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  F2: {use: fuse-blade, rating: 2 A, at: dash}
  PS1: {use: converter-12-5, at: dash}
  L1: {use: lamp-5w, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: PS1.in}
  - {id: 3, from: PS1.ground, to: GND}
  - {id: 4, from: PS1.out, to: F2.1}
  - {id: 5, from: F2.2, to: L1.power}
  - {id: 6, from: L1.ground, to: GND}
",
    );
    let limit = model.elements.iter().find_map(|element| match element.kind {
        ElementKind::Converter { limit, .. } => Some(limit),
        _ => None,
    });
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let short = facts.shorts().at_end_of(model::WireId(4)).unwrap();
    assert_eq!(short.amps, [limit.unwrap(); 2]);
    assert_eq!(model.pin_name(short.from), "PS1.out");
    let name = |id: &ElementId| model.part(model.element(*id).part).name.to_string();
    assert_eq!(short.fuses.iter().map(name).collect::<Vec<_>>(), ["F2"]);
    // Before the converter the battery feeds the short.
    let before = facts.shorts().at_end_of(model::WireId(1)).unwrap();
    assert!(before.amps[0].value() > 100.0 && before.fuses.len() == 1, "{before:?}");
}
