//! Looking up: conditions, inputs, positions, parts.

use super::{Resolver, Space};
use crate::{InputId, PartId, SignalId, SignalKind, StateCondition};
use form::place::{nearest, suggestion};
use form::{Condition, Expr, Name, Place, Placed, Problem};

/// What names mean in a condition.
pub(super) enum Scope<'a> {
    /// In a spec: inputs, and parts that remember.
    Spec,
    /// Inside a part: its own signals by name.
    Part(&'a [(Name, SignalId)]),
}

impl Resolver<'_> {
    /// A condition with its names looked up; `None` after telling.
    pub(super) fn logic(&mut self, condition: &Condition, scope: &Scope) -> Option<StateCondition> {
        self.expr(&condition.expr, scope)
    }

    fn expr(&mut self, expr: &Expr, scope: &Scope) -> Option<StateCondition> {
        let list = |this: &mut Self, terms: &[Expr]| {
            let found: Vec<StateCondition> = terms.iter().filter_map(|t| this.expr(t, scope)).collect();
            (found.len() == terms.len()).then_some(found)
        };
        match expr {
            Expr::Not(inner) => Some(StateCondition::Not(Box::new(self.expr(inner, scope)?))),
            Expr::All(terms) => Some(StateCondition::All(list(self, terms)?)),
            Expr::Any(terms) => Some(StateCondition::Any(list(self, terms)?)),
            Expr::Name(name, place) => match scope {
                Scope::Part(signals) => self.local_signal(name, *place, signals),
                Scope::Spec => self.input_or_memory(name, *place),
            },
            Expr::Is(name, place, position) => {
                let Scope::Spec = scope else {
                    self.report(Problem::at(*place, "inside a part, signals are on or off: `=` has no meaning here"));
                    return None;
                };
                if let Some(part) = self.model.part_named(name).filter(|_| self.find_input(name).is_none())
                    && self.memory_of(part).is_some()
                {
                    let off = matches!(position.as_str(), "off" | "out" | "no" | "reset" | "unset");
                    self.report(
                        Problem::at(*place, format!("`{name}` is a part with memory, not an input with positions"))
                            .hint(format!("write `{}{name}`", if off { "not " } else { "" })),
                    );
                    return None;
                }
                let input = self.input(&Placed { value: name.clone(), place: *place })?;
                let at = self.position(input, &Placed { value: position.clone(), place: *place })?;
                Some(StateCondition::InputIs(input, at))
            }
        }
    }

    fn local_signal(&mut self, name: &Name, place: Place, signals: &[(Name, SignalId)]) -> Option<StateCondition> {
        let found = signals.iter().find(|(n, _)| n == name).map(|(_, s)| StateCondition::Signal(*s));
        if found.is_none() && !self.unread.holds(name) {
            let hint = suggestion(name, signals.iter().map(|(n, _)| n.as_str()), "signals of this part");
            self.report(Problem::at(place, format!("`{name}` is not a signal of this part")).hint(hint));
        }
        found
    }

    fn input_or_memory(&mut self, name: &Name, place: Place) -> Option<StateCondition> {
        if let Some(id) = self.find_input(name) {
            return Some(StateCondition::Not(Box::new(StateCondition::InputIs(id, 0))));
        }
        if let Some((of, _)) = name.split_once('.') {
            return self.named_memory(name, &Name::new(of), place);
        }
        if let Some(part) = self.model.part_named(name) {
            if let Some(signal) = self.memory_of(part) {
                return Some(StateCondition::Signal(signal));
            }
            if !self.broken.contains(name) && !self.model.part(part).form.incomplete {
                self.report(
                    Problem::at(place, format!("`{name}` is a part without memory"))
                        .hint("conditions name inputs, latching relays and timers"),
                );
            }
            return None;
        }
        self.unknown_input(name, place);
        None
    }

    /// What a part remembers, by the name that states are printed with: `LM.latched`.
    fn named_memory(&mut self, name: &Name, of: &Name, place: Place) -> Option<StateCondition> {
        let remembers = |kind: &SignalKind| matches!(kind, SignalKind::Relay { .. } | SignalKind::Timer { .. });
        let named = |signal: &crate::Signal| remembers(&signal.kind) && signal.name == name.as_str();
        if let Some(i) = self.model.signals.iter().position(named) {
            return Some(StateCondition::Signal(SignalId(i)));
        }
        let part = self.known_part(of, place, "part with memory")?;
        if !self.broken.contains(of) && !self.model.part(part).form.incomplete {
            let mine = self.model.signals.iter().filter(|s| s.part == part && remembers(&s.kind));
            let names: Vec<&str> = mine.map(|s| s.name.as_str()).collect();
            let hint = match names.is_empty() {
                true => "conditions name inputs, latching relays and timers".to_string(),
                false => suggestion(name, names.iter().copied(), "what it remembers"),
            };
            self.report(Problem::at(place, format!("`{of}` has no memory named `{name}`")).hint(hint));
        }
        None
    }

    /// The one relay or timer of a part.
    fn memory_of(&self, part: PartId) -> Option<SignalId> {
        let mut found =
            self.model.signals.iter().enumerate().filter(|(_, s)| {
                s.part == part && matches!(s.kind, SignalKind::Relay { .. } | SignalKind::Timer { .. })
            });
        match (found.next(), found.next()) {
            (Some((i, _)), None) => Some(SignalId(i)),
            _ => None,
        }
    }

    pub(super) fn find_input(&self, name: &str) -> Option<InputId> {
        self.model.inputs.iter().position(|i| i.name.as_str() == name).map(InputId)
    }

    /// An input by name, reported if there is none.
    pub(super) fn input(&mut self, name: &Placed<Name>) -> Option<InputId> {
        let found = self.find_input(name);
        if found.is_none() {
            self.unknown_input(&name.value, name.place);
        }
        found
    }

    fn unknown_input(&mut self, name: &Name, place: Place) {
        if self.excused(name) || self.form.inputs.names().any(|n| n.value == *name) {
            return; // It is in the spec, and its problem has been reported.
        }
        let hint = suggestion(name, self.model.inputs.iter().map(|i| i.name.as_str()), "inputs");
        let problem = Problem::at(place, format!("`{name}` is not an input of this spec")).hint(hint);
        self.report_unknown(Space::Things, &Placed { value: name.clone(), place }, problem);
    }

    /// A position of an input, reported if it has none of that name.
    pub(super) fn position(&mut self, input: InputId, name: &Placed<Name>) -> Option<usize> {
        let positions = &self.model.inputs[input.0].positions;
        let found = positions.iter().position(|p| *p == name.value);
        if found.is_none() && !self.excused(&self.model.inputs[input.0].name) && !self.unread.holds(name) {
            let hint = suggestion(name, positions.iter().map(|p| p.as_str()), "its positions");
            let of = self.model.inputs[input.0].name.clone();
            self.report(Problem::at(name.place, format!("`{}` is not a position of `{of}`", name.value)).hint(hint));
        }
        found
    }

    /// A part by name, reported if there is none and no problem with it has been reported.
    pub(super) fn known_part(&mut self, name: &Name, place: Place, what: &str) -> Option<PartId> {
        let found = self.model.part_named(name);
        if found.is_none() && !self.excused(name) {
            let names: Vec<&str> = self.model.parts.iter().map(|p| p.name.as_str()).collect();
            let hint = match nearest(name, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => {
                    format!("give it under `parts`, `cameras`, `connectors` or where it belongs, or correct the {what}")
                }
            };
            let problem = Problem::at(place, format!("nothing in this spec is named `{name}`"))
                .label(what.to_string())
                .hint(hint);
            self.report_unknown(Space::Things, &Placed { value: name.clone(), place }, problem);
        }
        found
    }
}
