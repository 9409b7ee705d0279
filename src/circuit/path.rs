//! Paths of current: chains of pins with volts and amperes along them, from a supply or to ground.

use super::assemble::Assembly;
use super::circuit::Law;
use super::ids::{BranchId, NEGATIVE, NodeId};
use super::state::Solution;
use model::{ElementId, Model, PinId, WireId};
use quantity::{Amps, Volts};

/// Current below which a path isn't followed, in amperes.
const LEAST_AMPS: f64 = 1e-7;

/// What a current goes through between two spots.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Via {
    /// A wire.
    Wire(WireId),
    /// Mated contacts, by their place in [`Model::joints`].
    Joint(usize),
    /// Something inside a part.
    Element(ElementId),
    /// The shield of a coaxial cable.
    Shield(WireId),
    /// Mated contacts between the shields of two cables.
    ShieldContacts,
}

/// A point on a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Spot {
    /// A pin.
    Pin(PinId),
    /// The shield of the coaxial cable whose centre is on this pin.
    ShieldAt(PinId),
    /// The battery's negative.
    #[default]
    Negative,
}

impl Spot {
    /// The pin, if it is one.
    pub fn pin(self) -> Option<PinId> {
        match self {
            Spot::Pin(pin) => Some(pin),
            Spot::ShieldAt(_) | Spot::Negative => None,
        }
    }
}

impl From<Option<PinId>> for Spot {
    fn from(pin: Option<PinId>) -> Spot {
        pin.map_or(Spot::Negative, Spot::Pin)
    }
}

/// One step of a path: what the current goes through, and the spot that it comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathStep {
    /// Through this.
    pub via: Via,
    /// To this spot.
    pub to: Spot,
    /// The spot's voltage against the battery's negative.
    pub volts: Volts,
    /// The current through `via`.
    pub amps: Amps,
}

/// A chain of spots, in the direction of the current. This is the one type for paths of current.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CurrentPath {
    /// Where it starts.
    pub start: Spot,
    /// The steps from there.
    pub steps: Vec<PathStep>,
}

/// Follows currents through solutions of one circuit.
#[derive(Debug, Clone)]
pub struct Tracer {
    via: Vec<Option<Via>>,
    spots: Vec<Spot>,
    beside: Vec<Vec<BranchId>>,
}

impl Tracer {
    /// Prepares for following currents in a harness.
    pub fn new(model: &Model, assembly: &Assembly) -> Tracer {
        let circuit = &assembly.circuit;
        let mut via = vec![None; circuit.branches.len()];
        for id in model.wire_ids() {
            if let Some(branch) = assembly.wire(id) {
                via[branch.index()] = Some(Via::Wire(id));
            }
        }
        for joint in 0..model.joints.len() {
            if let Some(branch) = assembly.joint(joint) {
                via[branch.index()] = Some(Via::Joint(joint));
            }
        }
        for id in model.wire_ids() {
            if let Some(branch) = assembly.shield(id) {
                via[branch.index()] = Some(Via::Shield(id));
            }
        }
        for branch in assembly.shield_contacts() {
            via[branch.index()] = Some(Via::ShieldContacts);
        }
        for id in (0..model.elements.len()).map(ElementId) {
            for branch in assembly.element(id) {
                via[branch.index()] = Some(Via::Element(id));
            }
        }
        let mut spots = vec![Spot::Negative; circuit.nodes.len()];
        for (node, pin) in assembly.shield_spots() {
            spots[node.index()] = Spot::ShieldAt(*pin);
        }
        for pin in model.pin_ids() {
            if let Some(node) = assembly.pin(pin) {
                spots[node.index()] = Spot::Pin(pin);
            }
        }
        let mut beside = vec![Vec::new(); circuit.nodes.len()];
        for (i, branch) in circuit.branches.iter().enumerate() {
            let id = BranchId(i as u32);
            beside[branch.from.index()].push(id);
            beside[branch.to.index()].push(id);
        }
        Tracer { via, spots, beside }
    }

    /// The wire, contact or element that a branch is in the harness.
    pub fn via(&self, branch: BranchId) -> Option<Via> {
        self.via[branch.index()]
    }

    /// The path of the current into a pin, from the supply or converter that drives it; the larger share at each fork.
    pub fn into_pin(&self, assembly: &Assembly, solution: &Solution, pin: PinId) -> CurrentPath {
        let Some(node) = assembly.pin(pin) else { return CurrentPath::default() };
        // Followed against the current, then reversed.
        let walked = self.walk(assembly, solution, node, -1.0);
        let mut path = CurrentPath { start: walked.last().map_or(Spot::Pin(pin), |s| s.to), steps: Vec::new() };
        for (i, step) in walked.iter().enumerate().rev() {
            let to = if i == 0 { Spot::Pin(pin) } else { walked[i - 1].to };
            let volts = to.pin().map_or(Volts::new(0.0), |p| assembly.volts(solution, p));
            path.steps.push(PathStep { to, volts, ..*step });
        }
        path
    }

    /// The path of the current out of a pin to the battery's negative; the larger share at each fork.
    pub fn out_of_pin(&self, assembly: &Assembly, solution: &Solution, pin: PinId) -> CurrentPath {
        let Some(node) = assembly.pin(pin) else { return CurrentPath::default() };
        CurrentPath { start: Spot::Pin(pin), steps: self.walk(assembly, solution, node, 1.0) }
    }

    /// Follows the current with its direction (`sense` 1) or against it (−1), to the battery's negative.
    fn walk(&self, assembly: &Assembly, solution: &Solution, from: NodeId, sense: f64) -> Vec<PathStep> {
        let mut steps = Vec::new();
        let mut seen = vec![false; self.spots.len()];
        let mut at = from;
        while at != NEGATIVE && !std::mem::replace(&mut seen[at.index()], true) {
            let Some((via, amps, next, source)) = self.greatest(assembly, solution, at, sense) else { break };
            let to = self.spots[next.index()];
            steps.push(PathStep { via, to, volts: solution.volts(next), amps: Amps::new(amps) });
            if source {
                break;
            }
            at = next;
        }
        steps
    }

    /// The branch with the highest current out of (`sense` 1) or into a node, and whether it is a source.
    fn greatest(
        &self,
        assembly: &Assembly,
        solution: &Solution,
        at: NodeId,
        sense: f64,
    ) -> Option<(Via, f64, NodeId, bool)> {
        let mut best: Option<(Via, f64, NodeId, bool)> = None;
        for id in &self.beside[at.index()] {
            let branch = &assembly.circuit.branches[id.index()];
            let amps = solution.amps(*id).value() * sense;
            let (out, next) = if branch.from == at { (amps, branch.to) } else { (-amps, branch.from) };
            if let Some(via) = self.via[id.index()]
                && out > LEAST_AMPS
                && best.is_none_or(|(_, most, ..)| out > most)
            {
                let source = matches!(branch.law, Law::Source { .. } | Law::Regulated { .. });
                best = Some((via, out, next, source));
            }
        }
        best
    }
}

impl CurrentPath {
    /// In words: `battery → wire 1 → F1.1 (12.5 V) → …`, each pin with its volts.
    pub fn words(&self, model: &Model) -> String {
        let name = |spot: Spot| match spot {
            Spot::Pin(pin) => model.pin_name(pin),
            Spot::ShieldAt(pin) => format!("shield at {}", model.pin_name(pin)),
            Spot::Negative => "battery −".to_string(),
        };
        let mut text = name(self.start);
        for step in &self.steps {
            let via = match step.via {
                Via::Wire(id) => format!("wire {} ({})", model.wire(id).id, step.amps),
                Via::Shield(id) => format!("shield of wire {} ({})", model.wire(id).id, step.amps),
                Via::Joint(_) | Via::ShieldContacts => "mated".to_string(),
                Via::Element(id) => model.part(model.element(id).part).name.to_string(),
            };
            text.push_str(&format!(" → {via} → {} {}", name(step.to), step.volts));
        }
        text
    }
}
