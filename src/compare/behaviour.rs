//! What the new harness does otherwise: pictures, relays and currents, state by state.

use super::pairs::Pairs;
use facts::Facts;
use facts::small_currents::LEAKAGE;
use model::{Model, SignalId};
use quantity::Amps;
use serde::Serialize;
use states::{StateRow, StateTable};
use std::collections::BTreeMap;

/// A current counts as changed if it differs by more than this share, and by more than leakage.
const SHARE: f64 = 0.02;

/// What differs in behaviour.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Behaviour {
    /// States before and after.
    pub states: [usize; 2],
    /// Inputs that the new harness no longer has.
    pub gone_inputs: Vec<String>,
    /// Inputs that only the new harness has. They are compared at rest.
    pub new_inputs: Vec<String>,
    /// Screens that show something else.
    pub screens: Vec<ShownChange>,
    /// Relays and timers that differ.
    pub relays: Vec<ShownChange>,
    /// Currents through fuses.
    pub currents: Vec<CurrentChange>,
    /// States of the old harness that the new one can't reach.
    pub gone_states: Vec<String>,
    /// States that only the new harness reaches with the old inputs.
    pub new_states: Vec<String>,
}

/// The same change in one or more states.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShownChange {
    /// The screen or the relay, by its new name.
    pub what: String,
    /// What it showed or was.
    pub from: String,
    /// What it shows or is.
    pub to: String,
    /// The states, by their new names.
    pub states: Vec<String>,
}

/// A current through a fuse that changes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurrentChange {
    /// The fuse, by its new name.
    pub fuse: String,
    /// Before, in the state with the largest change.
    pub from: Amps,
    /// After, in the same state.
    pub to: Amps,
    /// The state with the largest change.
    pub state: String,
    /// In how many states it changes.
    pub states: usize,
}

/// What a state is known by in both harnesses: its inputs away from rest, and what remembers or holds itself.
type Key = (BTreeMap<String, String>, Vec<(String, bool)>);

impl Behaviour {
    /// What differs in behaviour; nominal supply, copper at 20 °C.
    pub fn between(old: &Facts, new: &Facts, pairs: &Pairs) -> Behaviour {
        let (before, after) = (old.table(), new.table());
        let inputs = |model: &Model| model.inputs.iter().map(|input| input.name.to_string()).collect::<Vec<_>>();
        let old_inputs: Vec<String> = inputs(old.model).iter().map(|name| pairs.translated(name)).collect();
        let new_inputs = inputs(new.model);
        let without = |these: &[String], those: &[String]| {
            these.iter().filter(|name| !those.contains(name)).cloned().collect::<Vec<_>>()
        };
        let mut behaviour = Behaviour {
            states: [before.rows.len(), after.rows.len()],
            gone_inputs: without(&old_inputs, &new_inputs),
            new_inputs: without(&new_inputs, &old_inputs),
            ..Behaviour::default()
        };
        behaviour.rows(
            &Side { facts: old, table: before, pairs: Some(pairs) },
            &Side { facts: new, table: after, pairs: None },
        );
        behaviour
    }

    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        *self == Behaviour { states: self.states, ..Behaviour::default() } && self.states[0] == self.states[1]
    }

    fn rows(&mut self, old: &Side, new: &Side) {
        let mut after: BTreeMap<Key, &StateRow> = new.table.rows.iter().map(|row| (new.key(row), row)).collect();
        for row in &old.table.rows {
            let key = old.key(row);
            if key.0.keys().any(|input| self.gone_inputs.contains(input)) {
                continue;
            }
            match after.remove(&key) {
                Some(then) => self.row(old, row, new, then),
                None => self.gone_states.push(row.name.clone()),
            }
        }
        let is_new = |key: &Key| key.0.keys().any(|input| self.new_inputs.contains(input));
        self.new_states = after.iter().filter(|(key, _)| !is_new(key)).map(|(_, row)| row.name.clone()).collect();
    }

    fn row(&mut self, old: &Side, before: &StateRow, new: &Side, after: &StateRow) {
        let shown = new.screens(after);
        for (screen, from) in old.screens(before) {
            if let Some(to) = shown.get(&screen).filter(|to| **to != from) {
                note(&mut self.screens, screen, from, to.clone(), &after.name);
            }
        }
        let (was, is) = (old.relays(before), new.relays(after));
        let word = |is_in: bool| if is_in { "in" } else { "out" }.to_string();
        for (relay, from) in was {
            if let Some(to) = is.get(&relay).filter(|to| **to != from) {
                note(&mut self.relays, relay, word(from), word(*to), &after.name);
            }
        }
        let carried = new.fuses(after);
        for (fuse, from) in old.fuses(before) {
            if let Some(to) = carried.get(&fuse) {
                self.current(fuse, from, *to, &after.name);
            }
        }
    }

    fn current(&mut self, fuse: String, from: Amps, to: Amps, state: &str) {
        let moved = |from: Amps, to: Amps| (to.value().abs() - from.value().abs()).abs();
        let bound = (from.value().abs().max(to.value().abs()) * SHARE).max(LEAKAGE.value());
        if moved(from, to) <= bound {
            return;
        }
        match self.currents.iter_mut().find(|one| one.fuse == fuse) {
            Some(one) => {
                one.states += 1;
                if moved(from, to) > moved(one.from, one.to) {
                    (one.from, one.to, one.state) = (from, to, state.to_string());
                }
            }
            None => self.currents.push(CurrentChange { fuse, from, to, state: state.to_string(), states: 1 }),
        }
    }
}

/// Adds a state to the change that it shows.
fn note(changes: &mut Vec<ShownChange>, what: String, from: String, to: String, state: &str) {
    match changes.iter_mut().find(|one| (&one.what, &one.from, &one.to) == (&what, &from, &to)) {
        Some(one) => one.states.push(state.to_string()),
        None => changes.push(ShownChange { what, from, to, states: vec![state.to_string()] }),
    }
}

/// One of the two harnesses; the old one speaks in new names.
struct Side<'f, 'm> {
    facts: &'f Facts<'m>,
    table: &'f StateTable,
    pairs: Option<&'f Pairs>,
}

impl Side<'_, '_> {
    fn name(&self, name: &str) -> String {
        self.pairs.map_or_else(|| name.to_string(), |pairs| pairs.translated(name))
    }

    fn signal(&self, id: SignalId) -> String {
        self.name(&self.facts.model.signals[id.0].name)
    }

    fn key(&self, row: &StateRow) -> Key {
        let inputs = self.facts.model.inputs.iter().zip(&row.positions).filter(|(_, at)| **at != 0);
        let away = inputs.map(|(input, at)| (self.name(input.name.as_str()), input.positions[*at].to_string()));
        let memory = row.memory.iter().map(|id| (self.signal(*id), true));
        let held = row.held.iter().map(|(id, on)| (self.signal(*id), *on));
        let mut remembered: Vec<(String, bool)> = memory.chain(held).collect();
        remembered.sort();
        (away.collect(), remembered)
    }

    /// What each screen shows, in words.
    fn screens(&self, row: &StateRow) -> BTreeMap<String, String> {
        let model = self.facts.model;
        let words = |reading: &states::ScreenReading| {
            let shown = reading.picture.words(model);
            self.pairs.map_or(shown.clone(), |pairs| pairs.words(&shown))
        };
        model.screens.iter().zip(&row.screens).map(|(screen, shown)| (screen.name.to_string(), words(shown))).collect()
    }

    /// Whether each relay is in.
    fn relays(&self, row: &StateRow) -> BTreeMap<String, bool> {
        let signals = (0..self.facts.model.signals.len()).map(SignalId);
        let is_relay = |id: &SignalId| matches!(self.facts.model.signals[id.0].kind, model::SignalKind::Relay { .. });
        signals.filter(is_relay).map(|id| (self.signal(id), row.relays.contains(&id))).collect()
    }

    fn fuses(&self, row: &StateRow) -> BTreeMap<String, Amps> {
        let model = self.facts.model;
        let name = |id: &model::ElementId| self.name(model.part(model.element(*id).part).name.as_str());
        row.fuses.iter().map(|(id, amps)| (name(id), *amps)).collect()
    }
}
