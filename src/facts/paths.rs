//! Paths of current in a solved state: from the supply through something to the battery's negative, by the greater
//! share at each fork.

use super::branches::Branches;
use circuit::{CurrentPath, PathStep, Solution, Spot, Tracer, Via};
use model::{ElementId, ElementKind, PartId, PinId, SignalId, SignalKind, WireId};
use quantity::Amps;
use states::Wiring;

/// Follows currents through the solutions of one harness.
#[derive(Debug)]
pub struct Paths<'m> {
    wiring: &'m Wiring<'m>,
    tracer: Tracer,
}

impl<'m> Paths<'m> {
    pub(super) fn new(wiring: &'m Wiring<'m>) -> Paths<'m> {
        Paths { wiring, tracer: Tracer::new(wiring.model, &wiring.assembly) }
    }

    /// Which part or wire of the harness each branch of the circuit is.
    pub fn branches(&self) -> Branches<'_> {
        Branches::new(self.wiring, &self.tracer)
    }

    /// The path of the current that moves a signal: through the coil of a relay that takes most, into a trigger input,
    /// into the feed of the part that works. Empty for timers, which no current moves.
    pub fn of_signal(&self, solution: &Solution, id: SignalId) -> CurrentPath {
        match &self.wiring.model.signals[id.0].kind {
            SignalKind::Relay { coils, .. } => {
                let amps = |coil: &ElementId| self.wiring.assembly.amps(solution, *coil).value().abs();
                let most = coils.iter().max_by(|a, b| amps(a).total_cmp(&amps(b)));
                most.map_or_else(CurrentPath::default, |coil| self.through_coil(solution, *coil))
            }
            SignalKind::Sense { pin, .. } => self.over(solution, *pin),
            SignalKind::Working { feed, .. } => self.over(solution, *feed),
            SignalKind::Timer { .. } => CurrentPath::default(),
        }
    }

    /// The path of a coil's current, whichever way it goes.
    pub fn through_coil(&self, solution: &Solution, id: ElementId) -> CurrentPath {
        let ElementKind::Coil(coil) = &self.wiring.model.element(id).kind else { return CurrentPath::default() };
        let volts = |pin: PinId| self.wiring.assembly.volts(solution, pin);
        let ends = [coil.feed, coil.ground];
        let [from, to] = if volts(ends[0]) >= volts(ends[1]) { ends } else { [ends[1], ends[0]] };
        self.through(solution, id, from, to)
    }

    /// The path of the highest current at any pin of a part.
    pub fn of_part(&self, solution: &Solution, part: PartId) -> CurrentPath {
        let amps = |pin: PinId| -> f64 {
            let wires = self.wiring.model.wires_on(pin).filter_map(|id| self.wiring.assembly.wire(id));
            wires.map(|branch| solution.amps(branch).value().abs()).sum()
        };
        let pins = self.wiring.model.pin_ids().filter(|id| self.wiring.model.pin(*id).part == part);
        let most =
            pins.filter(|pin| self.wiring.assembly.pin(*pin).is_some()).max_by(|a, b| amps(*a).total_cmp(&amps(*b)));
        most.map_or_else(CurrentPath::default, |pin| self.over(solution, pin))
    }

    /// Follows a current no further than the next source: a supply or the output of a converter.
    pub fn tracer(&self) -> &Tracer {
        &self.tracer
    }

    /// The path that the current of an element takes, from the supply through it to the battery's negative.
    pub fn through(&self, solution: &Solution, element: ElementId, feed: PinId, ground: PinId) -> CurrentPath {
        let assembly = &self.wiring.assembly;
        let mut path = self.to(solution, feed);
        path.steps.push(PathStep {
            via: Via::Element(element),
            to: Spot::Pin(ground),
            volts: assembly.volts(solution, ground),
            amps: assembly.amps(solution, element).abs(),
        });
        path.steps.extend(self.from(solution, ground).steps);
        path
    }

    /// The same for an element that takes current either way round: a fuse, a diode, a resistor.
    pub fn across(&self, solution: &Solution, element: ElementId, between: [PinId; 2]) -> CurrentPath {
        let [from, to] = self.along_current(solution, element, between);
        self.through(solution, element, from, to)
    }

    /// The two pins of an element, the one where its current goes in first.
    pub fn along_current(&self, solution: &Solution, element: ElementId, [a, b]: [PinId; 2]) -> [PinId; 2] {
        if self.wiring.assembly.amps(solution, element).value() >= 0.0 { [a, b] } else { [b, a] }
    }

    /// The path of the current into a pin.
    pub fn to(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let assembly = &self.wiring.assembly;
        let mut path = self.tracer.into_pin(assembly, solution, pin);
        // A converter's output comes from its input. The rounds are bounded in case two converters feed each other.
        for _ in 0..self.wiring.model.elements.len() {
            let Some(input) = path.steps.first().and_then(|step| self.inlet(step.via)) else { break };
            let before = self.tracer.into_pin(assembly, solution, input);
            if before.steps.is_empty() {
                break;
            }
            path.start = before.start;
            path.steps.splice(0..0, before.steps);
        }
        path
    }

    /// The input of the converter that a path begins with.
    fn inlet(&self, via: Via) -> Option<PinId> {
        match via {
            Via::Element(id) => match self.wiring.model.element(id).kind {
                ElementKind::Converter { input, .. } => Some(input),
                _ => None,
            },
            _ => None,
        }
    }

    /// The path of the current out of a pin, to the battery's negative.
    pub fn from(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        self.tracer.out_of_pin(&self.wiring.assembly, solution, pin)
    }

    /// The path of the current into a pin and out of it.
    pub fn over(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let mut path = self.to(solution, pin);
        path.steps.extend(self.from(solution, pin).steps);
        path
    }

    /// The path of the current that the harness takes from a pin: through the wire that takes most, or gives most if
    /// all give.
    pub fn taken_from(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        let assembly = &self.wiring.assembly;
        let taken = |id: &WireId| {
            let sign = if self.wiring.model.wire(*id).ends[0] == pin { 1.0 } else { -1.0 };
            assembly.wire(*id).map_or(0.0, |branch| solution.amps(branch).value() * sign)
        };
        let most = |a: &WireId, b: &WireId| taken(a).abs().total_cmp(&taken(b).abs());
        let Some(id) = self.wiring.model.wires_on(pin).max_by(most) else { return self.over(solution, pin) };
        let wire = self.wiring.model.wire(id);
        let other = wire.ends[usize::from(wire.ends[0] == pin)];
        let amps = taken(&id);
        if amps < 0.0 {
            let mut path = self.to(solution, other);
            path.steps.push(self.along(solution, id, pin, amps.abs()));
            path.steps.extend(self.from(solution, pin).steps);
            return path;
        }
        let mut path = self.to(solution, pin);
        path.steps.push(self.along(solution, id, other, amps));
        path.steps.extend(self.from(solution, other).steps);
        path
    }

    fn along(&self, solution: &Solution, wire: WireId, to: PinId, amps: f64) -> PathStep {
        let volts = self.wiring.assembly.volts(solution, to);
        PathStep { via: Via::Wire(wire), to: Spot::Pin(to), volts, amps: Amps::new(amps) }
    }
}
