//! Walks along what conducts, held to a search through every way in which relays and switches can stand.

use super::made_up;
use crate::Facts;
use crate::connectivity::Connectivity;
use crate::walk::{Towards, walk};
use graph::Link;
use model::{ElementId, ElementKind, Model, PinId, StateCondition};
use states::{Solved, Wiring};
use std::collections::{BTreeMap, BTreeSet};

/// A relay's part, or a switch's input or common pin, by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Mover {
    Relay(usize),
    Input(usize),
    Switch(usize),
}

/// What has to stand how for current to pass an element between two pins.
fn needs(model: &Model, id: ElementId, pins: [PinId; 2]) -> Option<(Mover, usize)> {
    match &model.element(id).kind {
        ElementKind::Contact { relay, common, rest, .. } => {
            let throw = pins[usize::from(pins[0] == *common)];
            Some((Mover::Relay(relay.0), usize::from(*rest == Some(throw))))
        }
        ElementKind::Throw { when: StateCondition::InputIs(input, at), .. } => Some((Mover::Input(input.0), *at)),
        ElementKind::Throw { common, throw, .. } => Some((Mover::Switch(common.0), throw.0)),
        _ => None,
    }
}

/// Every way in which the movers can stand; `None` if they are more than a test has time for.
fn all_settings(model: &Model) -> Option<Vec<BTreeMap<Mover, usize>>> {
    let mut stands: BTreeMap<Mover, BTreeSet<usize>> = BTreeMap::new();
    for (i, element) in model.elements.iter().enumerate() {
        for pins in element.paths().filter_map(|path| path.pins()) {
            if let Some((mover, at)) = needs(model, ElementId(i), pins) {
                stands.entry(mover).or_default().insert(at);
            }
        }
    }
    let count = stands.values().map(BTreeSet::len).try_fold(1_usize, |all, one| all.checked_mul(one));
    count.filter(|count| *count <= 2048)?;
    let mut all = vec![BTreeMap::new()];
    for (mover, places) in stands {
        let with = |one: &BTreeMap<Mover, usize>| {
            let one = one.clone();
            places.clone().into_iter().map(move |at| one.clone().into_iter().chain([(mover, at)]).collect())
        };
        all = all.iter().flat_map(with).collect();
    }
    Some(all)
}

/// For each pin, whether some way of standing joins it to one of the starts.
fn joined_in_some(connectivity: &Connectivity, starts: &[PinId], towards: Towards) -> Option<Vec<bool>> {
    let model = connectivity.model();
    let mut joined = vec![false; model.pins.len()];
    for setting in all_settings(model)? {
        let mut seen: BTreeSet<PinId> = starts.iter().copied().collect();
        let mut ahead = starts.to_vec();
        while let Some(pin) = ahead.pop() {
            joined[pin.0] = true;
            if !starts.contains(&pin) && is_terminal(model, pin) {
                continue;
            }
            for hop in connectivity.links().out_of(pin, towards) {
                let closed = match hop.link {
                    Link::Through(id, _) => {
                        needs(model, id, [pin, hop.to]).is_none_or(|(mover, at)| setting[&mover] == at)
                    }
                    _ => true,
                };
                if closed && seen.insert(hop.to) {
                    ahead.push(hop.to);
                }
            }
        }
    }
    Some(joined)
}

fn is_terminal(model: &Model, pin: PinId) -> bool {
    matches!(model.part(model.pin(pin).part).kind, model::PartKind::Supply | model::PartKind::Ground)
}

/// Fails if a walk from some pin has something stand in two ways; counts the paths that pass a change-over.
fn assert_one_stand_each(connectivity: &Connectivity, passed: &mut usize) {
    let model = connectivity.model();
    for start in model.pin_ids() {
        for towards in [Towards::Supply, Towards::Ground] {
            let stands = walk(connectivity.links(), towards, &[(start, ())], &mut |_, _| Some(()));
            for end in &stands {
                let (mut settings, mut at) = (BTreeMap::new(), end);
                while let Some((link, before)) = at.by {
                    let before = &stands[before];
                    if let Link::Through(id, _) = link
                        && let Some((mover, one)) = needs(model, id, [before.pin, at.pin])
                    {
                        *passed += 1;
                        let other = *settings.entry(mover).or_insert(one);
                        let name = |pin| model.pin_name(pin);
                        assert_eq!(one, other, "{mover:?} from {} to {}", name(start), name(end.pin));
                    }
                    at = before;
                }
            }
        }
    }
}

/// Compares what is fed and grounded with the search through every way of standing; whether there was time for that.
fn assert_exact(connectivity: &Connectivity) -> bool {
    let model = connectivity.model();
    let all = |pin: &PinId| [*pin];
    let supplies: Vec<PinId> = model.pin_ids().filter(|pin| connectivity.has_supply(&all(pin))).collect();
    let grounds: Vec<PinId> = model.pin_ids().filter(|pin| connectivity.has_ground(&all(pin))).collect();
    let Some(fed) = joined_in_some(connectivity, &supplies, Towards::Ground) else { return false };
    let Some(grounded) = joined_in_some(connectivity, &grounds, Towards::Supply) else { return false };
    for pin in model.pin_ids() {
        let name = model.pin_name(pin);
        assert_eq!(connectivity.is_fed(pin), fed[pin.0], "{} fed: {name}", model.job.title);
        assert_eq!(connectivity.is_grounded(pin), grounded[pin.0], "{} grounded: {name}", model.job.title);
        // The walk from the pin itself agrees.
        assert_eq!(connectivity.has_supply(&connectivity.reached(pin, Towards::Supply)), fed[pin.0], "{name}");
        assert_eq!(connectivity.has_ground(&connectivity.reached(pin, Towards::Ground)), grounded[pin.0], "{name}");
    }
    true
}

#[test]
fn no_walk_through_a_demo_has_a_contact_stand_in_two_ways() {
    let (mut passed, mut exact) = (0, 0);
    for name in sample::DEMOS {
        let model = sample::demo(name);
        let wiring = Wiring::new(&model);
        let connectivity = Connectivity::new(&wiring);
        assert_one_stand_each(&connectivity, &mut passed);
        exact += usize::from(assert_exact(&connectivity));
    }
    assert!(passed > 1000 && exact > 0, "{passed} contacts on paths; {exact} demos held to every way of standing");
}

#[test]
fn no_walk_through_a_made_up_harness_has_a_contact_stand_in_two_ways() {
    let (mut passed, mut exact) = (0, 0);
    for seed in 0..12 {
        let text = made_up::spec(seed, 60);
        let model = sample::of_text("made-up.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"));
        let wiring = Wiring::new(&model);
        let connectivity = Connectivity::new(&wiring);
        assert_one_stand_each(&connectivity, &mut passed);
        exact += usize::from(assert_exact(&connectivity));
    }
    assert!(passed > 1000 && exact > 4, "{passed} contacts on paths; {exact} harnesses held to every way of standing");
}

/// Wires between pins drawn by lot: change-over relays of one and two poles, switches, fuses, diodes. Such circuits are
/// full of loops.
fn tangle(seed: u64) -> Model {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut below = |bound: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % bound as u64) as usize
    };
    let pins: Vec<String> = ["K1.30", "K1.87", "K1.87a", "K2.30", "K2.87", "K2.87a", "K3.30", "K3.87", "K3.87a"]
        .into_iter()
        .chain(["SW1.common", "SW1.up", "SW1.down", "SW2.common-1", "SW2.up-1", "SW2.down-1"])
        .chain(["SW2.common-2", "SW2.up-2", "SW2.down-2", "F1.1", "F1.2", "F2.1", "F2.2", "F3.1", "F3.2"])
        .chain(["D1.anode", "D1.cathode", "D2.anode", "D2.cathode", "battery", "GND"])
        .map(String::from)
        .collect();
    let mut wires = String::new();
    for id in 1..=18 + below(8) {
        let from = below(pins.len());
        let to = (from + 1 + below(pins.len() - 1)) % pins.len();
        wires.push_str(&format!("  - {{id: {id}, from: {}, to: {}}}\n", pins[from], pins[to]));
    }
    super::harness(&format!(
        "inputs: {{a: {{kind: toggle, part: SW1}}, b: {{kind: toggle, part: SW2}}}}
parts:
  K1: {{use: relay-mini-spdt-12v, at: dash}}
  K2: {{use: relay-mini-spdt-12v, at: dash}}
  K3: {{use: relay-mini-spdt-12v, at: dash}}
  SW1: {{use: toggle-spdt, at: dash}}
  SW2: {{use: toggle-dpdt, at: dash}}
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  F2: {{use: fuse-blade, rating: 3 A, at: dash}}
  F3: {{use: fuse-blade, rating: 3 A, at: dash}}
  D1: {{use: diode-3a, at: dash}}
  D2: {{use: diode-3a, at: dash}}
wires:
{wires}"
    ))
}

#[test]
fn walks_through_tangles_are_exact() {
    let mut passed = 0;
    for seed in 0..300 {
        let model = tangle(seed);
        let wiring = Wiring::new(&model);
        let connectivity = Connectivity::new(&wiring);
        assert_one_stand_each(&connectivity, &mut passed);
        assert!(assert_exact(&connectivity));
    }
    assert!(passed > 100_000, "{passed} contacts on paths");
}

/// A short behind the wrong side of a change-over draws nothing, and no fuse guards its wire.
#[test]
fn shorts_and_protection_do_not_cross_a_change_over() {
    let model = super::harness(
        "parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  K1: {use: relay-mini-spdt-12v, at: dash}
  L1: {use: lamp-5w, at: dash}
  L2: {use: lamp-5w, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.87}
  - {id: 3, from: K1.30, to: L1.power}
  - {id: 4, from: K1.87a, to: L2.power}
  - {id: 5, from: L1.ground, to: GND}
  - {id: 6, from: L2.ground, to: GND}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let (behind, wrong) = (model::WireId(2), model::WireId(3));
    assert!(facts.shorts().at_end_of(behind).is_some() && facts.shorts().at_end_of(wrong).is_none());
    assert_eq!(facts.protection().of(wrong), crate::protection::Guard::Dead);
    assert_ne!(facts.protection().of(behind), crate::protection::Guard::Dead);
}
