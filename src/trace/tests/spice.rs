//! An independent judge of a faulty harness: ngspice solves the netlist with the fault and the meter in it, and its
//! voltages must leave every relay and trigger input where the state has it.
#![allow(clippy::disallowed_methods, clippy::disallowed_types)]

use super::*;
use crate::measure::{AMMETER, OHMMETER};
use circuit::netlist::{netlist, node_name};
use circuit::{ActorId, ActorRule, Change, Circuit, Corner, Logic, NodeId, Solution, Variant};
use quantity::Amps;
use std::collections::BTreeMap;
use std::process::Command;

/// Whether ngspice is installed. `tests/run.sh` installs it.
pub fn is_there() -> bool {
    let found = Command::new("ngspice").arg("--version").output().is_ok_and(|output| output.status.success());
    assert!(found || std::env::var_os("JUDGES").is_none(), "ngspice is missing, which tests/run.sh installs");
    found
}

/// What a meter shows in a setting, with the load that it puts on the circuit; `None` where the circuit does not settle, or
/// for what needs no voltage.
pub fn value(oracle: &Oracle, meter: &Meter, setting: &SetState, measure: Measure) -> Option<MeterValue> {
    let assembly = &oracle.facts.solved.assembly;
    if measure.is_without_power() {
        return ohms(oracle, meter, measure);
    }
    let leads: Vec<Change> = meter.leads(measure)?;
    let variant = leads.into_iter().fold(oracle.now.variant.clone(), Variant::and);
    let circuit = assembly.circuit.with(&variant);
    let solvers = Solvers::new(circuit);
    // The switches are moved without the meter; then the meter is there.
    let at = oracle.reached(setting)?;
    let solution = solvers.settle(Corner::NOMINAL, &at.state).settled()?;
    if solution.has_pulses() {
        return meter.value(&oracle.now, &at.state, measure);
    }
    let circuit = solvers.circuit();
    let volts = ask(circuit, &solution);
    let between = flash::between_flashes(oracle.facts, &solution.state);
    let between = between.and_then(|state| solvers.settle(Corner::NOMINAL, &state).settled());
    let between = between.map(|solution| ask(circuit, &solution));
    let nominal = oracle.facts.model.job.nominal;
    let voltage = |from: PinId, to: Option<PinId>| {
        let at = |volts: &BTreeMap<NodeId, f64>, pin: PinId| assembly.pin(pin).map_or(0.0, |node| volts[&node]);
        let of = |volts: &BTreeMap<NodeId, f64>| Volts::new(at(volts, from) - to.map_or(0.0, |to| at(volts, to)));
        MeterValue::voltage(of(&volts), between.as_ref().map(of), nominal)
    };
    Some(match measure {
        Measure::Volts(pin) | Measure::Unplugged(pin) => voltage(pin, None),
        Measure::Drop(from, to) => voltage(from, Some(to)),
        Measure::Lamp(pin) => {
            let volts = Volts::new(voltage(pin, None).number().unwrap_or_default());
            MeterValue::Lamp(LampSeen::of(volts, nominal))
        }
        Measure::Amps(_) => {
            // The ammeter is what was added last: the current follows from the voltage across it.
            let ammeter = circuit.branches.last()?;
            MeterValue::Amps(Amps::new(((volts[&ammeter.from] - volts[&ammeter.to]) / AMMETER.value()).abs()))
        }
        Measure::Ohms(..) | Measure::ToGround(_) | Measure::Apart(_) | Measure::Alone(_) => return None,
    })
}

/// What an ohmmeter shows with every other source open.
fn ohms(oracle: &Oracle, meter: &Meter, measure: Measure) -> Option<MeterValue> {
    let (circuit, ohmmeter) = meter.ohmmeter();
    let circuit = circuit.with(&meter.without_power(&oracle.now, measure)?);
    let solvers = Solvers::new(circuit);
    let circuit = solvers.circuit();
    let solution = solvers.settle(Corner::NOMINAL, &circuit::State::at_rest(circuit)).settled()?;
    let volts = ask(circuit, &solution);
    let branch = &circuit.branches[ohmmeter.index()];
    // The current follows from what the meter's own resistance leaves of its voltage.
    let (own, resistance) = OHMMETER;
    let left = (volts[&branch.from] - volts[&branch.to]).abs();
    Some(Meter::ohms_of((own - Volts::new(left)) / resistance))
}

/// The voltage of every node by ngspice.
fn ask(circuit: &Circuit, solution: &Solution) -> BTreeMap<NodeId, f64> {
    let nodes: Vec<NodeId> = (1..circuit.nodes.len() as u32).map(NodeId).collect();
    let print: String = nodes
        .chunks(20)
        .map(|some| {
            format!("print {}\n", some.iter().map(|n| format!("v({})", node_name(*n))).collect::<Vec<_>>().join(" "))
        })
        .collect();
    let control = format!(".control\nset numdgt=12\nop\n{print}.endc\n.end\n");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("fault.cir");
    std::fs::write(&file, netlist(circuit, solution, "fault").replace(".op\n.end\n", &control)).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&file).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let found: BTreeMap<&str, f64> = text
        .lines()
        .filter_map(|line| line.split_once(" = "))
        .filter_map(|(name, value)| Some((name.trim(), value.trim().parse().ok()?)))
        .collect();
    let mut volts: BTreeMap<NodeId, f64> =
        nodes.into_iter().map(|node| (node, found[format!("v({})", node_name(node)).as_str()])).collect();
    volts.insert(circuit::NEGATIVE, 0.0);
    let hot = Corner::NOMINAL.copper_factor(circuit);
    for (i, actor) in circuit.actors.iter().enumerate() {
        let ActorRule::Threshold { plus, minus, on, off, senses } = &actor.rule else { continue };
        // A coil moves for current in either direction, at a voltage that rises with its copper's resistance.
        let across = volts[plus] - volts[minus];
        let (across, factor) = if senses.is_coil() { (across.abs(), hot) } else { (across, 1.0) };
        let agrees = match solution.on(ActorId(i as u32)) {
            true => across > off.value() * factor - 0.01,
            // One without supply is off at any voltage.
            false => across < on.value() * factor + 0.01 || actor.powered != Logic::Always,
        };
        assert!(agrees, "{}: {across} V by ngspice", actor.name);
    }
    volts
}
