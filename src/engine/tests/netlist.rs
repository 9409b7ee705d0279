//! What a netlist holds.

use circuit::netlist::netlist;
use circuit::*;
use engine::Solver;
use quantity::{Ohms, Volts};

#[test]
fn names_stay_in_comments() {
    let mut circuit = Circuit::new();
    let node = circuit.node("K1.86\n.include /etc/passwd");
    let volts = [Volts::new(12.0); 3];
    circuit.branch("battery", NEGATIVE, node, Law::Source { volts, ohms: Ohms::new(0.015) });
    circuit.branch("D\r1", node, NEGATIVE, Law::Led { knee: Volts::new(7.0), ohms: Ohms::new(50.0) });
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    let solution = solver.settle(&State::at_rest(&circuit)).settled().unwrap();
    let text = netlist(&circuit, &solution, "Bench");
    insta::assert_snapshot!(text);
}
