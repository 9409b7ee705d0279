//! Inputs, screens, views and drives.

use super::input_problems::{only_in_a_wish, too_many_positions};
use super::names::Scope;
use super::{Resolver, Space};
use crate::{
    Drive, ElementKind, Input, InputId, Part, PartId, PartKind, Screen, ScreenId, Show, Shown, SignalKind,
    StateCondition, Step, VehicleFeed, View,
};
use catalogue::part_form::{Domain, Family, Idle, Inside, OnLoss, ShowForm};
use form::place::{nearest, suggestion};
use form::{Name, Placed, Problem};
use quantity::{Amps, Ohms, PerMinute, Seconds, Share, Span};
use spec::{InputForm, InputKind, StepForm, ViewForm};
use std::sync::Arc;

/// Inputs by name and position; their conditions and wires come when all parts are known.
pub(super) fn inputs(resolver: &mut Resolver) {
    let form = resolver.form;
    resolver.note_broken(&form.inputs);
    for (name, input) in form.inputs.iter() {
        if resolver.enough() {
            return;
        }
        if resolver.names.contains_key(&name.value) {
            continue;
        }
        resolver.names.insert(name.value.clone(), name.place);
        let entry = input
            .part
            .as_ref()
            .and_then(|part| [&form.parts, &form.accessories].into_iter().find_map(|entries| entries.get(part)));
        let kind = entry.and_then(|e| resolver.catalogue.get(&e.use_.value).cloned());
        let switch = kind.as_ref().and_then(|k| super::elements::switch_positions(k));
        let mut positions: Vec<Name> = input.positions.iter().map(|p| p.value.clone()).collect();
        if positions.is_empty() {
            positions = switch
                .as_ref()
                .map_or_else(|| vec![Name::new("off"), Name::new("on")], |(positions, _)| positions.clone());
        } else if positions.len() < 2 {
            if !input.incomplete {
                resolver.report(
                    Problem::at(input.positions[0].place, format!("`{}` needs at least two positions", name.value))
                        .hint("the one at rest comes first: [off, on]"),
                );
            }
            continue;
        }
        if let Some(problem) = too_many_positions(&name.value, input, positions.len()) {
            resolver.report(problem);
            continue;
        }
        if let Some((of_switch, _)) = &switch {
            for given in &input.positions {
                if !of_switch.contains(&given.value) && !resolver.unread.holds(given) {
                    let hint = suggestion(given, of_switch.iter().map(|p| p.as_str()), "its positions");
                    resolver.report(
                        Problem::at(given.place, format!("the switch has no position `{}`", given.value)).hint(hint),
                    );
                }
            }
        }
        if let Some(acts) = &input.acts {
            resolver.report(only_in_a_wish(acts.place));
        }
        if let Some(means) = input.means.as_ref().filter(|_| positions.len() > 2) {
            let message = format!(
                "`{}` has {} positions: it can't say which of them means {}",
                name.value,
                positions.len(),
                means.value
            );
            resolver.report(
                Problem::at(means.place, message)
                    .hint("give this meaning to an input with two positions, at rest and on"),
            );
        }
        let flasher = matches!(&input.kind, Some(k) if k.value == InputKind::FlasherFeed);
        // SAE J945 as reported in reference/flash-rates.csv: 60 to 120 per minute; on-time share from memory.
        let rates = Span { low: PerMinute::new(60.0), high: PerMinute::new(120.0) };
        let shares = Span { low: Share::new(0.30), high: Share::new(0.75) };
        // Dimmed lamps: typical, no source. A spec that says nothing must not count as one of a steady feed.
        let dimmed = Span { low: Share::new(0.10), high: Share::new(0.90) };
        let usual = match input.kind.as_ref().map(|kind| kind.value) {
            Some(InputKind::FlasherFeed) => Some(shares),
            Some(InputKind::PulsedFeed) => Some(dimmed),
            _ => None,
        };
        resolver.model.inputs.push(Input {
            name: name.value.clone(),
            title: input.title.as_ref().map_or_else(|| name.to_string(), |t| t.0.clone()),
            kind: input.kind.as_ref().map(|k| k.value),
            means: input.means.as_ref().map(|means| means.value),
            positions,
            switch: None,
            pin: None,
            limit: input.limit,
            flash: input.flash.map(|f| f.0).or(flasher.then_some(rates)),
            duty: input.duty.map(|d| d.0).or(usual),
            lamps: input.lamps,
            needs: None,
            excludes: Vec::new(),
            momentary: matches!(&input.kind, Some(k) if k.value == InputKind::Push)
                || switch.is_some_and(|(_, momentary)| momentary),
            place: name.place,
        });
    }
}

pub(super) fn input_feeds(resolver: &mut Resolver) {
    let form = resolver.form;
    for (name, input) in form.inputs.iter() {
        if resolver.enough() {
            return;
        }
        let Some(id) = resolver.model.inputs.iter().position(|i| i.place == name.place).map(InputId) else { continue };
        input_conditions(resolver, id, input);
        let kind = input.kind.as_ref().map(|k| k.value);
        match kind {
            Some(kind) if kind.has_wire() => input_wire(resolver, id, name, input, kind),
            _ => input_switch(resolver, id, name, input, kind),
        }
    }
}

fn input_conditions(resolver: &mut Resolver, id: InputId, input: &InputForm) {
    if let Some(needs) = &input.needs {
        resolver.model.inputs[id.0].needs = resolver.logic(needs, &Scope::Spec);
    }
    for other in &input.excludes {
        let place = other.place;
        let other = resolver.input(other);
        if other == Some(id) {
            let name = resolver.model.inputs[id.0].name.clone();
            resolver.report(
                Problem::at(place, format!("`{name}` excludes itself: it could never be on"))
                    .hint("name the other input, or leave it out"),
            );
        }
        if let Some(other) = other.filter(|other| *other != id) {
            resolver.model.inputs[id.0].excludes.push(other);
            if !resolver.model.inputs[other.0].excludes.contains(&id) {
                resolver.model.inputs[other.0].excludes.push(id);
            }
        }
    }
}

fn input_switch(resolver: &mut Resolver, id: InputId, name: &Placed<Name>, input: &InputForm, kind: Option<InputKind>) {
    let Some(part_name) = &input.part else {
        if let Some(kind) = kind
            && !input.incomplete
        {
            resolver.report(
                Problem::at(name.place, format!("`{}` is a {kind}, so it needs `part`", name.value))
                    .hint("name the switch that it moves: part: SW1"),
            );
        }
        return;
    };
    let Some(part) = resolver.known_part(&part_name.value, part_name.place, "switch") else { return };
    let has_switch = resolver.model.part(part).form.inside.iter().any(|i| matches!(i, Inside::Switch(_)));
    if !has_switch && resolver.model.part(part).form.incomplete {
        // What it has inside could not all be read, which has been reported.
    } else if !has_switch {
        let message = format!("`{}` has no switch inside that `{}` could move", part_name.value, name.value);
        resolver.report(Problem::at(part_name.place, message));
    } else if let Some(other) = resolver.model.inputs.iter().find(|i| i.switch == Some(part)) {
        let message = format!("`{}` is moved by `{}` already", part_name.value, other.name);
        resolver.report(Problem::at(part_name.place, message));
    } else {
        resolver.model.inputs[id.0].switch = Some(part);
    }
}

fn input_wire(resolver: &mut Resolver, id: InputId, name: &Placed<Name>, input: &InputForm, kind: InputKind) {
    if let Some(part) = &input.part {
        resolver.report(
            Problem::at(part.place, format!("a {kind} is a wire of the vehicle and moves no switch"))
                .hint("use kind: toggle or kind: push for a switch of this harness"),
        );
    }
    let from = match &input.from {
        Some(from) => resolver.supply_named(from),
        None => resolver.first_supply(),
    };
    let at = match &input.at {
        Some(at) => resolver.place(at),
        None => {
            if !input.incomplete {
                resolver.report(
                    Problem::at(name.place, format!("`{}` needs `at`", name.value))
                        .hint("say where the vehicle's wire is tapped: at: tail"),
                );
            }
            None
        }
    };
    let title = resolver.model.inputs[id.0].title.clone();
    let kind_form = super::supplies::one_pin("tap", Domain::Trigger, Family::VehicleModule, &title);
    let part = resolver.add_part(name, PartKind::Feed, kind.word(), Arc::new(kind_form));
    resolver.model.parts[part.0].at = at;
    resolver.model.parts[part.0].existing = true;
    let pin = resolver.first_pin(part);
    resolver.model.inputs[id.0].pin = Some(pin);
    if let Some(fuse) = input.fuse.as_ref().filter(|_| kind.is_low()) {
        let message = format!("`{}` goes to ground when on, so no fuse is before it", name.value);
        resolver.report(Problem::at(fuse.place, message).hint("leave `fuse` out"));
    }
    let Some(from) = from else { return };
    let supply = resolver.first_pin(from);
    let from = (!kind.is_low()).then_some(supply);
    let semiconductor = matches!(kind, InputKind::ModuleOutput | InputKind::ModuleLow | InputKind::PulsedFeed);
    let feed = VehicleFeed {
        input: id,
        pin,
        from,
        resistance: input.resistance.unwrap_or(Ohms::new(0.05)),
        when: StateCondition::Not(Box::new(StateCondition::InputIs(id, 0))),
        lamps: input.lamps,
        lamps_from: kind.is_low().then_some(supply),
        semiconductor,
        limit: input.limit,
        fuse: input.fuse.as_ref().map(|fuse| fuse.value),
        leakage: input.leakage.unwrap_or(Amps::new(0.0)),
        pulsed: resolver.model.inputs[id.0].duty.filter(|_| kind == InputKind::PulsedFeed),
    };
    resolver.add_element(part, ElementKind::Feed(feed));
}

pub(super) fn screens(resolver: &mut Resolver) {
    let form = resolver.form;
    for (name, screen) in form.screens.iter() {
        if resolver.enough() {
            return;
        }
        let Some(part) = resolver.known_part(&screen.part.value, screen.part.place, "screen") else { continue };
        let kind = resolver.model.part(part).form.clone();
        if kind.family != Family::Screen {
            resolver.report(
                Problem::at(screen.part.place, format!("`{}` is not a screen", screen.part.value))
                    .label(format!("a part of family `{}`", kind.family)),
            );
            continue;
        }
        let rules: &[ShowForm] = if screen.shows.is_empty() { &kind.shows } else { &screen.shows };
        let shows = rules.iter().filter_map(|rule| show(resolver, part, rule)).collect();
        resolver.model.screens.push(Screen {
            name: name.value.clone(),
            part,
            shows,
            otherwise: screen.otherwise.or(kind.otherwise).unwrap_or(Idle::Home),
            switch_over: screen.switch_over.or(kind.switch_over).unwrap_or(Seconds::new(0.5)),
            on_loss: screen.on_loss.or(kind.on_loss).unwrap_or(OnLoss::Black),
            driver_sees: screen.driver_sees.is_none_or(|y| y.0),
            views: Vec::new(),
            place: name.place,
        });
    }
}

fn show(resolver: &mut Resolver, part: PartId, rule: &ShowForm) -> Option<Show> {
    let signals: Vec<(Name, crate::SignalId)> = resolver
        .model
        .signals
        .iter()
        .enumerate()
        .filter(|(_, s)| s.part == part && matches!(s.kind, SignalKind::Sense { .. } | SignalKind::Timer { .. }))
        .map(|(i, s)| (s.local.clone(), crate::SignalId(i)))
        .collect();
    let when = resolver.logic(&rule.when, &Scope::Part(&signals))?;
    let input = resolver.pin_of(part, &rule.input)?;
    Some(Show { when, text: rule.when.text.clone(), input })
}

pub(super) fn views(resolver: &mut Resolver) {
    let form = resolver.form;
    for (name, views) in form.views.iter() {
        if resolver.enough() {
            return;
        }
        let Some(screen) = resolver.model.screens.iter().position(|s| s.name == name.value) else {
            unknown_screen(resolver, name);
            // What else is wrong with its lines is reported in the same go.
            for (i, view) in views.iter().enumerate() {
                resolve_view(resolver, view, name, i + 1 == views.len());
            }
            continue;
        };
        for (i, view) in views.iter().enumerate() {
            if let Some(view) = resolve_view(resolver, view, name, i + 1 == views.len()) {
                resolver.model.screens[screen].views.push(view);
            }
        }
    }
}

fn resolve_view(resolver: &mut Resolver, view: &ViewForm, of: &Placed<Name>, last: bool) -> Option<View> {
    let (when, text, show, place) = match (&view.when, &view.show, &view.otherwise) {
        (Some(when), Some(show), None) => (resolver.logic(when, &Scope::Spec)?, when.text.clone(), show, when.place),
        (None, None, Some(otherwise)) if last => {
            (StateCondition::Always(true), "otherwise".to_string(), otherwise, otherwise.place)
        }
        (None, None, Some(otherwise)) => {
            resolver.report(Problem::at(otherwise.place, "lines after `otherwise` never apply").hint("put it last"));
            return None;
        }
        _ if view.incomplete => return None,
        _ => {
            let place = view.show.as_ref().or(view.otherwise.as_ref()).map_or(of.place, |p| p.place);
            resolver.report(
                Problem::at(place, "a view has `when` and `show`, or `otherwise` alone")
                    .hint("{when: reverse, show: REAR} or {otherwise: home}"),
            );
            return None;
        }
    };
    let show = find_shown(resolver, show)?;
    Some(View { when, text, show, within: view.within.map(|w| w.value), steady: view.steady.0, place })
}

fn find_shown(resolver: &mut Resolver, name: &Placed<Name>) -> Option<Shown> {
    match name.as_str() {
        "home" => return Some(Shown::Home),
        "black" => return Some(Shown::Black),
        "any" => return Some(Shown::Any),
        _ => {}
    }
    let no_picture = matches!(name.as_str(), "off" | "none" | "nothing" | "dark" | "blank");
    let near = nearest(name, ["home", "black", "any"]).filter(|_| !no_picture);
    if resolver.model.part_named(name).is_none() && !resolver.excused(&name.value) && (no_picture || near.is_some()) {
        let sources: Vec<&str> = resolver.model.parts.iter().filter(|p| sends(p)).map(|p| p.name.as_str()).collect();
        let hint = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "`home` is the screen's own page, `black` no picture, `any` any picture; or name a source: {}",
                sources.join(", ")
            ),
        };
        resolver.report(Problem::at(name.place, format!("`{}` can't be shown", name.value)).hint(hint));
        return None;
    }
    let part = resolver.known_part(&name.value, name.place, "source")?;
    let source = resolver.model.part(part).form.inside.iter().any(|i| matches!(i, Inside::Source(_)));
    if !source && resolver.model.part(part).form.incomplete {
        return None;
    }
    if !source {
        let sources: Vec<String> =
            resolver.model.parts.iter().filter(|p| sends(p)).map(|p| p.name.to_string()).collect();
        let hint = suggestion(name, sources.iter().map(String::as_str), "sources");
        resolver.report(Problem::at(name.place, format!("`{}` sends no picture", name.value)).hint(hint));
        return None;
    }
    Some(Shown::Source(part))
}

pub(super) fn drives(resolver: &mut Resolver) {
    let form = resolver.form;
    for (name, steps) in form.drives.iter() {
        if resolver.enough() {
            return;
        }
        let mut all: Vec<Step> = steps.iter().map(|step| resolve_step(resolver, step)).collect();
        let in_order = all.is_sorted_by(|a, b| a.at <= b.at);
        if !in_order {
            resolver.report(Problem::at(name.place, format!("the steps of `{}` are not in order of time", name.value)));
            all.clear();
        }
        resolver.model.drives.push(Drive { name: name.value.clone(), steps: all, place: name.place });
    }
}

fn unknown_screen(resolver: &mut Resolver, name: &Placed<Name>) {
    if resolver.unread.holds(name) || resolver.form.screens.names().any(|n| n.value == name.value) {
        return; // It is in the spec, and its problem has been reported.
    }
    let hint = suggestion(name, resolver.model.screens.iter().map(|s| s.name.as_str()), "screens");
    let problem = Problem::at(name.place, format!("`{}` is not a screen of this spec", name.value)).hint(hint);
    resolver.report_unknown(Space::Screens, name, problem);
}

fn resolve_step(resolver: &mut Resolver, step: &StepForm) -> Step {
    let mut changes = Vec::new();
    for (input, position) in &step.changes {
        if let Some(id) = resolver.input(input)
            && let Some(at) = resolver.position(id, position)
        {
            changes.push((id, at));
        }
    }
    let mut expect = Vec::new();
    for (screen, shown) in &step.expect {
        let found = resolver.model.screens.iter().position(|s| s.name == screen.value).map(ScreenId);
        match (found, find_shown(resolver, shown)) {
            (Some(screen), Some(shown_value)) => expect.push((screen, shown_value, shown.place)),
            (None, _) => unknown_screen(resolver, screen),
            _ => {}
        }
    }
    let flash = step.flash.as_ref().map(|flash| (flash.rate, flash.duty));
    Step { at: step.at.value, changes, flash, supply: step.supply, expect, place: step.at.place }
}

/// Whether a part sends a picture.
fn sends(part: &Part) -> bool {
    part.form.inside.iter().any(|i| matches!(i, Inside::Source(_)))
}
