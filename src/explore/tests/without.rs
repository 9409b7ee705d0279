//! Opening a branch zone by zone, compared with the direct way: every state of the whole, solved again.

use crate::exploration::in_zones;
use crate::zones::Doubts;
use crate::*;
use circuit::*;
use engine::EliminationPlan;
use quantity::{Amps, Ohms, Volts, Watts};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The numbers of a linear congruence (Knuth's MMIX), so that the circuits are the same each time.
pub(super) struct Numbers(pub u64);

impl Numbers {
    pub fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound as u64) as usize
    }

    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.below(1000) as f64 / 1000.0
    }
}

/// Groups at random behind one battery and one chassis: fed triggers, relays, diodes, lamps and loads that share their
/// grounds. The battery has ohms, and relays pull in at volts, between these. Gives the branches that may come loose as
/// well.
pub(super) fn groups(seed: u64, supply: [f64; 2], on: [f64; 2]) -> (Circuit, Vec<BranchId>) {
    let mut numbers = Numbers(seed);
    let mut circuit = Circuit::new();
    let (plus, chassis) = (circuit.node("plus"), circuit.node("chassis"));
    let volts = [11.8, 12.6, 14.6].map(Volts::new);
    circuit.branch(
        "battery",
        NEGATIVE,
        plus,
        Law::Source { volts, ohms: Ohms::new(numbers.between(supply[0], supply[1])) },
    );
    let mut loose = vec![circuit.resistor("chassis", chassis, NEGATIVE, Ohms::new(0.003))];
    for g in 0..2 + numbers.below(2) {
        let nodes: Vec<NodeId> = (0..6).map(|n| circuit.node(format!("{n} of {g}"))).collect();
        let inputs = [0, 1].map(|n| circuit.input(format!("input {n} of {g}"), &["off", "on"]));
        let ground = |numbers: &mut Numbers, nodes: &[NodeId]| nodes[4 + numbers.below(2)];
        for n in [4, 5] {
            loose.push(circuit.resistor(format!("ground {n} of {g}"), nodes[n], chassis, Ohms::new(0.02)));
        }
        let closed = Law::Conductor { ohms: Ohms::new(0.05), copper: false };
        for (n, input) in inputs.into_iter().enumerate() {
            circuit.switched(format!("feed {n} of {g}"), plus, nodes[n], closed.clone(), Logic::At(input, 1));
        }
        for k in 0..2 {
            let (feed, minus) = (nodes[numbers.below(2)], ground(&mut numbers, &nodes));
            let id = circuit.branches.len();
            circuit.resistor(format!("coil {k} of {g}"), feed, minus, Ohms::new(numbers.between(60.0, 120.0)));
            let (on, off) = (Volts::new(numbers.between(on[0], on[1])), Volts::new(1.2));
            let rule = ActorRule::Threshold { plus: feed, minus, on, off, senses: Senses::Coil };
            let relay = circuit.actor(format!("K{id}"), rule);
            let from = if numbers.below(3) == 0 { nodes[numbers.below(2)] } else { plus };
            circuit.switched(format!("contact {k} of {g}"), from, nodes[2 + k], closed.clone(), Logic::On(relay));
        }
        for n in 0..4 {
            let (feed, minus) = (nodes[numbers.below(4)], ground(&mut numbers, &nodes));
            let law = match numbers.below(4) {
                0 => Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(numbers.between(1.0, 20.0)) },
                1 => Law::Current { amps: Amps::new(numbers.between(0.05, 0.5)), least: Volts::new(7.0) },
                2 => Law::Power { watts: Watts::new(numbers.between(2.0, 15.0)), least: Volts::new(6.0) },
                _ => Law::Conductor { ohms: Ohms::new(numbers.between(5.0, 200.0)), copper: false },
            };
            circuit.branch(format!("load {n} of {g}"), feed, minus, law);
        }
        let (a, b) = (nodes[numbers.below(4)], nodes[numbers.below(4)]);
        let law = Law::Diode { knee: Volts::new(0.65), ohms: Ohms::new(0.05), zener: None };
        circuit.branch(format!("diode of {g}"), a, b, law);
    }
    (circuit, loose)
}

/// What opening a branch brings about: an actor that comes on, or current backwards through a branch.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Effect {
    Comes(ActorId),
    Backwards(BranchId),
    NoRest,
}

const SNEAK_VOLTS: f64 = 1.0;
const SNEAK_AMPS: f64 = 1e-3;

fn effects(circuit: &Circuit, closed: &Solution, lost: &Solution) -> Vec<Effect> {
    let actors = (0..circuit.actors.len() as u32).map(ActorId).filter(|id| lost.on(*id) && !closed.on(*id));
    let back = |s: &Solution, id| -s.across(id).value() > SNEAK_VOLTS && -s.amps(id).value() > SNEAK_AMPS;
    let branches = fed(circuit).filter(|id| back(lost, *id) && !back(closed, *id));
    actors.map(Effect::Comes).chain(branches.map(Effect::Backwards)).collect()
}

/// Loads and coils.
fn fed(circuit: &Circuit) -> impl Iterator<Item = BranchId> {
    let is_fed = |id: &BranchId| {
        let name = &circuit.branches[id.index()].name;
        name.starts_with("load") || name.starts_with("coil")
    };
    (0..circuit.branches.len() as u32).map(BranchId).filter(is_fed)
}

/// What is found, and how many looks at bounds were enough.
fn found(circuit: &Circuit, loose: &[BranchId], exploration: &Exploration) -> (BTreeSet<(usize, Effect)>, usize) {
    let (mut all, mut enough) = (BTreeSet::new(), 0);
    exploration.visit_without(circuit, loose, [0, 1], &mut |at, closed, without| match without {
        Without::Within { lost, most } => {
            let comes = effects(circuit, closed, lost).iter().any(|effect| matches!(effect, Effect::Comes(_)));
            let back = fed(circuit)
                .map(|id| &circuit.branches[id.index()])
                .any(|branch| (lost.volts(branch.to) - lost.volts(branch.from) + most).value() > SNEAK_VOLTS);
            enough += usize::from(!comes && !back);
            comes || back
        }
        Without::Solved(Outcome::Settled(lost), _) => {
            all.extend(effects(circuit, closed, &lost).into_iter().map(|effect| (at, effect)));
            false
        }
        Without::Solved(..) => {
            all.insert((at, Effect::NoRest));
            false
        }
    });
    (all, enough)
}

#[test]
fn opened_in_zones_as_in_the_whole() {
    let (mut compared, mut seen, mut enough) = (0, 0, 0);
    for seed in 0..60 {
        let (circuit, loose) = groups(seed, [0.005, 0.05], [3.0, 9.0]);
        let whole = explore(&circuit, Corner::NOMINAL);
        let Ok(Some(zones)) =
            in_zones(&circuit, &Arc::new(EliminationPlan::new(&circuit)), Corner::NOMINAL, Doubts::Refused)
        else {
            continue;
        };
        let ((plain, none), (split, some)) = (found(&circuit, &loose, &whole), found(&circuit, &loose, &zones));
        assert_eq!(plain, split, "seed {seed}");
        assert_eq!(none, 0);
        compared += 1;
        seen += plain.len();
        enough += some;
    }
    assert!(compared > 30 && seen > 100 && enough > 200, "{compared} circuits, {seen} effects, {enough} looks");
}
