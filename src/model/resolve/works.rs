//! When parts should work.

use super::names::Scope;
use super::{Resolver, Space};
use crate::{ElementKind, PartId, SignalId, SignalKind, StateCondition, WorksPromise};
use form::place::suggestion;
use form::{Name, Placed, Problem};
use spec::WorksForm;

pub(super) fn works(resolver: &mut Resolver) {
    let form = resolver.form;
    for entries in [&form.cameras, &form.sources, &form.accessories, &form.parts] {
        for (name, entry) in entries.iter() {
            if let Some(source) = &entry.plays {
                sound_of(resolver, source);
            }
            let Some(part) = resolver.model.part_named(&name.value) else { continue };
            let first = resolver.model.works.len();
            for line in &entry.works.0 {
                if resolver.enough() {
                    return;
                }
                if let Some(promise) = promise(resolver, part, name, line) {
                    said_twice(resolver, first, &promise, name);
                    resolver.model.works.push(promise);
                }
            }
        }
    }
}

/// Reports `plays` with a name that no part has.
fn sound_of(resolver: &mut Resolver, source: &Placed<Name>) {
    let form = resolver.form;
    let entries = [&form.cameras, &form.sources, &form.accessories, &form.parts];
    let names: Vec<&str> = entries.iter().flat_map(|entries| entries.names()).map(|name| name.as_str()).collect();
    if names.contains(&source.as_str()) || resolver.excused(&source.value) {
        return;
    }
    let hint = suggestion(source, names, "parts");
    let problem = Problem::at(source.place, format!("`{}`, whose sound it plays, is no part", source.value)).hint(hint);
    resolver.report_unknown(Space::Things, source, problem);
}

/// Reports a second line about a load: each says when it works, and that it doesn't otherwise.
fn said_twice(resolver: &mut Resolver, first: usize, promise: &WorksPromise, name: &Placed<Name>) {
    let shares = |other: &&WorksPromise| other.loads.iter().any(|load| promise.loads.contains(load));
    let Some(before) = resolver.model.works[first..].iter().find(shares).map(|other| other.place) else { return };
    let hint = match &promise.load {
        None if promise.loads.len() > 1 => {
            "give each line its own `load`, or join the conditions with `or` in one line"
        }
        _ => "join the conditions with `or` in one line",
    };
    let what = format!("`{}` has two lines that say when its load works, and only then", name.value);
    resolver.report(Problem::at(promise.place, what).also(before, "the first").hint(hint));
}

fn promise(resolver: &mut Resolver, part: PartId, name: &Placed<Name>, line: &WorksForm) -> Option<WorksPromise> {
    let when = resolver.logic(&line.when, &Scope::Spec);
    let loads = loads(resolver, part, name, line)?;
    let each: Vec<StateCondition> = loads.iter().map(|load| works_while(resolver, *load)).collect();
    Some(WorksPromise {
        part,
        load: line.load.as_ref().map(|load| load.value.clone()),
        loads,
        all_work: StateCondition::All(each.clone()),
        any_works: StateCondition::Any(each),
        when: when?,
        text: line.when.text.clone(),
        within: line.within.as_ref().map(|within| within.value),
        steady: line.steady.0,
        place: line.when.place,
    })
}

/// The loads that a line is about; `None` after reporting that there are none.
fn loads(resolver: &mut Resolver, part: PartId, name: &Placed<Name>, line: &WorksForm) -> Option<Vec<SignalId>> {
    let of_part = |(i, signal): (usize, &crate::Signal)| {
        let is_load = signal.part == part && matches!(signal.kind, SignalKind::Working { .. });
        is_load.then(|| (SignalId(i), signal.local.clone()))
    };
    let all: Vec<(SignalId, Name)> = resolver.model.signals.iter().enumerate().filter_map(of_part).collect();
    if all.is_empty() {
        if !resolver.model.part(part).form.incomplete {
            resolver.report(
                Problem::at(line.when.place, format!("`{}` draws no current, so it can't be on or off", name.value))
                    .hint("give `works` to the lamp, buzzer, motor or other load"),
            );
        }
        return None;
    }
    let Some(load) = &line.load else { return Some(all.into_iter().map(|(id, _)| id).collect()) };
    let found: Vec<SignalId> = all.iter().filter(|(_, local)| *local == load.value).map(|(id, _)| *id).collect();
    if found.is_empty() {
        let hint = match all.len() {
            1 => "leave `load` out: it has one load".to_string(),
            _ => suggestion(load, all.iter().map(|(_, local)| local.as_str()), "its loads"),
        };
        resolver.report(Problem::at(load.place, format!("`{}` has no load `{}`", name.value, load.value)).hint(hint));
        return None;
    }
    Some(found)
}

/// When a load or a converter works: it has its voltage and, if it is switched inside its part, that is on too.
fn works_while(resolver: &Resolver, signal: SignalId) -> StateCondition {
    let inside = resolver.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Load(load) if load.working == signal => Some(load.when.clone()),
        ElementKind::Converter { working, when, .. } if *working == signal => Some(when.clone()),
        _ => None,
    });
    StateCondition::All([StateCondition::Signal(signal)].into_iter().chain(inside).collect())
}
