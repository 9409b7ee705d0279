//! `netlist`: one state of the circuit for a general-purpose circuit simulator.

use super::{code, explored, fail, load, print, save, wanted};
use crate::solve::netlist::netlist;
use crate::solve::{Copper, Corner, Solution, Solver, Supply};
use crate::states::{Asked, Wiring};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `netlist`.
#[derive(Debug, Args)]
#[command(after_help = "\
The deck is in the form of SPICE as ngspice reads it (`ngspice -b FILE`): every wire, joint, contact and load as it stands
in that state, with the very equations that the states are solved by. What each node and branch is stands in a comment
before it.")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// The state, as `states` names it: "key run, reverse", or "key run; K2 set". The order doesn't matter. Inputs that are
    /// not named stay at rest, but for what the named ones need.
    #[arg(long, value_name = "STATE", default_value = "at rest")]
    state: String,
    /// The corner, as findings name it: "least supply, hot copper". Supply is least, nominal or greatest; copper cold or
    /// hot.
    #[arg(long, value_parser = corner, default_value_t = Corner::NOMINAL)]
    corner: Corner,
    /// Write it into this file instead of printing it.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(load(&arguments.spec).and_then(|model| {
        let wiring = Wiring::new(&model);
        let asked = wanted(&wiring, || explored(&wiring), &arguments.state)?;
        let title = format!("{}: {}", model.job.title, asked.name);
        let solution = at(&wiring, asked, arguments.corner).map_err(|e| fail(&e))?;
        let deck = netlist(&wiring.assembly.circuit, &solution, &title);
        if let Some(path) = &arguments.out {
            return save(path, deck.as_bytes());
        }
        print(&deck);
        Ok(())
    }))
}

/// A state settled at a corner.
fn at(wiring: &Wiring, asked: Asked, corner: Corner) -> Result<Solution, String> {
    if corner == asked.solution.corner {
        return Ok(asked.solution);
    }
    let settled = Solver::new(&wiring.assembly.circuit, corner).settle(&asked.solution.state).settled();
    settled.ok_or_else(|| format!("`{}` does not come to rest at {corner}", asked.name))
}

/// A corner in words, in the form in which a corner is printed; what isn't named is nominal supply or cold copper.
fn corner(text: &str) -> Result<Corner, String> {
    let mut corner = Corner::NOMINAL;
    for word in text.split(',').map(str::trim) {
        match word {
            "least supply" => corner.supply = Supply::Least,
            "nominal supply" => corner.supply = Supply::Nominal,
            "greatest supply" => corner.supply = Supply::Greatest,
            "cold copper" => corner.copper = Copper::Cold,
            "hot copper" => corner.copper = Copper::Hot,
            _ => {
                return Err(format!("`{word}` is no part of a corner; write for example \"least supply, hot copper\""));
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
