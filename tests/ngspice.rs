//! Node voltages and currents of settled states, held against ngspice, a general-purpose circuit simulator.

use circuit::netlist::{branch_name, netlist, node_name};
use circuit::{
    ActorRule, BranchId, Circuit, Corner, Law, Logic, NEGATIVE, NodeId, Pulse, Senses, Solution, State, Supply,
    assemble,
};
use engine::Solver;
use explore::explore;
use quantity::{Amps, Ohms, Share, Span, Volts, Watts};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

mod jobs;
mod judges;
#[path = "../benches/vehicle/mod.rs"]
mod vehicle;

use judges::{NGSPICE, available};

/// Highest difference allowed, as a share; and the voltage and the current below which nothing is compared by share.
const SHARE: f64 = 0.005;
const LEAST_VOLTS: f64 = 1e-3;
const LEAST_AMPS: f64 = 1e-5;

/// What ngspice finds for a netlist: every vector that it prints, by name.
fn ask(folder: &Path, netlist: &str, prints: &[String]) -> BTreeMap<String, f64> {
    let file = folder.join("state.cir");
    let print: String = prints.chunks(20).map(|names| format!("print {}\n", names.join(" "))).collect();
    let control = format!(".control\nset numdgt=12\nop\n{print}.endc\n.end\n");
    std::fs::write(&file, netlist.replace(".op\n.end\n", &control)).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&file).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let found: BTreeMap<String, f64> = text
        .lines()
        .filter_map(|line| line.split_once(" = "))
        .filter_map(|(name, value)| Some((name.trim().to_string(), value.trim().parse().ok()?)))
        .collect();
    assert!(found.len() >= prints.len(), "{text}\n{}", String::from_utf8_lossy(&output.stderr));
    found
}

fn same(what: &str, ours: f64, theirs: f64, least: f64) {
    assert!((ours - theirs).abs() <= SHARE * theirs.abs().max(least), "{what}: {ours}, ngspice {theirs}");
}

fn compare(folder: &Path, circuit: &Circuit, solution: &Solution) {
    let nodes = (1..circuit.nodes.len() as u32).map(NodeId);
    let mut prints: Vec<String> = nodes.clone().map(|node| format!("v({})", node_name(node))).collect();
    let conductors: Vec<BranchId> = (0..circuit.branches.len() as u32)
        .map(BranchId)
        .filter(|id| {
            let branch = &circuit.branches[id.index()];
            matches!(branch.law, Law::Conductor { .. })
                && branch.from != branch.to
                && solution.state.holds(&branch.when)
        })
        .collect();
    let name = |id: &BranchId| format!("@{}[i]", branch_name(*id, &circuit.branches[id.index()].law));
    prints.extend(conductors.iter().map(name));
    let found = ask(folder, &netlist(circuit, solution, "state"), &prints);
    for node in nodes {
        let what = &circuit.nodes[node.index()];
        same(what, solution.volts(node).value(), found[&format!("v({})", node_name(node))], LEAST_VOLTS);
    }
    for id in &conductors {
        let what = &circuit.branches[id.index()].name;
        same(what, solution.amps(*id).value(), found[&name(id)], LEAST_AMPS);
    }
    // By ngspice's voltages, too, every relay stands where it should.
    for (i, actor) in circuit.actors.iter().enumerate() {
        if let ActorRule::Threshold { plus, minus, on, off, senses } = &actor.rule
            && (*senses == Senses::Each || !solution.has_pulses() && *senses != Senses::Coil)
        {
            let volts = |node: &NodeId| found.get(&format!("v({})", node_name(*node))).copied().unwrap_or(0.0);
            let volts = volts(plus) - volts(minus);
            let is_on = solution.on(circuit::ActorId(i as u32));
            assert!(if is_on { volts > off.value() - 0.01 } else { volts < on.value() + 0.01 }, "{}", actor.name);
        }
    }
}

/// Compares up to `most` states, spread over all that can be reached, at each of the corners in turn.
fn compare_states(circuit: &Circuit, corners: &[Corner], most: usize) {
    if !available(&[NGSPICE]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (n, corner) in corners.iter().enumerate() {
        let mut solutions = vec![];
        explore(circuit, *corner).visit(circuit, &mut |solution| solutions.push(solution.clone()));
        assert!(!solutions.is_empty());
        let share = most.div_ceil(corners.len());
        let stride = solutions.len().div_ceil(share).max(1);
        for solution in solutions.iter().skip(n % stride).step_by(stride) {
            compare(folder.path(), circuit, solution);
        }
    }
}

#[test]
fn a_vehicle_of_feeds_relays_and_diodes() {
    compare_states(&vehicle::vehicle(6, 6, 0), &Corner::ALL, 64);
}

/// One of every law, in a circuit where each has something to do.
#[test]
fn every_law() {
    let mut circuit = Circuit::new();
    let (battery, bus) = (circuit.node("battery"), circuit.node("bus"));
    let volts = [11.8, 12.6, 14.6].map(Volts::new);
    circuit.branch("battery", NEGATIVE, battery, Law::Source { volts, ohms: Ohms::new(0.02) });
    circuit.branch("main", battery, bus, Law::Conductor { ohms: Ohms::new(0.05), copper: true });
    let inputs: Vec<_> = (0..4).map(|i| circuit.input(format!("i{i}"), &["off", "on"])).collect();
    let duty = Span { low: Share::new(0.3), high: Share::new(0.75) };
    let ohms = Ohms::new;
    let laws = [
        Law::Current { amps: Amps::new(0.12), least: Volts::new(9.0) },
        Law::Power { watts: Watts::new(15.0), least: Volts::new(9.0) },
        Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) },
        Law::Led { knee: Volts::new(7.0), ohms: ohms(50.0) },
        Law::Diode { knee: Volts::new(0.65), ohms: ohms(0.05), zener: Some(Volts::new(5.1)) },
        Law::Suppressor { volts: Volts::new(8.0), ohms: ohms(0.5) },
    ];
    for (n, law) in laws.into_iter().enumerate() {
        let (fed, at, back) = (circuit.node("fed"), circuit.node("at"), circuit.node("back"));
        let input = inputs[n % inputs.len()];
        circuit.switched("switch", bus, fed, Law::Pulsed { ohms: ohms(0.05), duty }, Logic::At(input, 1));
        circuit.resistor("wire", fed, at, ohms(0.4));
        circuit.branch("load", at, back, law);
        circuit.resistor("return", back, NEGATIVE, ohms(0.3));
        circuit.resistor("lamp", fed, NEGATIVE, ohms(15.0));
    }
    let (input, output) = (circuit.node("converter in"), circuit.node("converter out"));
    circuit.resistor("wire", bus, input, ohms(0.1));
    let (on, off) = (Volts::new(9.0), Volts::new(8.5));
    let works = circuit
        .actor("converter", ActorRule::Threshold { plus: input, minus: NEGATIVE, on, off, senses: Senses::Least });
    let law = Law::Regulated { volts: Volts::new(5.0), ohms: ohms(0.05), limit: Amps::new(2.0) };
    let given = circuit.switched("5 V", NEGATIVE, output, law, Logic::On(works));
    let law = Law::Drawn { output: given, efficiency: Share::new(0.85), idle: Amps::new(0.02), least: Volts::new(8.5) };
    circuit.switched("converter", input, NEGATIVE, law, Logic::On(works));
    circuit.switched(
        "player",
        output,
        NEGATIVE,
        Law::Conductor { ohms: ohms(4.0), copper: false },
        Logic::At(inputs[0], 1),
    );
    circuit.switched(
        "heater",
        output,
        NEGATIVE,
        Law::Conductor { ohms: ohms(1.0), copper: false },
        Logic::At(inputs[1], 1),
    );

    let with = |supply, pulse| Corner { supply, pulse, ..Corner::NOMINAL };
    let corners = [
        with(Supply::Least, Pulse::On),
        with(Supply::Nominal, Pulse::Off),
        with(Supply::Greatest, Pulse::On),
        with(Supply::Least, Pulse::Off),
    ];
    compare_states(&circuit, &corners, 64);
}

/// Between pulses: what the solver holds the off-time of a pulsed state to be is what ngspice makes of the same circuit
/// with the feeds open. The mean over pulses is then the share-weighted sum of the two.
#[test]
fn between_pulses() {
    if !available(&[NGSPICE]) {
        return;
    }
    let mut circuit = Circuit::new();
    let (plus, tap, coil) = (circuit.node("battery"), circuit.node("tap"), circuit.node("coil"));
    let ohms = Ohms::new;
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.6); 3], ohms: ohms(0.02) });
    let duty = Span { low: Share::new(0.3), high: Share::new(0.5) };
    circuit.branch("module", plus, tap, Law::Pulsed { ohms: ohms(0.1), duty });
    circuit.branch("lamp", tap, NEGATIVE, Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(5.0) });
    let diode = || Law::Diode { knee: Volts::new(0.65), ohms: ohms(0.05), zener: None };
    circuit.branch("diode", tap, coil, diode());
    let weak = circuit.node("weak feed");
    circuit.resistor("weak feed", plus, weak, ohms(150.0));
    circuit.branch("diode", weak, coil, diode());
    circuit.resistor("coil", coil, NEGATIVE, ohms(90.0));
    let pulses = Solver::new(&circuit, Corner::NOMINAL).settle(&State::at_rest(&circuit)).settled().unwrap();
    let off = Corner { pulse: Pulse::Off, ..Corner::NOMINAL };
    let off = Solver::new(&circuit, off).settle(&State::at_rest(&circuit)).settled().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let nodes: Vec<NodeId> = (1..circuit.nodes.len() as u32).map(NodeId).collect();
    let prints: Vec<String> = nodes.iter().map(|node| format!("v({})", node_name(*node))).collect();
    let [on_found, off_found] = [&pulses, &off].map(|s| ask(folder.path(), &netlist(&circuit, s, "phase"), &prints));
    for (node, print) in nodes.iter().zip(&prints) {
        let what = &circuit.nodes[node.index()];
        same(what, pulses.between_pulses(*node).value(), off_found[print], LEAST_VOLTS);
        same(what, pulses.mean(*node).value(), 0.4 * on_found[print] + 0.6 * off_found[print], LEAST_VOLTS);
    }
    assert!(pulses.between_pulses(coil).value() > 4.0, "the weak feed fills the gaps");
}

/// Two armed turn signals, as planned from a wish: every state, at the first and the last corner. With both signals, as with the hazard lights,
/// neither trigger is live.
#[test]
fn planned_turn_signals() {
    let catalogue = catalogue::Catalogue::builtin().unwrap();
    let path = jobs::root().join("harness-specs/wishes/armed-turn-signals.yaml");
    let proposal = plan::plan(&files::Disk::default(), &path, &catalogue, false).unwrap();
    let circuit = assemble(&jobs::model_of_text(&proposal.text)).circuit;
    compare_states(&circuit, &[Corner::ALL[0], Corner::ALL[5]], 1000);
}

/// Every demo, and the bench circuit that the engine's own tests use.
#[test]
fn every_spec() {
    let mut specs = jobs::specs_in(&["harness-specs"]);
    specs.push(jobs::root().join("src/explore/tests/relay.yaml"));
    for path in specs {
        compare_states(&assemble(&jobs::model_of(&path)).circuit, &Corner::ALL, 66);
    }
}
