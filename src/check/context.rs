//! What rules look at: the model with its nets, its signal graph and its solved states, all worked out once.

use super::Finding;
use super::path::Branches;
use super::protection::Protection;
use super::screens::ScreenFaults;
use super::walk::Neighbours;
use super::worst::{Moment, Worst};
use crate::form::Place;
use crate::graph::Nets;
use crate::model::{Domain, ElementKind, Model, PartId, PinId, RunId, VehicleFeed, Wire, WireId};
use crate::solve::Solution;
use crate::spec::{Covering, Surroundings};
use crate::states::{Solved, state_name};

/// A harness as rules see it.
#[derive(Debug)]
pub struct Context<'m> {
    /// The harness.
    pub model: &'m Model,
    /// Its graph, its circuit, its states at the nominal corner.
    pub solved: Solved<'m>,
    /// Pins joined by wires and mated cavities.
    pub nets: Nets,
    /// The worst of every current and voltage over all states and corners.
    pub worst: Worst,
    /// Branches of the circuit by node, for following a current.
    pub branches: Branches,
    /// What the screens show and should not.
    pub screens: ScreenFaults,
    /// What fuse protects each wire.
    pub protection: Protection,
    pub(super) neighbours: Neighbours,
    /// For each pin, the wires on it.
    wires_on: Vec<Vec<WireId>>,
    /// For each run, how many of its wires carry load current.
    loaded_in_run: Vec<usize>,
}

impl<'m> Context<'m> {
    /// Works everything out.
    pub fn new(model: &'m Model) -> Context<'m> {
        let solved = Solved::new(model);
        let mut wires_on = vec![Vec::new(); model.pins.len()];
        let mut loaded_in_run = vec![0; model.runs.len()];
        for id in model.wire_ids() {
            let wire = model.wire(id);
            wire.ends.iter().for_each(|end| wires_on[end.0].push(id));
            if carries_load(wire) {
                wire.path.iter().for_each(|run| loaded_in_run[run.0] += 1);
            }
        }
        let neighbours = Neighbours::new(model, &solved.graph);
        let worst = Worst::new(&solved);
        Context {
            nets: Nets::new(model),
            screens: ScreenFaults::new(&solved, &worst),
            worst,
            branches: Branches::new(model, &solved.assembly),
            protection: Protection::new(model, &neighbours),
            neighbours,
            model,
            solved,
            wires_on,
            loaded_in_run,
        }
    }

    /// The wires on a pin.
    pub fn wires_on(&self, pin: PinId) -> &[WireId] {
        &self.wires_on[pin.0]
    }

    /// Whether anything ends on a pin: a wire, or a cavity that meets it.
    pub fn is_joined(&self, pin: PinId) -> bool {
        !self.wires_on(pin).is_empty() || self.neighbours.has_joint(pin)
    }

    /// The pins that meet a pin without a wire.
    pub fn mates(&self, pin: PinId) -> Vec<PinId> {
        let joints = self.model.joints.iter().filter(|joint| joint.pins.contains(&pin));
        joints.map(|joint| joint.pins[usize::from(joint.pins[0] == pin)]).collect()
    }

    /// The circuit at a moment, with the finding that shows there.
    pub fn shown_at(&self, finding: Finding, moment: &Moment) -> (Finding, Option<Solution>) {
        let solution = self.solution(moment);
        let finding = match &solution {
            Some(solution) => finding.shown_in(state_name(&self.solved, solution), moment.corner),
            None => finding,
        };
        (finding, solution)
    }

    /// A moment in words: `in state reverse, key run`.
    pub fn state_words(&self, moment: &Moment) -> String {
        let name = self.solution(moment).map(|solution| state_name(&self.solved, &solution));
        match name.as_deref() {
            Some("at rest") => "at rest".into(),
            Some(name) => format!("in state {name}"),
            None => "in some state".into(),
        }
    }

    /// `wire 7`.
    pub fn wire_words(&self, wire: WireId) -> String {
        format!("wire {}", self.model.wire(wire).id)
    }

    /// How many wires with load current run beside each other where most of them do, this one included.
    pub fn bundled(&self, wire: WireId) -> usize {
        let wire = self.model.wire(wire);
        let own = usize::from(!carries_load(wire));
        wire.path.iter().map(|run| self.loaded_in_run[run.0] + own).max().unwrap_or(1)
    }

    /// In what company a wire runs, in words.
    pub fn company(&self, wire: WireId) -> String {
        let bundled = self.bundled(wire);
        let beside = if bundled > 2 { format!("among {bundled} loaded wires") } else { "by itself".to_string() };
        if self.in_engine_space(wire) { format!("{beside}, in an engine space") } else { beside }
    }

    /// Whether a wire runs, in part at least, inside an engine space. One that stays at its place does where every run
    /// from there does.
    pub fn in_engine_space(&self, wire: WireId) -> bool {
        let model = self.model;
        let hot = |run: &RunId| model.runs[run.0].surroundings == Surroundings::EngineSpace;
        let wire = model.wire(wire);
        if !wire.path.is_empty() {
            return wire.path.iter().any(hot);
        }
        let at = model.part(model.pin(wire.ends[0]).part).at;
        let from_here: Vec<RunId> = (0..model.runs.len())
            .map(RunId)
            .filter(|r| at.is_some_and(|at| model.runs[r.0].ends.contains(&at)))
            .collect();
        !from_here.is_empty() && from_here.iter().all(hot)
    }

    /// Whether conduit or sleeve covers a wire all the way.
    pub fn is_sheathed(&self, wire: WireId) -> bool {
        let covered = |run: &RunId| matches!(self.model.runs[run.0].covering, Covering::Conduit | Covering::Sleeve);
        let path = &self.model.wire(wire).path;
        !path.is_empty() && path.iter().all(covered)
    }

    /// The vehicle's wire that a tap is on.
    pub fn feed_at(&self, pin: PinId) -> Option<&'m VehicleFeed> {
        let part = self.model.part(self.model.pin(pin).part);
        part.elements.iter().find_map(|id| match &self.model.element(*id).kind {
            ElementKind::Feed(feed) if feed.pin == pin => Some(feed),
            _ => None,
        })
    }

    /// Where something ends on a pin: the end of its first wire, else the name of its part.
    pub fn end_place(&self, pin: PinId) -> Place {
        let Some(&first) = self.wires_on(pin).first() else { return self.part_place(self.model.pin(pin).part) };
        let wire = self.model.wire(first);
        wire.end_places[usize::from(wire.ends[0] != pin)]
    }

    /// Where a part stands in the spec.
    pub fn part_place(&self, part: PartId) -> Place {
        self.model.part(part).place
    }
}

/// Whether a wire is one that carries the current of loads, by what it is for. Triggers, pictures and data carry next to
/// nothing and don't warm their bundle.
fn carries_load(wire: &Wire) -> bool {
    matches!(wire.domain, Domain::Power | Domain::Ground)
}
