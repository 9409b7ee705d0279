//! `netlist`: one state of the circuit for a general-purpose circuit simulator.

use super::{code, explored, fail, interrupted, load, long, print, save, wanted};
use clap::Args;
use model::{SignalId, SignalKind};
use solve::netlist::netlist;
use solve::{ActorId, Circuit, Copper, Corner, Interrupted, Solution, Solver, State, Supply, explore_all};
use states::{Asked, Wiring};
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
        let mut title = format!("{}: {}", model.job.title, asked.name);
        let solution = at(&wiring, &asked, arguments.corner).map_err(interrupted)?.map_err(|e| fail(&e))?;
        let moved = moved(&wiring, &asked.solution.state, &solution.state);
        if !moved.is_empty() {
            title = format!("{title} (at {}: {})", arguments.corner, moved.join(", "));
        }
        let deck = netlist(&wiring.assembly.circuit, &solution, &title);
        if let Some(path) = &arguments.out {
            return save(path, deck.as_bytes());
        }
        print(&deck);
        Ok(())
    }))
}

/// A state as it is reached at a corner: relays that hold themselves may stand otherwise there than at nominal supply, so
/// every state of that corner is looked for and the one with the same inputs and the nearest memory taken.
fn at(wiring: &Wiring, asked: &Asked, corner: Corner) -> Result<Result<Solution, String>, Interrupted> {
    if corner == asked.solution.corner {
        return Ok(Ok(asked.solution.clone()));
    }
    let circuit = &wiring.assembly.circuit;
    let wanted = &asked.solution.state;
    let exploration = explore_all(circuit, &[corner], &long::watch)?.remove(0);
    let mut nearest: Option<([usize; 2], Solution)> = None;
    exploration.visit(circuit, &mut |solution| {
        if solution.state.positions == wanted.positions {
            let far = differences(circuit, wanted, &solution.state);
            if nearest.as_ref().is_none_or(|(least, _)| far < *least) {
                nearest = Some((far, solution.clone()));
            }
        }
    });
    // Explored in parts, not every combination is shown: this one with its latches and timers, all else from rest.
    if nearest.is_none() && exploration.parts().0 > 1 {
        let mut start = wanted.clone();
        for (i, _) in circuit.actors.iter().enumerate().filter(|(_, actor)| !actor.rule.is_memory()) {
            start.memory.set_on(ActorId(i as u32), false);
        }
        let settled = Solver::new(circuit, corner).settle(&start).settled();
        nearest = settled.map(|solution| (differences(circuit, wanted, &solution.state), solution));
    }
    Ok(match nearest {
        Some(([0, _], solution)) => Ok(solution),
        _ => Err(format!(
            "`{}` is never reached at {corner}: what it remembers isn't so there, or it finds no rest",
            asked.name
        )),
    })
}

/// How many latches, timers and toggles stand otherwise, then how many other relays and trigger inputs.
fn differences(circuit: &Circuit, one: &State, other: &State) -> [usize; 2] {
    let mut differ = [0; 2];
    for (i, actor) in circuit.actors.iter().enumerate() {
        let on = |state: &State| state.memory.on(ActorId(i as u32));
        differ[usize::from(!actor.rule.is_memory())] += usize::from(on(one) != on(other));
    }
    differ
}

/// Relays that stand otherwise, in words.
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
