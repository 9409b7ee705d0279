//! Ways to states: from rest, one change after the other, each after all has settled; and the way back to rest.

use model::{ElementKind, Model, PartId, PartKind, SignalId, SignalKind};
use solve::{ActorId, Assembly, Circuit, Corner, Move, Solvers, State};
use states::Wiring;
use std::collections::BTreeSet;

/// Most states that are looked at for a way back to rest.
const MOST_LOOKED_AT: usize = 2000;

/// One change on a way.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What is done, or what time does.
    pub by: Move,
    /// What it is done in.
    pub before: State,
    /// The moment after it, nothing having moved yet.
    pub start: State,
    /// What that settles to.
    pub after: State,
}

/// Goes ways through a circuit.
pub struct Walker<'c> {
    circuit: &'c Circuit,
    solvers: &'c Solvers,
}

impl<'c> Walker<'c> {
    /// At nominal supply.
    pub fn new(wiring: &'c Wiring) -> Walker<'c> {
        Walker { circuit: &wiring.assembly.circuit, solvers: wiring.solvers() }
    }

    fn settled(&self, start: &State) -> Option<State> {
        Some(self.solvers.settle(Corner::NOMINAL, start).settled()?.state)
    }

    /// Every input at rest, the battery connected; `None` where that doesn't settle.
    pub fn rest(&mut self) -> Option<State> {
        self.settled(&State::at_rest(self.circuit))
    }

    /// What each change of a way does, from rest on. `None` where one of them can't be made, or doesn't settle.
    pub fn walk(&mut self, moves: &[Move]) -> Option<Vec<Change>> {
        let mut at = self.rest()?;
        let mut changes = Vec::new();
        for by in moves {
            let change = self.change(&at, *by)?;
            at = change.after.clone();
            changes.push(change);
        }
        Some(changes)
    }

    /// What one more change does.
    pub fn change(&mut self, before: &State, by: Move) -> Option<Change> {
        let mut start = before.clone();
        match by {
            Move::Input(input, position) => start.positions = before.positions.moved(self.circuit, input, position)?,
            Move::Elapsed(actor) => start.elapse(actor),
            Move::Connect | Move::PowerLoss => return None,
        }
        let after = self.settled(&start)?;
        Some(Change { by, before: before.clone(), start, after })
    }

    /// Where putting inputs to rest, one after the other, and waiting for what time moves comes to.
    pub fn put_to_rest(&mut self, from: &State, inputs: impl Iterator<Item = Move>) -> Option<State> {
        let mut at = from.clone();
        for by in inputs {
            if let Move::Input(input, position) = by
                && at.positions.of(input) != position
            {
                at = self.change(&at, by)?.after;
            }
        }
        // Each wait ends one pending actor; some may start others, so not for ever.
        for _ in 0..self.circuit.actors.len() {
            let Some(actor) = at.pending(self.circuit).first().copied() else { break };
            at = self.change(&at, Move::Elapsed(actor))?.after;
        }
        Some(at)
    }

    /// A shortest way from a state to another, by inputs and time alone.
    pub fn between(&mut self, from: &State, to: &State) -> Option<Vec<Change>> {
        let mut seen = BTreeSet::from([from.clone()]);
        let mut ways: Vec<(State, Option<(usize, Change)>)> = vec![(from.clone(), None)];
        let mut next = 0;
        while next < ways.len() && ways.len() < MOST_LOOKED_AT {
            if ways[next].0 == *to {
                let mut way = Vec::new();
                let mut at = next;
                while let Some((before, change)) = ways[at].1.clone() {
                    way.push(change);
                    at = before;
                }
                way.reverse();
                return Some(way);
            }
            let state = ways[next].0.clone();
            for by in self.moves(&state) {
                if let Some(change) = self.change(&state, by)
                    && seen.insert(change.after.clone())
                {
                    ways.push((change.after.clone(), Some((next, change))));
                }
            }
            next += 1;
        }
        None
    }

    fn moves(&self, state: &State) -> Vec<Move> {
        let mut moves: Vec<Move> = state.pending(self.circuit).into_iter().map(Move::Elapsed).collect();
        for (i, input) in self.circuit.inputs.iter().enumerate() {
            let id = solve::InputId(i as u32);
            let others = input.each_position().filter(|position| *position != state.positions.of(id));
            moves.extend(others.map(|position| Move::Input(id, position)));
        }
        // A button is let go before anything else is done, where there is a choice.
        moves.sort_by_key(|by| match by {
            Move::Input(id, 0) => !self.circuit.inputs[id.index()].momentary,
            _ => true,
        });
        moves
    }
}

/// A way in words, as someone in the vehicle goes it: `Key run`, `press Trailer picture (SW1) and let go`.
pub fn in_vehicle(model: &Model, assembly: &Assembly, moves: &[Move]) -> Vec<String> {
    let mut words = Vec::new();
    let mut moves = moves.iter().peekable();
    while let Some(by) = moves.next() {
        words.push(match by {
            Move::Connect => "connect the battery".to_string(),
            Move::PowerLoss => "disconnect the battery and connect it again".to_string(),
            Move::Elapsed(actor) => wait(model, assembly, *actor),
            Move::Input(id, position) => {
                let input = &model.inputs[id.index()];
                let let_go = input.momentary && *position != 0 && moves.peek() == Some(&&Move::Input(*id, 0));
                if let_go {
                    moves.next();
                }
                let switch = input.switch.map(|part| format!(" ({})", model.part(part).name)).unwrap_or_default();
                match (input.momentary, *position) {
                    (true, 0) => format!("let go of {}{switch}", input.title),
                    (true, _) if let_go => format!("press {}{switch} and let go", input.title),
                    (true, _) => format!("press {}{switch} and hold it", input.title),
                    (false, at) => format!("{} {}", input.title, input.positions[usize::from(at)]),
                }
            }
        });
    }
    words
}

/// The same at the bench, where a supply's clips stand in for the vehicle: `plus on end of wire 4 (reverse)`,
/// `press SW1 (Trailer picture) and let go`.
pub fn at_bench(model: &Model, assembly: &Assembly, changes: &[Change]) -> Vec<String> {
    let mut words = Vec::new();
    let mut changes = changes.iter().peekable();
    while let Some(change) = changes.next() {
        let Move::Input(id, position) = change.by else {
            if let Move::Elapsed(actor) = change.by {
                words.push(wait(model, assembly, actor));
            }
            continue;
        };
        let input = &model.inputs[id.index()];
        let let_go = input.momentary
            && position != 0
            && changes.peek().is_some_and(|next| next.by == Move::Input(id, 0))
            && changes.next().is_some();
        let [before, after] = [&change.before, &change.after].map(|state| Clips::of(model, assembly, state));
        let mut done = after.changes(model, &before);
        if let Some(switch) = input.switch {
            let (name, at) = (&model.part(switch).name, &input.positions[usize::from(position)]);
            let title = &input.title;
            done.push(match (input.momentary, position) {
                (true, 0) => format!("let go of {name} ({title})"),
                (true, _) if let_go => format!("press {name} ({title}) and let go"),
                (true, _) => format!("press {name} ({title}) and hold it"),
                (false, _) => format!("{name} ({title}) to {at}"),
            });
        } else if let_go {
            done.iter_mut().for_each(|done| done.push_str(" for a moment"));
        }
        if !done.is_empty() {
            words.push(done.join(" and "));
        }
    }
    words
}

/// `wait until the hold time of T1 has run out (3 s)`.
fn wait(model: &Model, assembly: &Assembly, actor: ActorId) -> String {
    let mine = (0..model.signals.len()).map(SignalId).find(|id| assembly.actor(*id) == Some(actor));
    match mine.map(|id| &model.signals[id.0]) {
        Some(signal) => match &signal.kind {
            SignalKind::Timer { kind, time, .. } => {
                format!("wait until the {kind} time of {} has run out ({time})", model.part(signal.part).name)
            }
            _ => format!("wait until {} has moved", signal.name),
        },
        None => "wait".to_string(),
    }
}

/// Where the poles of a bench supply go in a state: plus on these, minus on these besides the ground rings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clips {
    /// Supplies and feeds that are live.
    pub plus: Vec<PartId>,
    /// Feeds that go to ground.
    pub minus: Vec<PartId>,
}

/// Where the clip for a supply or a feed of the vehicle goes: the loose ends of the wires that will be joined to it,
/// `end of wire 4 (accessory)`; none where no wire of the harness will.
pub fn clip(model: &Model, id: PartId) -> Option<String> {
    let part = model.part(id);
    let wires = part.pins.iter().flat_map(|pin| model.wires_on(*pin));
    let ids: Vec<&str> = wires.map(|id| model.wire(id)).filter(|w| !w.existing).map(|w| w.id.as_str()).collect();
    match ids[..] {
        [] => None,
        [one] => Some(format!("end of wire {one} ({})", part.name)),
        _ => Some(format!("ends of wires {} ({})", ids.join(", "), part.name)),
    }
}

impl Clips {
    /// In a state.
    pub fn of(model: &Model, assembly: &Assembly, state: &State) -> Clips {
        let mut clips = Clips { plus: Vec::new(), minus: Vec::new() };
        let holds = |when| state.holds(&assembly.logic(when));
        for id in model.part_ids() {
            let part = model.part(id);
            if !matches!(part.kind, PartKind::Supply | PartKind::Feed) {
                continue;
            }
            for element in part.elements.iter().map(|element| &model.element(*element).kind) {
                match element {
                    ElementKind::Battery { .. } => clips.plus.push(id),
                    ElementKind::Derived { when, .. } if holds(when) => clips.plus.push(id),
                    ElementKind::Feed(feed) if holds(&feed.when) && feed.from.is_some() => clips.plus.push(id),
                    ElementKind::Feed(feed) if holds(&feed.when) => clips.minus.push(id),
                    _ => {}
                }
            }
        }
        clips
    }

    /// In words what is clipped on and off to come from other clips to these: `plus on end of wire 4 (reverse)`.
    pub fn changes(&self, model: &Model, before: &Clips) -> Vec<String> {
        let names = |ids: &[PartId], without: &[PartId]| -> Option<String> {
            let names: Vec<String> =
                ids.iter().filter(|id| !without.contains(id)).filter_map(|id| clip(model, *id)).collect();
            (!names.is_empty()).then(|| names.join(", "))
        };
        let told = |word: &str, names: Option<String>| names.map(|names| format!("{word} {names}"));
        [
            told("plus off", names(&before.plus, &self.plus)),
            told("minus off", names(&before.minus, &self.minus)),
            told("plus on", names(&self.plus, &before.plus)),
            told("minus on", names(&self.minus, &before.minus)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
