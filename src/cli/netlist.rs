//! `netlist`: one state of the circuit for a general-purpose circuit simulator.

use super::{code, load, print, save, stopped};
use circuit::netlist::netlist;
use circuit::{Copper, Corner, State, Supply};
use clap::Args;
use model::{SignalId, SignalKind};
use states::Wiring;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `netlist`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  loomwright netlist van.yaml --state \"key run, reverse\" --out reverse.cir

The deck is SPICE text for ngspice (`ngspice -b FILE`): every wire, joint, contact and load in that state, with the equations
that the states are solved by. A comment before each node and branch says what it is.")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// The state, as `states` names it: "key run, reverse", or "key run; K2 set". The order doesn't matter. Inputs that
    /// are not named stay at rest, except those that the named ones need.
    #[arg(long, value_name = "STATE", default_value = "at rest")]
    state: String,
    /// The corner, as findings name it: "lowest supply, hot copper". Supply is lowest, nominal or highest; copper cold
    /// or hot.
    #[arg(long, value_parser = corner, default_value_t = Corner::NOMINAL)]
    corner: Corner,
    /// Write to this file instead of printing.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(deck(arguments))
}

fn deck(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?;
    let wiring = job.wiring().map_err(stopped)?;
    let asked = job.state(&arguments.state).map_err(stopped)?;
    let solution = job.at_corner(&asked, arguments.corner).map_err(stopped)?;
    let mut title = format!("{}: {}", wiring.model.job.title, asked.name);
    let moved = moved(wiring, &asked.solution.state, &solution.state);
    if !moved.is_empty() {
        title = format!("{title} (at {}: {})", arguments.corner, moved.join(", "));
    }
    let deck = netlist(&wiring.assembly.circuit, &solution, &title);
    if let Some(path) = &arguments.out {
        return save(path, deck.as_bytes());
    }
    print(&deck);
    Ok(())
}

/// Relays in another position, in words.
fn moved(wiring: &Wiring, nominal: &State, here: &State) -> Vec<String> {
    let signals = wiring.model.signals.iter().enumerate();
    let relays = signals.filter(|(_, signal)| matches!(signal.kind, SignalKind::Relay { .. }));
    let on = |id: usize, state: &State| state.holds(wiring.assembly.signal(SignalId(id)));
    let moved = relays.filter(|(i, _)| on(*i, nominal) != on(*i, here));
    moved.map(|(i, signal)| format!("{} {}", signal.name, if on(i, here) { "in" } else { "out" })).collect()
}

/// A corner in words, in the form in which a corner is printed; what isn't named is nominal supply or cold copper.
fn corner(text: &str) -> Result<Corner, String> {
    let mut corner = Corner::NOMINAL;
    for word in text.split(',').map(str::trim) {
        match word {
            "lowest supply" => corner.supply = Supply::Least,
            "nominal supply" => corner.supply = Supply::Nominal,
            "highest supply" => corner.supply = Supply::Greatest,
            "cold copper" => corner.copper = Copper::Cold,
            "hot copper" => corner.copper = Copper::Hot,
            _ => {
                return Err(format!(
                    "`{word}` is not a word for a corner; write for example \"lowest supply, hot copper\""
                ));
            }
        }
    }
    Ok(corner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_read_as_it_is_printed() {
        for one in Corner::ALL {
            assert_eq!(corner(&one.to_string()), Ok(one));
        }
        assert_eq!(corner("hot copper"), Ok(Corner { copper: Copper::Hot, ..Corner::NOMINAL }));
        assert!(corner("hot supply").is_err());
    }
}
