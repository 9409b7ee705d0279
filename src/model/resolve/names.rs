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
        resolve_expression(self, &condition.expr, scope)
    }

    pub(super) fn find_input(&self, name: &str) -> Option<InputId> {
        self.model.inputs.iter().position(|i| i.name.as_str() == name).map(InputId)
    }

    /// An input by name, reported if there is none.
    pub(super) fn input(&mut self, name: &Placed<Name>) -> Option<InputId> {
        let found = self.find_input(name);
        if found.is_none() {
            unknown_input(self, &name.value, name.place);
        }
        found
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
                    format!(
                        "declare it under `parts`, `cameras`, `connectors` or where it belongs, or correct the {what}"
                    )
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

fn resolve_expression(resolver: &mut Resolver, expr: &Expr, scope: &Scope) -> Option<StateCondition> {
    let list = |this: &mut Resolver, terms: &[Expr]| {
        let found: Vec<StateCondition> = terms.iter().filter_map(|t| resolve_expression(this, t, scope)).collect();
        (found.len() == terms.len()).then_some(found)
    };
    match expr {
        Expr::Not(inner) => Some(StateCondition::Not(Box::new(resolve_expression(resolver, inner, scope)?))),
        Expr::All(terms) => Some(StateCondition::All(list(resolver, terms)?)),
        Expr::Any(terms) => Some(StateCondition::Any(list(resolver, terms)?)),
        Expr::Name(name, place) => match scope {
            Scope::Part(signals) => local_signal(resolver, name, *place, signals),
            Scope::Spec => input_or_memory(resolver, name, *place),
        },
        Expr::Is(name, place, position) => {
            let Scope::Spec = scope else {
                resolver.report(Problem::at(*place, "inside a part, signals are on or off: `=` has no meaning here"));
                return None;
            };
            if let Some(part) = resolver.model.part_named(name).filter(|_| resolver.find_input(name).is_none())
                && memory_of(resolver, part).is_some()
            {
                let off = matches!(position.as_str(), "off" | "out" | "no" | "reset" | "unset");
                resolver.report(
                    Problem::at(*place, format!("`{name}` is a part with memory, not an input with positions"))
                        .hint(format!("write `{}{name}`", if off { "not " } else { "" })),
                );
                return None;
            }
            let input = resolver.input(&Placed { value: name.clone(), place: *place })?;
            let at = resolver.position(input, &Placed { value: position.clone(), place: *place })?;
            Some(StateCondition::InputIs(input, at))
        }
    }
}

fn local_signal(
    resolver: &mut Resolver,
    name: &Name,
    place: Place,
    signals: &[(Name, SignalId)],
) -> Option<StateCondition> {
    let found = signals.iter().find(|(n, _)| n == name).map(|(_, s)| StateCondition::Signal(*s));
    if found.is_none() && !resolver.unread.holds(name) {
        let hint = suggestion(name, signals.iter().map(|(n, _)| n.as_str()), "signals of this part");
        resolver.report(Problem::at(place, format!("`{name}` is not a signal of this part")).hint(hint));
    }
    found
}

fn input_or_memory(resolver: &mut Resolver, name: &Name, place: Place) -> Option<StateCondition> {
    if let Some(id) = resolver.find_input(name) {
        return Some(StateCondition::Not(Box::new(StateCondition::InputIs(id, 0))));
    }
    if let Some((of, _)) = name.split_once('.') {
        return named_memory(resolver, name, &Name::new(of), place);
    }
    if let Some(part) = resolver.model.part_named(name) {
        if let Some(signal) = memory_of(resolver, part) {
            return Some(StateCondition::Signal(signal));
        }
        if !resolver.broken.contains(name) && !resolver.model.part(part).form.incomplete {
            resolver.report(
                Problem::at(place, format!("`{name}` is a part without memory"))
                    .hint("conditions name inputs, latching relays and timers"),
            );
        }
        return None;
    }
    unknown_input(resolver, name, place);
    None
}

/// What a part remembers, by the name that states are printed with: `LM.latched`.
fn named_memory(resolver: &mut Resolver, name: &Name, of: &Name, place: Place) -> Option<StateCondition> {
    let remembers = |kind: &SignalKind| matches!(kind, SignalKind::Relay { .. } | SignalKind::Timer { .. });
    let named = |signal: &crate::Signal| remembers(&signal.kind) && signal.name == name.as_str();
    if let Some(i) = resolver.model.signals.iter().position(named) {
        return Some(StateCondition::Signal(SignalId(i)));
    }
    let part = resolver.known_part(of, place, "part with memory")?;
    if !resolver.broken.contains(of) && !resolver.model.part(part).form.incomplete {
        let mine = resolver.model.signals.iter().filter(|s| s.part == part && remembers(&s.kind));
        let names: Vec<&str> = mine.map(|s| s.name.as_str()).collect();
        let hint = match names.is_empty() {
            true => "conditions name inputs, latching relays and timers".to_string(),
            false => suggestion(name, names.iter().copied(), "its memory"),
        };
        resolver.report(Problem::at(place, format!("`{of}` has no memory named `{name}`")).hint(hint));
    }
    None
}

/// The one relay or timer of a part.
fn memory_of(resolver: &Resolver, part: PartId) -> Option<SignalId> {
    let mut found = resolver
        .model
        .signals
        .iter()
        .enumerate()
        .filter(|(_, s)| s.part == part && matches!(s.kind, SignalKind::Relay { .. } | SignalKind::Timer { .. }));
    match (found.next(), found.next()) {
        (Some((i, _)), None) => Some(SignalId(i)),
        _ => None,
    }
}

fn unknown_input(resolver: &mut Resolver, name: &Name, place: Place) {
    if resolver.excused(name) || resolver.form.inputs.names().any(|n| n.value == *name) {
        return; // It is in the spec, and its problem has been reported.
    }
    let hint = suggestion(name, resolver.model.inputs.iter().map(|i| i.name.as_str()), "inputs");
    let problem = Problem::at(place, format!("`{name}` is not an input of this spec")).hint(hint);
    resolver.report_unknown(Space::Things, &Placed { value: name.clone(), place }, problem);
}
