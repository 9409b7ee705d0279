//! Do bouncing contacts of a button or a switch leave a latch or toggle in the wrong position?

use super::asker::{Asker, Case, Put, Start};
use crate::Row;
use crate::machine::{Deed, Machine};
use crate::setting::Setting;
use crate::time::Time;
use circuit::ActorId;
use model::{ElementKind, InputId};

/// A button whose bouncing changes the result of a press.
#[derive(Debug, Clone, PartialEq)]
pub struct Bounce {
    /// The input.
    pub input: InputId,
    /// How long its contacts may bounce.
    pub bounce: Time,
    /// The state, in words.
    pub state: String,
    /// The move, in words.
    pub step: String,
    /// What a bounce leaves in another position than a clean contact, by name: `K5 set`.
    pub otherwise: Vec<String>,
    /// What happens when it bounces.
    pub evidence: Vec<Row>,
}

/// How a contact may bounce within its time, in shares of it: closed at zero, then open and closed in turn. A single
/// opening in the middle, a longest one, and two in sequence.
const PATTERNS: [&[f64]; 3] = [&[0.25, 0.75], &[0.001, 1.0], &[0.2, 0.4, 0.6, 0.8]];

/// How long a button is held down.
const HELD: Time = Time::milliseconds(500);

pub fn ask(asker: &mut Asker) -> Vec<Bounce> {
    let model = asker.solved.model;
    let mut all = vec![];
    let mut memory = asker.memory();
    // A relay that holds itself in is a memory too.
    memory.extend(asker.solved.exploration.history.iter().flat_map(|history| &history.undeclared));
    if memory.is_empty() {
        return all;
    }
    let mut inputs: Vec<(InputId, Time)> = vec![];
    for element in &model.elements {
        if let ElementKind::Throw { input: Some(input), bounce, .. } = &element.kind
            && Time::of(*bounce) > Time::ZERO
            && !inputs.iter().any(|(id, _)| id == input)
        {
            inputs.push((*input, Time::of(*bounce)));
        }
    }
    let subject = asker.actors(memory);
    let starts = subject.starts.iter().filter(|start| !asker.flashes(&subject.concern, &start.positions));
    let starts: Vec<&Start> = starts.collect();
    for (input, bounce) in inputs {
        let found = starts.iter().find_map(|start| {
            let moves = asker.moves(&subject.concern, start).into_iter().filter(|(moved, _)| *moved == input);
            moves.into_iter().find_map(|moved| bounced(asker, start, moved, bounce))
        });
        all.extend(found);
    }
    all
}

/// Plays a move clean and with every bounce; returns the first bounce that ends in another state.
fn bounced(asker: &mut Asker, start: &Start, moved: Put, bounce: Time) -> Option<Bounce> {
    let clean = played(asker, start, moved, &[], Time::ZERO);
    for pattern in PATTERNS {
        let other = played(asker, start, moved, pattern, bounce);
        let differ: Vec<String> = (0..asker.replayed.plan.actors.len() as u32)
            .map(ActorId)
            .filter(|id| asker.replayed.plan.has_time_or_memory(id.index()))
            .filter(|id| other.state.memory.on(*id) != clean.state.memory.on(*id))
            .map(|id| {
                let name = &asker.solved.assembly.circuit.actors[id.index()].name;
                format!("{name} {}", if other.state.memory.on(id) { "on" } else { "off" })
            })
            .collect();
        if !differ.is_empty() {
            return Some(Bounce {
                input: moved.0,
                bounce,
                state: start.name.clone(),
                step: asker.move_words(moved),
                otherwise: differ,
                evidence: asker.evidence(&other, Time::ZERO),
            });
        }
    }
    None
}

fn played(asker: &mut Asker, start: &Start, (input, to): Put, pattern: &[f64], bounce: Time) -> Machine {
    let from = usize::from(start.positions.0[input.0]);
    let mut script = vec![];
    let mut press = |at: Time, to: usize, back: usize| {
        script.push((at, Deed::Put(vec![(input, to)])));
        for (i, share) in pattern.iter().enumerate() {
            let position = if i % 2 == 0 { back } else { to };
            script.push((at + bounce.share(*share), Deed::Put(vec![(input, position)])));
        }
    };
    press(Time::ZERO, to, from);
    if asker.solved.model.inputs[input.0].momentary && from == 0 {
        press(HELD, from, to);
    }
    let case = asker.case(start, &[], &Setting::default());
    let until = HELD + bounce + asker.horizon;
    asker.play(&Case { script, until, ..case })
}
