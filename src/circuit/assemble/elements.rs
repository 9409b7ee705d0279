//! The branches of each kind of element.

use super::{Builder, CONVERTER_KEEPS_SHARE, USUAL_LEAST_SHARE};
use crate::circuit::{ActorRule, Law, Senses};
use crate::ids::{BranchId, NEGATIVE, NodeId};
use crate::logic::Logic;
use catalogue::part_form::{Across, LoadKind};
use model::{Coil, ElementId, ElementKind, Load, PinId, SignalId, StateCondition, VehicleFeed};
use quantity::{Amps, Ohms, Share, Volts};

/// Voltage up to which leakage grows in proportion (typical of a semiconductor output that is off).
const LEAKAGE_KNEE: Volts = Volts::new(1.0);

/// Voltage of a suppressor across a coil, by the job's nominal voltage: 27 V at 12 V (typical).
const SUPPRESSOR_SHARE: f64 = 2.25;

/// Knee and slope of a diode across a coil (typical of a 1 A silicon diode).
const COIL_DIODE: (Volts, Ohms) = (Volts::new(0.7), Ohms::new(0.1));

/// A converter's ground pin may be this far below the battery's negative; it has surely lost its ground at the second.
/// A ground wire never lets it go below (typical).
const GROUND_DRIFTS: [Volts; 2] = [Volts::new(-0.5), Volts::new(-1.0)];

/// What a converter's electronics take while it is off, as a resistance: with its ground lost, its ground pin follows
/// its input (typical, a microampere).
const CONVERTER_OFF: Ohms = Ohms::new(10e6);

/// A semiconductor that is off still conducts backwards: the diode that is part of every MOSFET (typical).
fn body_diode() -> Law {
    Law::Diode { knee: Volts::new(0.7), ohms: Ohms::new(0.05), zener: None }
}

/// Share of its nominal voltage below which an LED lamp draws nothing (typical:
/// three LEDs in a row with their resistor).
const LED_KNEE_SHARE: f64 = 0.6;

impl Builder<'_> {
    fn add(&mut self, id: ElementId, name: String, ends: [NodeId; 2], law: Law, when: Logic) -> BranchId {
        let branch = self.out.circuit.switched(name, ends[0], ends[1], law, when);
        self.out.elements[id.0].push(branch);
        branch
    }

    fn between(&mut self, id: ElementId, what: &str, ends: [PinId; 2], law: Law, when: Logic) -> BranchId {
        let pins = ends.map(|end| self.model.pin(end));
        let part = &self.model.part(self.model.element(id).part).name;
        let name = match what {
            "" => format!("{part} {}-{}", pins[0].name, pins[1].name),
            _ => format!("{part} {what}"),
        };
        let ends = ends.map(|end| self.node(end));
        self.add(id, name, ends, law, when)
    }

    fn tolerate(&mut self, branch: BranchId, tolerance: Share) {
        self.out.circuit.branches[branch.index()].tolerance = tolerance;
    }

    pub(super) fn element(&mut self, id: ElementId) {
        let part = self.model.part(self.model.element(id).part).name.to_string();
        let conductor = |ohms: Ohms| Law::Conductor { ohms, copper: false };
        match &self.model.element(id).kind {
            ElementKind::Battery { plus, volts, resistance, .. } => {
                let plus = self.node(*plus);
                let law = Law::Source { volts: *volts, ohms: *resistance };
                self.add(id, part, [NEGATIVE, plus], law, Logic::Always);
            }
            ElementKind::Derived { from, pin, resistance, when, others, .. } => {
                let (ends, when) = ([*from, *pin].map(|pin| self.node(pin)), self.out.logic(when));
                self.add(id, part.clone(), ends, conductor(*resistance), when);
                // While it is live, the vehicle's own wiring feeds its other loads, and the volts that the spec states
                // include them. While it is off, they are the path to ground of current that comes back into it.
                if *others > Amps::new(0.0) {
                    let off = self.out.logic(&self.model.live(*pin)).negated();
                    let law = conductor(self.model.job.nominal / *others);
                    self.add(id, format!("{part} vehicle's other loads"), [ends[1], NEGATIVE], law, off);
                }
            }
            ElementKind::Feed(feed) => self.feed(id, part, feed),
            ElementKind::GroundPoint { pin, resistance } => {
                let pin = self.node(*pin);
                self.add(id, part, [pin, NEGATIVE], conductor(*resistance), Logic::Always);
            }
            ElementKind::Resistor { between, resistance, tolerance, .. }
            | ElementKind::Fuse { between, resistance, tolerance, .. } => {
                let branch = self.between(id, "", *between, conductor(*resistance), Logic::Always);
                self.tolerate(branch, *tolerance);
            }
            ElementKind::Coil(coil) => self.coil(id, coil),
            ElementKind::Contact { relay, common, made, rest, resistance, .. } => {
                let on = self.out.signals[relay.0].clone();
                let sides = [(made, on.clone()), (rest, on.negated())];
                for (pin, when) in sides {
                    if let Some(pin) = pin {
                        self.between(id, "", [*common, *pin], conductor(*resistance), when);
                    }
                }
            }
            ElementKind::Diode { anode, cathode, knee, resistance, blocks, .. } => {
                let law = Law::Diode { knee: *knee, ohms: *resistance, zener: *blocks };
                self.between(id, "", [*anode, *cathode], law, Logic::Always);
            }
            ElementKind::Load(load) => self.load(id, load),
            ElementKind::Sense { pin, ground, resistance, pull_up, .. } => {
                self.between(id, "", [*pin, *ground], conductor(*resistance), Logic::Always);
                if let Some((feed, ohms)) = pull_up {
                    self.between(id, "", [*feed, *pin], conductor(*ohms), Logic::Always);
                }
            }
            ElementKind::Port { pin, ground, resistance } => {
                self.between(id, "", [*pin, *ground], conductor(*resistance), Logic::Always);
            }
            ElementKind::Throw { when, common, throw, resistance, .. } => {
                let when = self.out.logic(when);
                self.between(id, "", [*common, *throw], conductor(*resistance), when);
            }
            ElementKind::Output { pin, other, high_side, when, resistance, leakage, .. } => {
                let ends = if *high_side { [*other, *pin] } else { [*pin, *other] };
                let when = self.out.logic(when);
                self.between(id, "", ends, conductor(*resistance), when.clone());
                if leakage.value() > 0.0 {
                    let law = Law::Current { amps: *leakage, least: LEAKAGE_KNEE };
                    self.between(id, "leakage", ends, law, when.negated());
                }
                self.between(id, "body diode", [ends[1], ends[0]], body_diode(), Logic::Always);
            }
            ElementKind::Converter {
                input,
                output,
                ground,
                volts,
                least,
                efficiency,
                limit,
                idle,
                resistance,
                tolerance,
                working,
                when,
            } => {
                let when = self.converts(&part, *ground, *working, when);
                let law = Law::Regulated { volts: *volts, ohms: *resistance, limit: *limit };
                let output = self.between(id, "output", [*ground, *output], law, when.clone());
                self.tolerate(output, *tolerance);
                let least = *least * CONVERTER_KEEPS_SHARE;
                let law = Law::Drawn { output, efficiency: *efficiency, idle: *idle, least };
                self.between(id, "input", [*input, *ground], law, when);
                self.between(id, "electronics", [*input, *ground], conductor(CONVERTER_OFF), Logic::Always);
            }
            ElementKind::Passes { .. } | ElementKind::Source { .. } => {}
        }
    }

    /// When a converter works: it has its voltage and what else it needs, and its ground pin is not driven below the
    /// battery's negative. Its output and its input share that pin: without a ground, the current of its loads finds no
    /// return.
    fn converts(&mut self, part: &str, ground: PinId, working: SignalId, when: &StateCondition) -> Logic {
        let [on, off] = GROUND_DRIFTS;
        let plus = self.node(ground);
        let rule = ActorRule::Threshold { plus, minus: NEGATIVE, on, off, senses: Senses::Mean };
        let grounded = self.out.circuit.actor(format!("{part} ground"), rule);
        let mut needs = vec![self.out.signals[working.0].clone(), Logic::On(grounded)];
        if *when != StateCondition::Always(true) {
            needs.push(self.out.logic(when));
        }
        Logic::All(needs)
    }

    fn feed(&mut self, id: ElementId, part: String, feed: &VehicleFeed) {
        let pin = self.node(feed.pin);
        let ends = match feed.from {
            Some(from) => [self.node(from), pin],
            None => [pin, NEGATIVE],
        };
        let when = self.out.logic(&feed.when);
        let law = match feed.pulsed {
            Some(duty) => Law::Pulsed { ohms: feed.resistance, duty },
            None => Law::Conductor { ohms: feed.resistance, copper: false },
        };
        self.add(id, part.clone(), ends, law, when.clone());
        if feed.leakage > Amps::new(0.0) {
            let law = Law::Current { amps: feed.leakage, least: LEAKAGE_KNEE };
            self.add(id, format!("{part} leakage"), ends, law, when.negated());
        }
        if feed.semiconductor {
            self.add(id, format!("{part} body diode"), [ends[1], ends[0]], body_diode(), Logic::Always);
        }
        if let Some(watts) = feed.lamps {
            let law = Law::Lamp { rated: self.model.job.nominal, watts };
            let ends = feed.lamps_from.map_or([pin, NEGATIVE], |from| [self.node(from), pin]);
            self.add(id, format!("{part} vehicle's lamps"), ends, law, Logic::Always);
        }
    }

    fn coil(&mut self, id: ElementId, coil: &Coil) {
        let ends = [coil.feed, coil.ground];
        let law = Law::Conductor { ohms: coil.resistance, copper: true };
        let branch = self.between(id, "", ends, law, Logic::Always);
        self.tolerate(branch, coil.tolerance);
        let across = match coil.across {
            Across::Nothing => return,
            Across::Diode => {
                let (knee, ohms) = COIL_DIODE;
                (Law::Diode { knee, ohms, zener: None }, [coil.ground, coil.feed])
            }
            Across::Resistor => {
                // Ten times the resistance of the coil if the kind doesn't say (typical).
                let ohms = coil.across_resistance.unwrap_or(coil.resistance * 10.0);
                (Law::Conductor { ohms, copper: false }, ends)
            }
            Across::Suppressor => {
                let volts = self.model.job.nominal * SUPPRESSOR_SHARE;
                (Law::Suppressor { volts, ohms: Ohms::new(0.5) }, ends)
            }
        };
        self.between(id, "across coil", across.1, across.0, Logic::Always);
    }

    fn load(&mut self, id: ElementId, load: &Load) {
        if load.draws.value() <= 0.0 {
            return;
        }
        let usual = |share: f64| if load.least.value() > 0.0 { load.least } else { load.nominal * share };
        let law = match load.kind {
            LoadKind::Electronic => Law::Current { amps: load.draws, least: usual(USUAL_LEAST_SHARE) },
            LoadKind::ConstantPower => Law::Power { watts: load.nominal * load.draws, least: usual(USUAL_LEAST_SHARE) },
            LoadKind::Resistive | LoadKind::Motor => Law::Conductor { ohms: load.nominal / load.draws, copper: false },
            LoadKind::Lamp => Law::Lamp { rated: load.nominal, watts: load.nominal * load.draws },
            LoadKind::Led => {
                let knee = load.nominal * LED_KNEE_SHARE;
                Law::Led { knee, ohms: (load.nominal - knee) / load.draws }
            }
        };
        let name = load.name.as_ref().map_or_else(|| "load".to_string(), |name| name.to_string());
        let (ends, when) = ([load.feed, load.ground], self.out.logic(&load.when));
        self.between(id, &name, ends, law, when.clone());
        if load.standby.value() > 0.0 {
            let law = Law::Current { amps: load.standby, least: usual(USUAL_LEAST_SHARE) };
            self.between(id, &format!("{name} standby"), ends, law, when.negated());
        }
    }
}
