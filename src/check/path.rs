//! The way that a current takes in a solved state, as evidence, and what a load's wires lose on it.

use super::{Context, Waypoint};
use model::{ElementId, ElementKind, Load, Model, PartId, PinId, SignalId, SignalKind, WireId};
use quantity::{Amps, MOST_AMPS, Volts};
use solve::{Assembly, BranchId, CurrentPath, PathStep, Solution, Via};

/// What a load's wires lose.
#[derive(Debug, Clone)]
pub struct Loss {
    /// In all wires and mated contacts on the way there and back.
    pub volts: Volts,
    /// The wire that loses most, and what it loses.
    pub worst: Option<(WireId, Volts)>,
    /// The whole way.
    pub way: CurrentPath,
}

impl Context<'_> {
    /// The way of the current that moves a signal: through the coil of a relay that takes most, into a trigger input, into
    /// the feed of what works. Empty for timers, which no current moves.
    pub fn way_of_signal(&self, solution: &Solution, id: SignalId) -> CurrentPath {
        match &self.model.signals[id.0].kind {
            SignalKind::Relay { coils, .. } => {
                let amps = |coil: &ElementId| self.solved.assembly.amps(solution, *coil).value().abs();
                let most = coils.iter().max_by(|a, b| amps(a).total_cmp(&amps(b)));
                most.map_or_else(CurrentPath::default, |coil| self.way_through_coil(solution, *coil))
            }
            SignalKind::Sense { pin, .. } => self.way_over(solution, *pin),
            SignalKind::Working { feed, .. } => self.way_over(solution, *feed),
            SignalKind::Timer { .. } => CurrentPath::default(),
        }
    }

    /// The way of a coil's current, whichever way it goes.
    pub fn way_through_coil(&self, solution: &Solution, id: ElementId) -> CurrentPath {
        let ElementKind::Coil(coil) = &self.model.element(id).kind else { return CurrentPath::default() };
        let volts = |pin: PinId| self.solved.assembly.volts(solution, pin);
        let ends = [coil.feed, coil.ground];
        let [from, to] = if volts(ends[0]) >= volts(ends[1]) { ends } else { [ends[1], ends[0]] };
        self.way_through(solution, id, from, to)
    }

    /// The way of the greatest current at any pin of a part.
    pub fn way_of_part(&self, solution: &Solution, part: PartId) -> CurrentPath {
        let amps = |pin: PinId| -> f64 {
            let wires = self.wires_on(pin).iter().filter_map(|id| self.solved.assembly.wire(*id));
            wires.map(|branch| solution.amps(branch).value().abs()).sum()
        };
        let pins = self.model.pin_ids().filter(|id| self.model.pin(*id).part == part);
        let most =
            pins.filter(|pin| self.solved.assembly.pin(*pin).is_some()).max_by(|a, b| amps(*a).total_cmp(&amps(*b)));
        most.map_or_else(CurrentPath::default, |pin| self.way_over(solution, pin))
    }

    /// The way that the current of an element takes, from the supply through it to the battery's negative.
    pub fn way_through(&self, solution: &Solution, element: ElementId, feed: PinId, ground: PinId) -> CurrentPath {
        let assembly = &self.solved.assembly;
        let mut way = self.way_to(solution, feed);
        way.steps.push(PathStep {
            via: Via::Element(element),
            pin: Some(ground),
            volts: assembly.volts(solution, ground),
            amps: assembly.amps(solution, element).abs(),
        });
        way.steps.extend(self.tracer.out_of_pin(assembly, solution, ground).steps);
        way
    }

    /// The same for an element that takes current either way round: a fuse, a diode, a resistor.
    pub fn way_across(&self, solution: &Solution, element: ElementId, between: [PinId; 2]) -> CurrentPath {
        let [from, to] = self.along_current(solution, element, between);
        self.way_through(solution, element, from, to)
    }

    /// The two pins of an element, the one where its current goes in first.
    pub fn along_current(&self, solution: &Solution, element: ElementId, [a, b]: [PinId; 2]) -> [PinId; 2] {
        if self.solved.assembly.amps(solution, element).value() >= 0.0 { [a, b] } else { [b, a] }
    }

    /// The way by which current comes to a pin.
    pub fn way_to(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let assembly = &self.solved.assembly;
        let mut way = self.tracer.into_pin(assembly, solution, pin);
        // What a converter gives it takes itself; the rounds are bounded should two feed each other.
        for _ in 0..self.model.elements.len() {
            let Some(input) = way.steps.first().and_then(|step| self.inlet(step.via)) else { break };
            let before = self.tracer.into_pin(assembly, solution, input);
            if before.steps.is_empty() {
                break;
            }
            way.start = before.start;
            way.steps.splice(0..0, before.steps);
        }
        way
    }

    /// Where the converter takes its current that a way begins with.
    fn inlet(&self, via: Via) -> Option<PinId> {
        match via {
            Via::Element(id) => match self.model.element(id).kind {
                ElementKind::Converter { input, .. } => Some(input),
                _ => None,
            },
            _ => None,
        }
    }

    /// The way by which current comes to a pin and leaves it again.
    pub fn way_over(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let mut way = self.way_to(solution, pin);
        way.steps.extend(self.tracer.out_of_pin(&self.solved.assembly, solution, pin).steps);
        way
    }

    /// The way by which the harness takes current from a pin: by the wire that takes most, or gives most where all give.
    pub fn way_taken(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let assembly = &self.solved.assembly;
        let taken = |id: &WireId| {
            let sign = if self.model.wire(*id).ends[0] == pin { 1.0 } else { -1.0 };
            assembly.wire(*id).map_or(0.0, |branch| solution.amps(branch).value() * sign)
        };
        let most = |a: &&WireId, b: &&WireId| taken(a).abs().total_cmp(&taken(b).abs());
        let Some(&id) = self.wires_on(pin).iter().max_by(most) else { return self.way_over(solution, pin) };
        let wire = self.model.wire(id);
        let other = wire.ends[usize::from(wire.ends[0] == pin)];
        let amps = taken(&id);
        if amps < 0.0 {
            let mut way = self.way_to(solution, other);
            way.steps.push(self.along(solution, id, pin, amps.abs()));
            way.steps.extend(self.tracer.out_of_pin(assembly, solution, pin).steps);
            return way;
        }
        let mut way = self.way_to(solution, pin);
        way.steps.push(self.along(solution, id, other, amps));
        way.steps.extend(self.tracer.out_of_pin(assembly, solution, other).steps);
        way
    }

    fn along(&self, solution: &Solution, wire: WireId, to: PinId, amps: f64) -> PathStep {
        let volts = self.solved.assembly.volts(solution, to);
        PathStep { via: Via::Wire(wire), pin: Some(to), volts, amps: Amps::new(amps) }
    }

    /// A way in words, for evidence; none where nothing flows.
    pub fn waypoints(&self, solution: &Solution, way: &CurrentPath) -> Vec<Waypoint> {
        let model = self.model;
        let name =
            |pin: Option<PinId>| pin.map_or_else(|| "the battery's negative".to_string(), |pin| model.pin_name(pin));
        let through = |step: &PathStep| match step.via {
            Via::Wire(id) => self.wire_words(id),
            Via::Joint(_) => "mated contacts".to_string(),
            Via::Element(id) => {
                let element = model.element(id);
                let name = &model.part(element.part).name;
                match element.kind {
                    ElementKind::Derived { .. } if step.pin.is_none() => format!("what else hangs on {name}"),
                    _ => name.to_string(),
                }
            }
        };
        let mut points: Vec<Waypoint> = Vec::new();
        if !way.steps.is_empty() {
            let volts = way.start.map_or(Volts::new(0.0), |pin| self.solved.assembly.volts(solution, pin));
            points.push(Waypoint { pin: name(way.start), volts, through: None, amps: None });
        }
        points.extend(way.steps.iter().map(|step| Waypoint {
            pin: name(step.pin),
            volts: step.volts,
            through: Some(through(step)),
            amps: Some(step.amps),
        }));
        // The battery's own resistance lies before its terminal; nobody asks for it.
        if way.start.is_none() && points.len() > 1 {
            points.remove(0);
            (points[0].through, points[0].amps) = (None, None);
        }
        points
    }

    /// What the wires of a load lose on the way there and back.
    pub fn loss(&self, solution: &Solution, element: ElementId, load: &Load) -> Loss {
        let assembly = &self.solved.assembly;
        let way = self.way_through(solution, element, load.feed, load.ground);
        let mut loss = Loss { volts: Volts::new(0.0), worst: None, way: CurrentPath::default() };
        for step in &way.steps {
            let (branch, wire) = match step.via {
                Via::Wire(id) => (assembly.wire(id), Some(id)),
                Via::Joint(joint) => (assembly.joint(joint), None),
                Via::Element(_) => continue,
            };
            // Beside a current that nothing limits it says nothing.
            if step.amps > MOST_AMPS {
                continue;
            }
            let volts = branch.map_or(Volts::new(0.0), |branch| solution.across(branch).abs());
            loss.volts = loss.volts + volts;
            if let Some(wire) = wire
                && loss.worst.is_none_or(|(_, most)| volts > most)
            {
                loss.worst = Some((wire, volts));
            }
        }
        loss.way = way;
        loss
    }
}

/// The branches of wires and mated contacts on a pin, each with the sign that makes current away from the pin positive.
pub(super) fn leaving(model: &Model, assembly: &Assembly, pin: PinId) -> Vec<(BranchId, f64)> {
    let sign = |ends: [PinId; 2]| if ends[0] == pin { 1.0 } else { -1.0 };
    let wires = model.wires_on(pin).filter_map(|id| Some((assembly.wire(id)?, sign(model.wire(id).ends))));
    let joints = model.joints.iter().enumerate().filter(|(_, joint)| joint.pins.contains(&pin));
    wires.chain(joints.filter_map(|(i, joint)| Some((assembly.joint(i)?, sign(joint.pins))))).collect()
}
