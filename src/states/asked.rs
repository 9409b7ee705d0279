//! The state that someone asks for in words: `reverse, boom-arm`, `key run, left-turn`, `at rest`.

use super::Wiring;
use crate::form::place::suggestion;
use crate::solve::{Circuit, Corner, InputId, Logic, Outcome, Positions, Solution, Solver, State};
use std::fmt;

/// Why a state can't be shown: what is wrong, why that matters, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoState {
    /// What is wrong with what was asked for.
    pub what: String,
    /// Why that can't be.
    pub why: String,
    /// What to write in its place.
    pub hint: String,
}

impl fmt::Display for NoState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\n  why: {}\n  do: {}", self.what, self.why, self.hint)
    }
}

/// Most inputs that are moved unasked, because what was asked for needs them.
const MOST_HELPERS: usize = 3;
/// Most timers that are let run out one after the other.
const MOST_TIMERS: usize = 64;

/// The circuit in the state asked for, at nominal supply and at rest: inputs that are not named stay where they are, but
/// for those that the named ones need; timers have run out.
///
/// The text is a list of inputs away from rest, parted by commas: a name alone for its first position away from rest,
/// `name position` or `name = position` for another; `at rest` for none.
///
/// # Errors
/// An input or position that is unknown or named twice; positions that the spec excludes together; a state that does
/// not come to rest.
pub fn asked(wiring: &Wiring, text: &str) -> Result<Solution, NoState> {
    let named = named(wiring, text)?;
    let circuit = &wiring.assembly.circuit;
    let positions = completed(circuit, &named).ok_or_else(|| excluded(wiring, &named))?;
    settled(circuit, &positions)
}

/// The positions asked for, by input.
fn named(wiring: &Wiring, text: &str) -> Result<Vec<Option<u8>>, NoState> {
    let model = wiring.model;
    let mut named = vec![None; model.inputs.len()];
    for term in text.split(',').map(str::trim).filter(|term| !term.is_empty() && *term != "at rest") {
        let (name, position) = match term.split_once('=').or_else(|| term.split_once(char::is_whitespace)) {
            Some((name, position)) => (name.trim(), Some(position.trim())),
            None => (term, None),
        };
        let Some(index) = model.inputs.iter().position(|input| input.name.as_str() == name) else {
            let names = model.inputs.iter().map(|input| input.name.as_str());
            return Err(NoState {
                what: format!("the state asked for names `{name}`, which is not an input of this spec"),
                why: "a state is told by the inputs that are away from rest".into(),
                hint: suggestion(name, names, "inputs"),
            });
        };
        let input = &model.inputs[index];
        let at = match position {
            None => 1,
            Some(word) => input.positions.iter().position(|p| p.as_str() == word).ok_or_else(|| NoState {
                what: format!("the state asked for puts `{name}` to `{word}`, a position that it has not got"),
                why: "an input can only stand where the spec lets it".into(),
                hint: suggestion(word, input.positions.iter().map(|p| p.as_str()), "positions"),
            })?,
        };
        // OK because an input has at most 255 positions: its form says so.
        let at = u8::try_from(at).unwrap_or(u8::MAX);
        if named[index].replace(at).is_some_and(|before| before != at) {
            return Err(NoState {
                what: format!("the state asked for puts `{name}` to two positions"),
                why: "an input stands in one position at a time".into(),
                hint: format!("name `{name}` once"),
            });
        }
    }
    Ok(named)
}

/// The positions of all inputs: those named, the others at rest but for as few as need be.
fn completed(circuit: &Circuit, named: &[Option<u8>]) -> Option<Positions> {
    let start = Positions(named.iter().map(|at| at.unwrap_or(0)).collect());
    let mut tried = vec![start];
    for helpers in 0..=MOST_HELPERS {
        if let Some(found) = tried.iter().find(|positions| positions.allowed(circuit)) {
            return Some(found.clone());
        }
        if helpers == MOST_HELPERS {
            break;
        }
        let mut next = Vec::new();
        for positions in &tried {
            for input in (0..named.len()).filter(|&i| named[i].is_none() && positions.0[i] == 0) {
                // The last position first: where a key has several, the farthest one is `run`.
                for at in (1..circuit.inputs[input].positions.len() as u8).rev() {
                    next.push(positions.clone().with(InputId(input as u32), at));
                }
            }
        }
        tried = next;
    }
    None
}

fn excluded(wiring: &Wiring, named: &[Option<u8>]) -> NoState {
    let (model, circuit) = (wiring.model, &wiring.assembly.circuit);
    let positions = Positions(named.iter().map(|at| at.unwrap_or(0)).collect());
    let name = |i: usize| model.inputs[i].name.to_string();
    let away = |i: usize| positions.0[i] != 0;
    for (i, input) in circuit.inputs.iter().enumerate().filter(|&(i, _)| away(i)) {
        if let Some(other) = input.excludes.iter().map(|other| other.index()).find(|&other| away(other)) {
            return NoState {
                what: format!("the state asked for is excluded: `{}` and `{}` at once", name(i), name(other)),
                why: format!("the spec says that `{}` excludes `{}`", name(i), name(other)),
                hint: "leave one of the two out".into(),
            };
        }
    }
    let holds = |needs: &Logic| needs.holds(&|id| positions.of(id), &|_| false);
    let lacking = circuit.inputs.iter().enumerate().find(|&(i, input)| away(i) && !holds(&input.needs));
    let (what, who) = match lacking {
        Some((i, input)) => {
            let mut needed = Vec::new();
            input.needs.visit(&mut |id| needed.push(format!("`{}`", name(id.index()))), &mut |_| {});
            needed.dedup();
            (format!("`{}` needs {} in another position", name(i), needed.join(" and ")), name(i))
        }
        None => ("what it asks for can't be met together".into(), String::new()),
    };
    NoState {
        what: format!("the state asked for is excluded: {what}"),
        why: "the spec's `needs` rule it out, so the vehicle never is in it".into(),
        hint: if who.is_empty() {
            "leave an input out".into()
        } else {
            format!("leave `{who}` out, or put what it needs where it needs it; `states` lists every state")
        },
    }
}

/// The circuit with its inputs moved there one after the other, and its timers run out.
fn settled(circuit: &Circuit, target: &Positions) -> Result<Solution, NoState> {
    let mut solver = Solver::new(circuit, Corner::NOMINAL);
    let mut solution = rested(solver.settle(&State::at_rest(circuit)))?;
    while solution.state.positions != *target {
        let here = &solution.state.positions;
        let steps = (0..target.0.len()).filter(|&i| here.0[i] != target.0[i]);
        let moved = steps.filter_map(|i| here.moved(circuit, InputId(i as u32), target.0[i]));
        let closer = |next: &Positions| next.0.iter().zip(&target.0).filter(|(a, b)| a != b).count();
        let away = closer(here);
        // Where no single move leads on, all are made at once.
        let positions = moved.into_iter().find(|next| closer(next) < away).unwrap_or_else(|| target.clone());
        solution = rested(solver.settle(&State { positions, memory: solution.state.memory.clone() }))?;
    }
    for _ in 0..MOST_TIMERS {
        let mut state = solution.state.clone();
        let Some(&timer) = state.pending(circuit).first() else { break };
        state.elapse(timer);
        solution = rested(solver.settle(&state))?;
    }
    Ok(solution)
}

fn rested(outcome: Outcome) -> Result<Solution, NoState> {
    outcome.settled().ok_or_else(|| NoState {
        what: "the state asked for does not come to rest".into(),
        why: "a circuit that goes on switching has no voltages to show".into(),
        hint: "run `check`: it names the relays that move each other".into(),
    })
}
