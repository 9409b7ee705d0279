//! The screens of coaxial cables as grounds: where the ground of a camera or a screen is lost, its current goes back over
//! them to the other's.
//!
//! Only what becomes of a lost ground is solved with them. With every ground whole they lie beside wires of a tenth of their
//! resistance or less, and hang on the shells of plugs that nobody builds to carry a supply: what they take off a drop or
//! a lift is millivolts, and left out the figure is on the safe side. With a ground lost they are the only way.

use super::worst::Moment;
use super::{Context, Waypoint, tables};
use model::{Domain, Model, PinId, ScreenEnd, SignalId, SignalKind, WireId};
use quantity::{Amps, Ohms};
use solve::{Assembly, BranchId, Circuit, Law, NodeId, Reading, Solution, Solver};
use spec::WireMake;
use std::collections::BTreeMap;

/// The circuit with the screens of its cables, and which branch is which cable's.
pub struct Braids {
    circuit: Circuit,
    cables: Vec<(WireId, BranchId)>,
    /// How many branches are the harness's; the screens' come after.
    own: usize,
    /// The pin of each node that is one.
    pins: BTreeMap<NodeId, PinId>,
}

/// What goes through the screen of a cable.
#[derive(Debug, Clone, Copy)]
pub struct Carried {
    /// The cable.
    pub wire: WireId,
    /// Through its screen.
    pub amps: Amps,
    /// What of that comes of the loss.
    pub more: Amps,
    branch: BranchId,
}

/// A circuit with a ground lost.
pub struct Lost {
    /// Its voltages and currents, the screens' currents after all others.
    pub solution: Solution,
    /// What goes through each cable's screen, what most comes of the loss first.
    pub carried: Vec<Carried>,
}

impl Braids {
    /// Of a harness; `None` where no cable's screen joins anything.
    pub fn new(model: &Model, assembly: &Assembly) -> Option<Braids> {
        let mut circuit = assembly.circuit.clone();
        let own = circuit.branches.len();
        let mut spots: BTreeMap<ScreenEnd, NodeId> = BTreeMap::new();
        let mut node = |circuit: &mut Circuit, pin: PinId| {
            let end = model.screen_end(pin);
            let known = match end {
                ScreenEnd::Pin(pin) => assembly.pin(pin),
                _ => None,
            };
            known.unwrap_or_else(|| {
                *spots.entry(end).or_insert_with(|| circuit.node(format!("the screen at {}", model.pin_name(pin))))
            })
        };
        let mut cables = Vec::new();
        for id in model.wire_ids() {
            let wire = model.wire(id);
            if wire.make == WireMake::Coax && wire.domain == Domain::Video {
                let [from, to] = wire.ends.map(|end| node(&mut circuit, end));
                let ohms = tables::screen_per_metre() * wire.length.unwrap_or(model.limits.local_length).value();
                let law = Law::Conductor { ohms, copper: true };
                cables.push((id, circuit.branch(format!("screen of wire {}", wire.id), from, to, law)));
            }
        }
        // Where a connector has no ground, the screens go through beside their pictures.
        for joint in model.joints.iter().filter(|joint| model.pin(joint.pins[0]).domain == Domain::Video) {
            if joint.pins.iter().any(|pin| matches!(model.screen_end(*pin), ScreenEnd::Alone(_))) {
                let [from, to] = joint.pins.map(|pin| node(&mut circuit, pin));
                circuit.resistor("screens in each other", from, to, joint.resistance.max(Ohms::new(0.001)));
            }
        }
        let pins = model.pin_ids().filter_map(|pin| Some((assembly.pin(pin)?, pin))).collect();
        (!cables.is_empty()).then_some(Braids { circuit, cables, own, pins })
    }

    /// What becomes of a lost ground at a moment, the screens there; `None` where it finds no rest.
    pub fn lost(&self, ground: BranchId, moment: &Moment) -> Option<Lost> {
        let whole = Solver::new(&self.circuit, moment.corner).settle(&moment.state).settled()?;
        let solution = opened(&self.circuit, ground, moment)?;
        let of = |(wire, branch): &(WireId, BranchId)| {
            let [before, amps] = [&whole, &solution].map(|solution| solution.amps(*branch));
            Carried { wire: *wire, amps: amps.abs(), more: (amps - before).abs(), branch: *branch }
        };
        let mut carried: Vec<Carried> = self.cables.iter().map(of).collect();
        carried.sort_by(|a, b| b.more.value().total_cmp(&a.more.value()).then(a.wire.cmp(&b.wire)));
        Some(Lost { solution, carried })
    }

    /// Whether nothing tells of a lost ground: all that works with the ground whole works on, some of it over screens alone.
    pub fn hides(&self, context: &Context, ground: BranchId, moment: &Moment, lost: &Lost) -> bool {
        let (model, assembly) = (context.model, &context.solved.assembly);
        let bare = opened(&assembly.circuit, ground, moment);
        let (Some(whole), Some(bare)) = (context.solution(moment), bare) else { return false };
        let on = |solution: &Solution, id| assembly.reading(model, solution, id) == Reading::On;
        let works = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Working { .. }) && on(&whole, *id);
        let working: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(works).collect();
        working.iter().all(|id| on(&lost.solution, *id)) && working.iter().any(|id| !on(&bare, *id))
    }

    /// The way of a current over the screen of a cable, as evidence: from the supply to where it goes onto screens, along
    /// them, and on to the battery's negative.
    pub fn way(&self, context: &Context, solution: &Solution, carried: &Carried) -> Vec<Waypoint> {
        let chain = self.chain(solution, carried.branch);
        let pin = |step: Option<&[NodeId; 2]>, end: usize| step.and_then(|ends| self.pins.get(&ends[end])).copied();
        let steps: Vec<[NodeId; 2]> = chain.iter().map(|(_, ends)| *ends).collect();
        let before = pin(steps.first(), 0).map(|from| context.waypoints(solution, &context.way_to(solution, from)));
        let mut points = before.unwrap_or_default();
        for (branch, [_, to]) in &chain {
            points.push(Waypoint {
                pin: self.circuit.nodes[to.index()].clone(),
                volts: solution.volts(*to),
                through: Some(self.words(context, *branch)).filter(|_| !points.is_empty()),
                amps: Some(solution.amps(*branch).abs()).filter(|_| !points.is_empty()),
            });
        }
        if let Some(to) = pin(steps.last(), 1) {
            let way = context.tracer.out_of_pin(&context.solved.assembly, solution, to);
            points.extend(context.waypoints(solution, &way).into_iter().skip(1));
        }
        points
    }

    fn words(&self, context: &Context, branch: BranchId) -> String {
        match self.cables.iter().find(|(_, other)| *other == branch) {
            Some((wire, _)) => format!("the screen of {}", context.wire_words(*wire)),
            None => "mated contacts".to_string(),
        }
    }

    /// The screens that a current goes along, one after the other, by the greater share at each fork, each with its ends
    /// along the current.
    fn chain(&self, solution: &Solution, through: BranchId) -> Vec<(BranchId, [NodeId; 2])> {
        let along = |branch: BranchId| {
            let one = &self.circuit.branches[branch.index()];
            let ends = if solution.amps(branch).value() >= 0.0 { [one.from, one.to] } else { [one.to, one.from] };
            (branch, ends)
        };
        let screens: Vec<(BranchId, [NodeId; 2])> =
            (self.own..self.circuit.branches.len()).map(|k| along(BranchId(k as u32))).collect();
        let greatest = |node: NodeId, end: usize| {
            let there = screens.iter().filter(|(_, ends)| ends[end] == node);
            there.max_by(|a, b| solution.amps(a.0).abs().value().total_cmp(&solution.amps(b.0).abs().value())).copied()
        };
        let mut chain = vec![along(through)];
        // Current never comes back to where it was, so neither way is longer than there are screens.
        for _ in 0..screens.len() {
            let (first, last) = (chain[0].1[0], chain[chain.len() - 1].1[1]);
            let before = Some(first).filter(|node| !self.pins.contains_key(node)).and_then(|node| greatest(node, 1));
            let after = Some(last).filter(|node| !self.pins.contains_key(node)).and_then(|node| greatest(node, 0));
            chain.splice(0..0, before);
            chain.extend(after);
        }
        chain
    }
}

/// A circuit at a moment with one branch open.
fn opened(circuit: &Circuit, branch: BranchId, moment: &Moment) -> Option<Solution> {
    Solver::new(&circuit.without([branch]), moment.corner).settle(&moment.state).settled()
}
