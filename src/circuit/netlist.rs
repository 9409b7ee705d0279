//! A state of the circuit written out for a general-purpose circuit simulator, so that anyone can check it.
//!
//! The form is that of SPICE as ngspice reads it: resistors, sources, and behavioural current sources (`B`) with the
//! equations of [`Law`]. Inputs and actors are where the state has them; an operating point (`.op`) then gives the
//! voltages of our [`Solution`]. They are also written as its starting point (`.nodeset`), since laws with
//! corners can lead its iteration in circles; the voltages that it ends with fulfil its own equations in any case.

use super::circuit::{Circuit, LEAK, LEAST_OHMS, Law};
use super::corner::Corner;
use super::ids::{BranchId, NodeId};
use super::laws::{Curve, LinePiece, curve};
use super::state::{Solution, State};
use std::fmt::Write;

/// The name of a node in a netlist: `0` for the battery's negative.
pub fn node_name(node: NodeId) -> String {
    if node.0 == 0 { "0".into() } else { format!("n{}", node.0) }
}

/// The name of a branch in a netlist.
pub fn branch_name(branch: BranchId, law: &Law) -> String {
    let kind = if matches!(law, Law::Conductor { .. } | Law::Source { .. }) { 'r' } else { 'b' };
    format!("{kind}{}", branch.0)
}

/// Writes the circuit in the state of a solution. Names are kept in comments.
pub fn netlist(circuit: &Circuit, solution: &Solution, title: &str) -> String {
    let (state, corner) = (&solution.state, solution.corner);
    let mut out = format!("* {}\n* {corner}\n", plain(title));
    let positions = circuit.inputs.iter().zip(&state.positions.0);
    for (input, position) in positions {
        let position = input.positions.get(*position as usize).map_or("?", String::as_str);
        line(&mut out, format_args!("* input {} = {}", plain(&input.name), plain(position)));
    }
    for (i, name) in circuit.nodes.iter().enumerate().skip(1) {
        line(&mut out, format_args!("* n{i}: {}", plain(name)));
        line(&mut out, format_args!("rleak{i} n{i} 0 {:e}", LEAK.value()));
        line(&mut out, format_args!(".nodeset v(n{i})={:e}", solution.each_volts()[i].value()));
    }
    for (k, branch) in circuit.branches.iter().enumerate() {
        if branch.from == branch.to {
            continue;
        }
        line(&mut out, format_args!("* {}", plain(&branch.name)));
        match state.holds(&branch.when) {
            true => write_branch(&mut out, circuit, state, corner, BranchId(k as u32)),
            false => out.push_str("* (open)\n"),
        }
    }
    out.push_str(".options reltol=1e-6 abstol=1e-9 vntol=1e-8 gmin=1e-15 itl1=500\n.op\n.end\n");
    out
}

fn line(out: &mut String, text: std::fmt::Arguments) {
    // OK because writing to a string can't fail.
    let _ = writeln!(out, "{text}");
}

/// One line of printable text, so that no name can start a line of its own.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn write_branch(out: &mut String, circuit: &Circuit, state: &State, corner: Corner, id: BranchId) {
    let branch = &circuit.branches[id.index()];
    let k = id.0;
    let (from, to) = (node_name(branch.from), node_name(branch.to));
    let volts = format!("(v({from})-v({to}))");
    match curve(branch, circuit, corner) {
        Curve::Open => out.push_str("* (off)\n"),
        Curve::Straight { slope, offset } => match branch.law {
            Law::Source { ohms, .. } => {
                let ohms = ohms.max(LEAST_OHMS).value();
                line(out, format_args!("v{k} s{k} {from} {:e}", offset / slope));
                line(out, format_args!("r{k} s{k} {to} {ohms:e}"));
            }
            _ => line(out, format_args!("r{k} {from} {to} {:e}", 1.0 / slope)),
        },
        Curve::Pieces(pieces) => {
            line(out, format_args!("b{k} {from} {to} i = {}", pieces_over(&volts, &pieces)));
        }
        Curve::Power { watts, amps, least, output } => {
            let watts = match output {
                None => format!("{watts:e}"),
                Some((of, factor)) => format!("({watts:e}+{factor:e}*({}))", given(circuit, state, corner, of)),
            };
            let full = format!("{watts}/max({volts},{least:e})+{amps:e}");
            line(out, format_args!("b{k} {from} {to} i = ({full})*min(max({volts}/{least:e},0),1)"));
        }
    }
}

/// Power that a regulated branch gives, as an expression; zero if it is open, or has another law.
fn given(circuit: &Circuit, state: &State, corner: Corner, output: usize) -> String {
    let Some(branch) = circuit.branches.get(output).filter(|branch| state.holds(&branch.when)) else {
        return "0".into();
    };
    let volts = format!("(v({})-v({}))", node_name(branch.from), node_name(branch.to));
    match curve(branch, circuit, corner) {
        Curve::Pieces(pieces) => format!("max(0,-{volts}*({}))", pieces_over(&volts, &pieces)),
        _ => "0".into(),
    }
}

/// Straight pieces as nested conditions.
fn pieces_over(volts: &str, pieces: &[LinePiece]) -> String {
    let one = |piece: &LinePiece| format!("({:e}*{volts}+({:e}))", piece.slope, piece.offset);
    let (last, before) = match pieces.split_last() {
        Some((last, before)) => (one(last), before),
        None => return "0".into(),
    };
    before.iter().rev().fold(last, |rest, piece| format!("({volts} <= {:e} ? {} : {rest})", piece.upto, one(piece)))
}
