//! A state requested in words: `reverse, boom-arm`, `key run, left-turn`, `at rest`.

use super::{Solved, StateRow, Walk, Wiring, is_memory, state_name};
use circuit::{Circuit, InputId, Logic, Position, Positions, Reading, Solution, State, position};
use explore::{Exploration, Interrupted};
use form::place::suggestion;
use model::{Model, SignalId, SignalKind};
use std::fmt;

/// Why a state can't be shown: what is wrong, why that matters, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoState {
    /// What is wrong with the request.
    pub what: String,
    /// Why it is impossible.
    pub why: String,
    /// What to write instead.
    pub hint: String,
}

impl fmt::Display for NoState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\n  why: {}\n  do: {}", self.what, self.why, self.hint)
    }
}

/// Most inputs moved without being named, because the named ones need them.
const MOST_HELPERS: usize = 3;

/// A requested state.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Its name.
    pub name: String,
    /// Whether it ends by itself in time.
    pub passing: bool,
    /// The circuit in it, at nominal supply.
    pub solution: Solution,
}

/// The circuit in the requested state, settled at nominal supply.
///
/// The text is the state's name in the table, or part of it: inputs away from rest, separated by commas, a name alone
/// for its first position away from rest, `name position` or `name = position` for another, `at rest` for none; then
/// what is remembered, `K2 set`, `HOLD on`, `K5 in`, `K5 out`. Inputs that are not named stay at rest, except those
/// that the named ones need. If no memory is named, timers have run out. `explore` is called if the moves from rest
/// alone don't decide it.
///
/// # Errors
/// An input or position that is unknown or named twice; positions that the spec excludes together; a state that does not
/// settle, or that is never reached.
pub fn asked(
    wiring: &Wiring,
    explore: impl FnOnce() -> Result<Exploration, Interrupted>,
    text: &str,
) -> Result<Asked, NoState> {
    let wanted = Wanted::read(wiring, text)?;
    let circuit = &wiring.assembly.circuit;
    let positions = completed(circuit, &wanted.positions).ok_or_else(|| excluded(wiring, &wanted.positions))?;
    let moved = wanted.is_plain().then(|| settled(wiring, &positions)).transpose()?;
    let moved = moved.map(|solution| Asked { name: state_name(wiring, &solution), passing: false, solution });
    if let Some(asked) = moved.as_ref().filter(|asked| !remembers(wiring, &asked.solution.state)) {
        return Ok(asked.clone());
    }
    let Ok(exploration) = explore() else { return Err(ended()) };
    let rows = Solved { wiring: wiring.clone(), exploration, others: vec![] }.table().rows;
    let at = |row: &&StateRow| row.solution.state.positions == positions;
    let here: Vec<StateRow> = rows.iter().filter(at).cloned().collect();
    match wanted.choose(wiring, &here) {
        Some(row) => Ok(Asked { name: row.name.clone(), passing: row.passing, solution: row.solution.clone() }),
        None => moved.ok_or_else(|| never(text, if here.is_empty() { &rows } else { &here })),
    }
}

/// The request.
struct Wanted {
    /// The positions, by input.
    positions: Vec<Option<Position>>,
    /// Memory, and whether it is on.
    remembered: Vec<(SignalId, bool)>,
    /// Whether it must end by itself in time.
    passing: bool,
}

/// Words after the name of a state that ends by itself, as in the state table.
const FOR_A_TIME: &str = "(for a time)";

impl Wanted {
    fn read(wiring: &Wiring, text: &str) -> Result<Wanted, NoState> {
        let model = wiring.model;
        let mut wanted = Wanted { positions: vec![None; model.inputs.len()], remembered: vec![], passing: false };
        let text = match text.trim().strip_suffix(FOR_A_TIME) {
            Some(name) => {
                wanted.passing = true;
                name
            }
            None => text,
        };
        let terms = text.split([',', ';']).map(str::trim).filter(|term| !term.is_empty() && *term != "at rest");
        for term in terms {
            let (name, word) = match term.split_once('=').or_else(|| term.split_once(char::is_whitespace)) {
                Some((name, word)) => (name.trim(), Some(word.trim())),
                None => (term, None),
            };
            let input = model.inputs.iter().position(|input| input.name.as_str() == name);
            match (input, memory(wiring, name)) {
                (Some(input), _) => wanted.put(model, input, word)?,
                (None, Some(signal)) => wanted.remembered.push((signal, is_on(name, word)?)),
                (None, None) => return Err(unknown(wiring, name)),
            }
        }
        Ok(wanted)
    }

    /// Takes an input to a position.
    fn put(&mut self, model: &Model, index: usize, word: Option<&str>) -> Result<(), NoState> {
        let input = &model.inputs[index];
        let name = &input.name;
        let at = match word {
            None => 1,
            Some(word) => input.positions.iter().position(|p| p.as_str() == word).ok_or_else(|| NoState {
                what: format!("the requested state puts `{name}` to `{word}`, a position that it doesn't have"),
                why: "an input has only the positions in the spec".into(),
                hint: suggestion(word, input.positions.iter().map(|p| p.as_str()), "positions"),
            })?,
        };
        let at = position(at);
        if self.positions[index].replace(at).is_some_and(|before| before != at) {
            return Err(NoState {
                what: format!("the requested state puts `{name}` to two positions"),
                why: "an input is in one position at a time".into(),
                hint: format!("name `{name}` once"),
            });
        }
        Ok(())
    }

    /// Whether it names inputs alone.
    fn is_plain(&self) -> bool {
        self.remembered.is_empty() && !self.passing
    }

    /// Of the states with the requested positions, the one with this exact name, else the first in which all
    /// named memory agrees.
    fn choose<'r>(&self, wiring: &Wiring, rows: &'r [StateRow]) -> Option<&'r StateRow> {
        let on = |row: &StateRow, id| wiring.assembly.reading(wiring.model, &row.solution, id) == Reading::On;
        let so = |row: &&StateRow| self.remembered.iter().all(|(id, is)| on(row, *id) == *is);
        let reported = |row: &StateRow| row.memory.len() + row.held.len();
        let exact = |row: &&StateRow| so(row) && reported(row) == self.remembered.len();
        let passing = |row: &&StateRow| row.passing == self.passing;
        let found = rows.iter().find(|row| exact(row) && passing(row));
        let less = || rows.iter().find(|row| so(row) && passing(row)).or_else(|| rows.iter().find(so));
        if self.is_plain() { found } else { found.or_else(|| rows.iter().find(exact)).or_else(less) }
    }
}

/// A relay, a timer or a trigger input by its name in states, or the only relay or timer of a part by the
/// part's name, as in conditions.
fn memory(wiring: &Wiring, name: &str) -> Option<SignalId> {
    let model = wiring.model;
    let signals = || (0..model.signals.len()).map(SignalId).filter(|id| wiring.assembly.actor(*id).is_some());
    let part = model.part_named(name);
    let moved = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Relay { .. } | SignalKind::Timer { .. });
    let mut of_part = signals().filter(|id| Some(model.signals[id.0].part) == part).filter(moved);
    let only = of_part.next().filter(|_| of_part.next().is_none());
    signals().find(|id| model.signals[id.0].name == name).or(only)
}

fn is_on(name: &str, word: Option<&str>) -> Result<bool, NoState> {
    match word {
        None | Some("set" | "in" | "on") => Ok(true),
        Some("reset" | "out" | "off") => Ok(false),
        Some(word) => Err(NoState {
            what: format!("the requested state has `{name}` at `{word}`"),
            why: "a latch, timer or relay is on or off".into(),
            hint: format!("write `{name} set`, `{name} in` or `{name} on`, or `{name} out` or `{name} off`"),
        }),
    }
}

fn unknown(wiring: &Wiring, name: &str) -> NoState {
    let signals = (0..wiring.model.signals.len()).map(SignalId).filter(|id| is_memory(wiring.model, *id));
    let signals = signals.map(|id| wiring.model.signals[id.0].name.as_str());
    let names: Vec<&str> = wiring.model.inputs.iter().map(|input| input.name.as_str()).chain(signals).collect();
    NoState {
        what: format!("the requested state names `{name}`, which is neither an input nor a memory of this spec"),
        why: "a state is named by its inputs away from rest and by its memory".into(),
        hint: suggestion(name, names.iter().copied(), "inputs, and parts with memory"),
    }
}

/// No such state exists.
fn never(text: &str, rows: &[StateRow]) -> NoState {
    let names: Vec<&str> = rows.iter().map(|row| row.name.as_str()).collect();
    NoState {
        what: format!("there is no state `{text}`"),
        why: "no sequence of input changes from rest leads to that memory".into(),
        hint: format!("{}; `states` lists them all", suggestion(text, names.iter().copied(), "states")),
    }
}

fn ended() -> NoState {
    NoState {
        what: "the search for the requested state was interrupted".into(),
        why: "its memory is known only when all states are".into(),
        hint: "name the state by its inputs alone".into(),
    }
}

/// Whether a latch is set or a timer runs.
fn remembers(wiring: &Wiring, state: &State) -> bool {
    let mut signals = (0..wiring.model.signals.len()).map(SignalId).filter(|id| is_memory(wiring.model, *id));
    signals.any(|id| state.holds(wiring.assembly.signal(id)))
}

/// The positions of all inputs: those named, and as few others as possible away from rest.
fn completed(circuit: &Circuit, named: &[Option<Position>]) -> Option<Positions> {
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
                for at in circuit.inputs[input].each_position().skip(1).rev() {
                    next.push(positions.clone().with(InputId(input as u32), at));
                }
            }
        }
        tried = next;
    }
    None
}

fn excluded(wiring: &Wiring, named: &[Option<Position>]) -> NoState {
    let (model, circuit) = (wiring.model, &wiring.assembly.circuit);
    let positions = Positions(named.iter().map(|at| at.unwrap_or(0)).collect());
    let name = |i: usize| model.inputs[i].name.to_string();
    let away = |i: usize| positions.0[i] != 0;
    for (i, input) in circuit.inputs.iter().enumerate().filter(|&(i, _)| away(i)) {
        if let Some(other) = input.excludes.iter().map(|other| other.index()).find(|&other| away(other)) {
            return NoState {
                what: format!("the requested state is ruled out: `{}` and `{}` at once", name(i), name(other)),
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
        None => ("its inputs can't be combined".into(), String::new()),
    };
    NoState {
        what: format!("the requested state is ruled out: {what}"),
        why: "the spec's `needs` rule it out, so the vehicle is never in it".into(),
        hint: if who.is_empty() {
            "leave an input out".into()
        } else {
            format!("leave `{who}` out, or put the inputs that it needs in position; `states` lists every state")
        },
    }
}

/// The circuit with its inputs moved there one after the other, and its timers run out.
fn settled(wiring: &Wiring, target: &Positions) -> Result<Solution, NoState> {
    Walk::new(wiring.solvers()).reach(target).ok_or_else(|| NoState {
        what: "the requested state doesn't settle".into(),
        why: "a circuit that keeps switching has no steady voltages".into(),
        hint: "run `check`: it names the relays that keep switching".into(),
    })
}
