//! What a meter or a test lamp shows, with the load that it puts on the circuit: each is solved as a variant.

use super::cable::CableSeen;
use super::fault::Harm;
use super::flash::solved_between;
use super::held::HeldNodes;
use super::joined::JoinedNodes;
use circuit::{BranchId, Change, Circuit, Corner, Law, NEGATIVE, NodeId, Solution, State, Variant};
use engine::Solvers;
use facts::Facts;
use model::{PinId, WireId};
use quantity::{Amps, Ohms, Volts};

/// Input resistance of a usual multimeter on volts (common practice, no source).
const METER: Ohms = Ohms::new(10e6);

/// A pin with less voltage has none that a meter's load could take away.
const NO_VOLTS: Volts = Volts::new(0.001);

/// Power of a usual test lamp at the vehicle's voltage, in watts (common practice, no source).
const LAMP: f64 = 5.0;

/// Resistance of a meter on amperes, with its leads (typical, common practice, no source).
pub(crate) const AMMETER: Ohms = Ohms::new(0.05);

/// Voltage of a meter on ohms, too low for diodes to conduct, and its resistance (typical, common practice, no source).
pub(crate) const OHMMETER: (Volts, Ohms) = (Volts::new(0.2), Ohms::new(1000.0));

/// From this resistance on a meter shows an open line.
pub(crate) const OPEN_LINE: Ohms = Ohms::new(1e6);

/// From this resistance on readings are not distinguished: what electronics show an ohmmeter depends on the meter (typical, common
/// practice, no source).
pub(crate) const HIGH_OHMS: Ohms = Ohms::new(500.0);

/// Resistance of a test lead, in each lead.
const LEAD: Ohms = Ohms::new(0.001);

/// Shares of the nominal voltage across a test lamp: below the first it is dark, from the second on it is lit.
pub(crate) const LAMP_BANDS: [f64; 2] = [0.2, 0.65];

/// A reading that is this share of the nominal voltage from what is expected still fits well (typical).
const SPREAD_SHARE: f64 = 0.06;

/// Below this share of the nominal voltage a meter shows nothing, from the other on full voltage.
pub(crate) const BANDS: [f64; 2] = [0.1, 0.75];

/// How often a voltage that flashes is read as a steady one (typical, common practice, no source).
const MISSES_FLASHES: f64 = 0.3;

/// How often a slip shows a voltage in between.
const SELDOM: f64 = 0.2;

/// What is measured, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// The voltage between a pin and the battery's negative.
    Volts(PinId),
    /// The same with the pin's connector or part unplugged.
    Unplugged(PinId),
    /// The voltage between two pins.
    Drop(PinId, PinId),
    /// A test lamp between a pin and the battery's negative.
    Lamp(PinId),
    /// The resistance between two pins, with the battery disconnected.
    Ohms(PinId, PinId),
    /// The resistance between a pin and the battery's negative, with the battery disconnected.
    ToGround(PinId),
    /// The same with the pin's connector or part unplugged.
    Apart(PinId),
    /// The current through a wire, with the meter in series.
    Amps(WireId),
    /// A wire taken off at both ends: from end to end, and to what lies beside it.
    Alone(WireId),
}

/// How a test lamp burns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LampSeen {
    /// Not at all.
    Dark,
    /// Weakly: something in the way has much resistance.
    Dim,
    /// Fully.
    Lit,
}

impl Measure {
    /// Whether the battery is disconnected for it.
    pub(crate) fn is_without_power(self) -> bool {
        matches!(self, Measure::Ohms(..) | Measure::ToGround(_) | Measure::Apart(_) | Measure::Alone(_))
    }
}

/// What a meter or a test lamp shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MeterValue {
    /// A voltage.
    Volts(Volts),
    /// A voltage that comes and goes with a flasher: its size while it is there.
    Flashing(Volts),
    /// A current, without its direction.
    Amps(Amps),
    /// A resistance; infinite for an open line.
    Ohms(Ohms),
    /// A test lamp.
    Lamp(LampSeen),
    /// A wire that is taken off.
    Wire(CableSeen),
}

/// Measures in a faulty harness.
pub(crate) struct Meter<'f, 'm> {
    facts: &'f Facts<'m>,
    /// The circuit with an ohmmeter whose leads are free.
    off: Solvers,
    ohmmeter: BranchId,
    leads: [NodeId; 2],
    held: HeldNodes,
}

impl<'f, 'm> Meter<'f, 'm> {
    pub fn new(facts: &'f Facts<'m>) -> Meter<'f, 'm> {
        let mut circuit: Circuit = facts.solved.assembly.circuit.clone();
        let leads = [circuit.node("ohmmeter +"), circuit.node("ohmmeter -")];
        let (volts, ohms) = OHMMETER;
        let ohmmeter = circuit.branch("ohmmeter", leads[1], leads[0], Law::Source { volts: [volts; 3], ohms });
        let held = HeldNodes::new(&facts.solved.assembly.circuit);
        Meter { facts, off: Solvers::new(circuit), ohmmeter, leads, held }
    }

    /// The same as [`value`](Self::value), from the voltages of pins without a meter. Most readings are known from them: the
    /// meter's load does not change what a low resistance holds.
    pub fn read(
        &self,
        harm: &Harm,
        state: &State,
        measure: Measure,
        volts: impl Fn(PinId) -> MeterValue,
    ) -> Option<MeterValue> {
        let assembly = &self.facts.solved.assembly;
        let is_held = |node| self.held.holds(&assembly.circuit, node, state, &harm.variant);
        if let Measure::Volts(pin) = measure
            && let Some(node) = assembly.pin(pin)
            && (volts(pin).highest().abs() < NO_VOLTS || is_held(node))
        {
            return Some(volts(pin));
        }
        self.value(harm, state, measure)
    }

    /// What is shown in a state that the faulty harness has settled to; `None` if it does not settle with the meter,
    /// or if there is no circuit.
    pub fn value(&self, harm: &Harm, state: &State, measure: Measure) -> Option<MeterValue> {
        let facts = self.facts;
        match measure {
            Measure::Alone(wire) => return Some(MeterValue::Wire(harm.alone(wire))),
            _ if measure.is_without_power() => return self.ohms(harm, measure),
            _ => {}
        }
        let variant = self.leads(measure)?.into_iter().fold(harm.variant.clone(), Variant::and);
        let solution = facts.solved.solvers().settle_variant(Corner::NOMINAL, state, &variant).settled()?;
        let (assembly, nominal) = (&facts.solved.assembly, facts.model.job.nominal);
        let between = solved_between(facts, state, &variant);
        let voltage = |from: PinId, to: Option<PinId>| {
            let of = |solution: &Solution| {
                assembly.mean(solution, from) - to.map_or(Volts::new(0.0), |to| assembly.mean(solution, to))
            };
            MeterValue::voltage(of(&solution), between.as_ref().map(of), nominal)
        };
        Some(match measure {
            Measure::Volts(pin) | Measure::Unplugged(pin) => voltage(pin, None),
            Measure::Drop(from, to) => voltage(from, Some(to)),
            Measure::Lamp(pin) => MeterValue::Lamp(LampSeen::of(voltage(pin, None).highest(), nominal)),
            Measure::Amps(wire) => MeterValue::Amps(solution.amps(facts.solved.assembly.wire(wire)?).abs()),
            Measure::Ohms(..) | Measure::ToGround(_) | Measure::Apart(_) | Measure::Alone(_) => return None,
        })
    }

    /// What the meter or the test lamp changes in the circuit; `None` for ohms, and for pins and wires without a circuit.
    pub fn leads(&self, measure: Measure) -> Option<Vec<Change>> {
        let assembly = &self.facts.solved.assembly;
        let node = |pin: PinId| assembly.pin(pin);
        Some(match measure {
            Measure::Volts(pin) => vec![Change::Between(node(pin)?, NEGATIVE, METER)],
            Measure::Unplugged(pin) => {
                let load = Change::Between(node(pin)?, NEGATIVE, METER);
                self.unplugged(pin).into_iter().chain([load]).collect()
            }
            Measure::Drop(from, to) => vec![Change::Between(node(from)?, node(to)?, METER)],
            Measure::Lamp(pin) => {
                let nominal = self.facts.model.job.nominal.value();
                vec![Change::Between(node(pin)?, NEGATIVE, Ohms::new(nominal * nominal / LAMP))]
            }
            Measure::Amps(wire) => vec![Change::InSeries(assembly.wire(wire)?, AMMETER)],
            Measure::Ohms(..) | Measure::ToGround(_) | Measure::Apart(_) | Measure::Alone(_) => return None,
        })
    }

    fn ohms(&self, harm: &Harm, measure: Measure) -> Option<MeterValue> {
        let variant = self.without_power(harm, measure)?;
        let at_rest = State::at_rest(self.off.circuit());
        let solution = self.off.settle_variant(Corner::NOMINAL, &at_rest, &variant).settled()?;
        Some(Meter::ohms_of(solution.amps(self.ohmmeter)))
    }

    /// The circuit with an ohmmeter, and the ohmmeter.
    #[cfg(test)]
    pub(crate) fn ohmmeter(&self) -> (&Circuit, BranchId) {
        (self.off.circuit(), self.ohmmeter)
    }

    /// What a resistance changes: the battery is off, so every source but the meter is open, and everything is at rest.
    /// Electronics draw nothing at the meter's voltage.
    pub(crate) fn without_power(&self, harm: &Harm, measure: Measure) -> Option<Variant> {
        let node = |pin: PinId| self.facts.solved.assembly.pin(pin);
        let ends = match measure {
            Measure::Ohms(from, to) => [node(from)?, node(to)?],
            Measure::ToGround(pin) | Measure::Apart(pin) => [node(pin)?, NEGATIVE],
            _ => return None,
        };
        let circuit = self.off.circuit();
        let sources = (0..self.ohmmeter.index() as u32).map(BranchId);
        let sources = sources.filter(|id| {
            let law = &circuit.branches[id.index()].law;
            matches!(
                law,
                Law::Source { .. }
                    | Law::Current { .. }
                    | Law::Power { .. }
                    | Law::Drawn { .. }
                    | Law::Regulated { .. }
            )
        });
        let apart = match measure {
            Measure::Apart(pin) => self.unplugged(pin),
            _ => Vec::new(),
        };
        let leads = [0, 1].map(|at| Change::Between(self.leads[at], ends[at], LEAD));
        Some(sources.map(Change::Open).chain(apart).chain(leads).fold(harm.variant.clone(), Variant::and))
    }

    /// What an ohmmeter shows at a current.
    pub(crate) fn ohms_of(amps: Amps) -> MeterValue {
        let (volts, own) = OHMMETER;
        let ohms = (volts.value() / amps.abs().value().max(1e-12) - own.value()).max(0.0);
        MeterValue::Ohms(Ohms::new(if ohms >= OPEN_LINE.value() { f64::INFINITY } else { ohms }))
    }

    /// The nodes that wires and mated cavities join while a resistance is measured.
    pub fn joined(&self, measure: Measure) -> JoinedNodes {
        let (model, assembly) = (self.facts.model, &self.facts.solved.assembly);
        let apart = match measure {
            Measure::Apart(pin) => self.unplugged(pin),
            _ => Vec::new(),
        };
        let wires = model.wire_ids().filter_map(|wire| assembly.wire(wire));
        let joints = (0..model.joints.len()).filter_map(|at| assembly.joint(at));
        let is_there = |branch: &BranchId| !apart.contains(&Change::Open(*branch));
        JoinedNodes::new(&assembly.circuit, wires.chain(joints).filter(is_there).collect())
    }

    /// A connector apart from its mate; any other part pulled out.
    fn unplugged(&self, pin: PinId) -> Vec<Change> {
        let (model, assembly) = (self.facts.model, &self.facts.solved.assembly);
        let part = model.pin(pin).part;
        let is_here = |at: &usize| model.joints[*at].pins.iter().any(|pin| model.pin(*pin).part == part);
        let joints: Vec<usize> = (0..model.joints.len()).filter(is_here).collect();
        let mated = joints.iter().filter_map(|at| assembly.joint(*at)).map(Change::Open);
        match joints.is_empty() {
            false => mated.collect(),
            true => {
                let elements = model.part(part).elements.iter();
                elements.flat_map(|id| assembly.element(*id).iter().map(|branch| Change::Open(*branch))).collect()
            }
        }
    }
}

impl LampSeen {
    /// How a lamp for the nominal voltage burns at another one.
    pub(crate) fn of(volts: Volts, nominal: Volts) -> LampSeen {
        let share = volts.value().abs() / nominal.value();
        match LAMP_BANDS.iter().filter(|limit| share >= **limit).count() {
            0 => LampSeen::Dark,
            1 => LampSeen::Dim,
            _ => LampSeen::Lit,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            LampSeen::Dark => "dark",
            LampSeen::Dim => "dim",
            LampSeen::Lit => "lit",
        }
    }
}

impl MeterValue {
    /// What a meter shows of a voltage with a flasher on, and of another between two flashes.
    pub(crate) fn voltage(on: Volts, between: Option<Volts>, nominal: Volts) -> MeterValue {
        match between.filter(|off| (on - *off).abs() > nominal * BANDS[0]) {
            Some(off) => MeterValue::Flashing(if on.abs() > off.abs() { on } else { off }),
            None => MeterValue::Volts(on),
        }
    }

    /// The voltage while it is there; none for other readings.
    fn highest(self) -> Volts {
        match self {
            MeterValue::Volts(volts) | MeterValue::Flashing(volts) => volts,
            _ => Volts::new(0.0),
        }
    }

    /// The size of a reading in its unit; `None` where it has none.
    pub(crate) fn number(self) -> Option<f64> {
        match self {
            MeterValue::Volts(volts) | MeterValue::Flashing(volts) => Some(volts.value()),
            MeterValue::Amps(amps) => Some(amps.value()),
            MeterValue::Ohms(ohms) => Some(ohms.value()),
            MeterValue::Lamp(_) | MeterValue::Wire(_) => None,
        }
    }

    /// Half way to another value of the kind; itself where there is none.
    pub(crate) fn half_way(self, other: MeterValue) -> MeterValue {
        match (self, other) {
            (MeterValue::Volts(one), MeterValue::Volts(other)) => MeterValue::Volts((one + other) / 2.0),
            (MeterValue::Amps(one), MeterValue::Amps(other)) => MeterValue::Amps((one + other) / 2.0),
            _ => self,
        }
    }

    /// The value between this and a limit that is nearest to a reading.
    pub(crate) fn toward(self, read: MeterValue, limit: MeterValue) -> MeterValue {
        let between = |own: f64, read: f64, limit: f64| read.clamp(own.min(limit), own.max(limit));
        match (self, read, limit) {
            (MeterValue::Volts(own), MeterValue::Volts(read), MeterValue::Volts(limit)) => {
                MeterValue::Volts(Volts::new(between(own.value(), read.value(), limit.value())))
            }
            (MeterValue::Amps(own), MeterValue::Amps(read), MeterValue::Amps(limit)) => {
                MeterValue::Amps(Amps::new(between(own.value(), read.value(), limit.value())))
            }
            _ => self,
        }
    }

    /// How well an expected value explains this one: 1 for the same, near 0 for another. The spreads are those of a
    /// real harness and a real meter (typical, common practice, no source).
    pub(crate) fn fit(self, expected: MeterValue, nominal: Volts) -> f64 {
        let gauss = |apart: f64| (-apart * apart / 2.0).exp();
        match (self, expected) {
            (MeterValue::Volts(read), MeterValue::Volts(expected))
            | (MeterValue::Flashing(read), MeterValue::Flashing(expected)) => {
                gauss((read - expected).value() / (nominal.value() * SPREAD_SHARE))
            }
            // A slow meter shows something between, a hasty tech notes the highest.
            (MeterValue::Volts(read), MeterValue::Flashing(expected)) => {
                let spread = nominal.value() * SPREAD_SHARE;
                let mean = expected / 2.0;
                MISSES_FLASHES
                    * gauss((read - expected).value() / spread).max(gauss((read - mean).value() / spread / 2.0))
            }
            (MeterValue::Amps(read), MeterValue::Amps(expected)) => {
                gauss((read - expected).value() / (0.1 * expected.value()).max(0.05))
            }
            (MeterValue::Ohms(read), MeterValue::Ohms(expected)) => {
                let size = |ohms: Ohms| (ohms.min(HIGH_OHMS).value() + 0.5).ln();
                gauss((size(read) - size(expected)) / 0.5)
            }
            (MeterValue::Lamp(seen), MeterValue::Lamp(expected)) => f64::from(u8::from(seen == expected)),
            (MeterValue::Wire(seen), MeterValue::Wire(expected)) => f64::from(u8::from(seen == expected)),
            _ => 0.0,
        }
    }

    /// How often a slip shows just this, in relation to others: a probe on a wrong pin, or on none, reads nothing or full voltage
    /// (typical, common practice, no source).
    pub(crate) fn slips(self, nominal: Volts) -> f64 {
        match self {
            MeterValue::Volts(read) => {
                let share = read.value().abs() / nominal.value();
                if share < BANDS[0] || (0.85..1.25).contains(&share) { 1.0 } else { SELDOM }
            }
            MeterValue::Flashing(_) => SELDOM,
            _ => 1.0,
        }
    }

    /// The band that a tech distinguishes, for the choice of the next step.
    pub(crate) fn band(self, nominal: Volts) -> u16 {
        let of = |value: f64, limits: &[f64]| limits.iter().filter(|limit| value >= **limit).count() as u16;
        match self {
            MeterValue::Volts(volts) => of(volts.value().abs() / nominal.value(), &BANDS),
            MeterValue::Flashing(volts) => BANDS.len() as u16 + 1 + of(volts.value().abs() / nominal.value(), &BANDS),
            MeterValue::Amps(amps) => of(amps.value(), &[0.05, 0.5, 2.0, 10.0]),
            MeterValue::Ohms(ohms) => of(ohms.value(), &[5.0, HIGH_OHMS.value()]),
            MeterValue::Lamp(lamp) => lamp as u16,
            MeterValue::Wire(seen) => seen as u16,
        }
    }

    /// In words: `11.9 V`, `open`, `lit`.
    pub fn words(self) -> String {
        match self {
            MeterValue::Volts(volts) => volts.to_string(),
            MeterValue::Flashing(volts) => format!("flashing {volts}"),
            MeterValue::Amps(amps) => amps.to_string(),
            MeterValue::Ohms(ohms) if ohms >= OPEN_LINE => "open".to_string(),
            MeterValue::Ohms(ohms) => ohms.to_string(),
            MeterValue::Lamp(lamp) => lamp.words().to_string(),
            MeterValue::Wire(seen) => seen.words().to_string(),
        }
    }
}
