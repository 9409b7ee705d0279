//! How something that should be dead gets a voltage: along the current if there is one, else along conducting branches.

use super::Paths;
use super::branches::Branches;
use super::conductors::Conductors;
use super::moment::Moment;
use circuit::{BranchId, CurrentPath, Law, NEGATIVE, NodeId, PathStep, Solution, Spot};
use model::{ElementId, ElementKind, Load, PinId};
use quantity::{Amps, Volts};
use states::Wiring;
use std::collections::{BTreeMap, VecDeque};

/// Finds what feeds a pin from behind.
#[derive(Debug, Clone, Copy)]
pub struct Backfeed<'f> {
    wiring: &'f Wiring<'f>,
    paths: &'f Paths<'f>,
}

impl<'f> Backfeed<'f> {
    pub(super) fn new(wiring: &'f Wiring<'f>, paths: &'f Paths<'f>) -> Backfeed<'f> {
        Backfeed { wiring, paths }
    }

    fn branches(&self) -> Branches<'f> {
        self.paths.branches()
    }

    /// The path that feeds a pin or holds its voltage up, from the supply on. `None` if only leakage or the resistances
    /// of trigger inputs lead to it, which give almost nothing.
    pub fn held_by(&self, solution: &Solution, pin: PinId) -> Option<CurrentPath> {
        let path = self.paths.to(solution, pin);
        let faint = |branch: &BranchId| self.branches().is_faint(*branch);
        if path.steps.is_empty() || self.branches().of_path(solution, &path).iter().any(faint) {
            return self.joined_to_supply(solution, self.wiring.assembly.pin(pin)?);
        }
        Some(path)
    }

    /// The path that joins a pin to the battery's negative through conductors alone.
    pub fn grounded_by(&self, solution: &Solution, pin: PinId) -> Option<CurrentPath> {
        let assembly = &self.wiring.assembly;
        let mut node = assembly.pin(pin)?;
        let branches = Conductors::new(self.wiring.model, assembly).to_ground(assembly, &solution.state, node)?;
        let mut path = CurrentPath { start: Spot::Pin(pin), steps: Vec::new() };
        for branch in branches {
            let one = &assembly.circuit.branches[branch.index()];
            node = if one.from == node { one.to } else { one.from };
            let pin = self.wiring.model.pin_ids().find(|pin| assembly.pin(*pin) == Some(node));
            let (volts, amps) = (solution.volts(node), solution.amps(branch).abs());
            path.steps.extend(self.branches().via(branch).map(|via| PathStep { via, to: pin.into(), volts, amps }));
        }
        Some(path)
    }

    /// The voltage of a pin without some branches of the vehicle's own.
    pub fn volts_without(&self, moment: &Moment, pin: PinId, own: impl IntoIterator<Item = BranchId>) -> Option<Volts> {
        let assembly = &self.wiring.assembly;
        let solution = moment.solve_open(self.wiring, own)?;
        Some(assembly.volts(&solution, pin))
    }

    /// What else the current of a coil or a lamp goes through, in words, with the whole path. `None` where it has a
    /// feed and a ground of its own.
    pub fn through_another(
        &self,
        solution: &Solution,
        own: ElementId,
        feed: PinId,
        ground: PinId,
    ) -> Option<(String, CurrentPath)> {
        let volts = |pin| self.wiring.assembly.volts(solution, pin);
        let (from, to) = if volts(feed) >= volts(ground) { (feed, ground) } else { (ground, feed) };
        let path = self.paths.through(solution, own, from, to);
        let branches = self.branches().of_path(solution, &path);
        let branch = branches.into_iter().find(|branch| self.branches().is_consumer(*branch, own))?;
        Some((self.consumer_words(branch), path))
    }

    /// A consumer in words: `L1`, the coil of `K1`, the vehicle's other loads on `ignition`.
    fn consumer_words(&self, branch: BranchId) -> String {
        let model = self.wiring.model;
        let name = &self.wiring.assembly.circuit.branches[branch.index()].name;
        let Some(id) = self.branches().element_of(branch) else { return format!("`{name}`") };
        let element = model.element(id);
        let part = &model.part(element.part).name;
        match &element.kind {
            ElementKind::Load(Load { name: Some(name), .. }) => format!("`{part}.{name}`"),
            ElementKind::Load(_) => format!("`{part}`"),
            ElementKind::Coil(coil) => {
                let is_coil = |id: &&ElementId| matches!(model.element(**id).kind, ElementKind::Coil(_));
                match model.part(element.part).elements.iter().filter(is_coil).count() {
                    1 => format!("the coil of `{part}`"),
                    _ => format!("the winding on `{}`", model.pin_name(coil.feed)),
                }
            }
            ElementKind::Sense { pin, .. } => format!("`{}`", model.pin_name(*pin)),
            ElementKind::Derived { .. } => format!("the vehicle's other loads on `{part}`"),
            ElementKind::Feed(_) => format!("the vehicle's lamps on `{part}`"),
            _ => format!("`{name}`"),
        }
    }

    /// The shortest path from a supply to a node along branches that conduct both ways, or towards it.
    fn joined_to_supply(&self, solution: &Solution, start: NodeId) -> Option<CurrentPath> {
        let circuit = &self.wiring.assembly.circuit;
        // For each node, the branch that leads back towards the start, and the node at its other end.
        let mut onward: BTreeMap<NodeId, (BranchId, NodeId)> = BTreeMap::new();
        let mut queue = VecDeque::from([start]);
        while let Some(node) = queue.pop_front() {
            for (i, one) in circuit.branches.iter().enumerate() {
                let branch = BranchId(i as u32);
                let forward = one.to == node;
                if !(forward || one.from == node)
                    || !solution.state.holds(&one.when)
                    || self.branches().is_faint(branch)
                {
                    continue;
                }
                let from = if forward { one.from } else { one.to };
                match one.law {
                    Law::Source { .. } | Law::Regulated { .. } if forward => {
                        return Some(self.onward(solution, node, start, &onward));
                    }
                    Law::Conductor { .. } | Law::Pulsed { .. } | Law::Lamp { .. } => {}
                    Law::Diode { .. } | Law::Led { .. } if forward => {}
                    _ => continue,
                }
                if from != NEGATIVE && from != start && !onward.contains_key(&from) {
                    onward.insert(from, (branch, node));
                    queue.push_back(from);
                }
            }
        }
        None
    }

    /// The path from a node to its end.
    fn onward(
        &self,
        solution: &Solution,
        first: NodeId,
        end: NodeId,
        onward: &BTreeMap<NodeId, (BranchId, NodeId)>,
    ) -> CurrentPath {
        let assembly = &self.wiring.assembly;
        let pin = |node: NodeId| self.wiring.model.pin_ids().find(|pin| assembly.pin(*pin) == Some(node));
        let mut path = CurrentPath { start: pin(first).into(), steps: Vec::new() };
        let mut node = first;
        while let Some((branch, next)) = onward.get(&node).filter(|_| node != end) {
            let amps: Amps = solution.amps(*branch).abs();
            let volts: Volts = solution.volts(*next);
            let steps = self.branches().via(*branch).map(|via| PathStep { via, to: pin(*next).into(), volts, amps });
            path.steps.extend(steps);
            node = *next;
        }
        path
    }
}
