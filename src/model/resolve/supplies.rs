//! Supplies: parts of one pin that belong to the vehicle, with a voltage of their own or fed from a supply that has one.

use super::{Resolver, Space};
use crate::{ElementKind, PartId, PartKind, StateCondition, SupplyFigures};
use catalogue::part_form::{Domain, Family, PartForm, PinRole};
use form::place::suggestion;
use form::{Entries, Name, Place, Placed, Problem};
use quantity::{Amps, Ohms};
use spec::SupplyForm;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What the vehicle's other loads on a supply that can be off draw: 2 A (common practice, no source).
const USUAL_OTHERS: Amps = Amps::new(2.0);

impl Resolver<'_> {
    /// A supply by name, reported if there is none.
    pub(super) fn supply_named(&mut self, name: &Placed<Name>) -> Option<PartId> {
        let found = self.model.part_named(name).filter(|&p| self.model.part(p).kind == PartKind::Supply);
        if found.is_none() && !self.excused(&name.value) {
            let form = self.form;
            let hint = suggestion(name, form.supplies.names().map(|n| n.as_str()), "supplies");
            let problem = Problem::at(name.place, format!("`{}` is not a supply", name.value)).hint(hint);
            self.report_unknown(Space::Things, name, problem);
        }
        found
    }

    /// The first supply with volts of its own.
    pub(super) fn first_supply(&self) -> Option<PartId> {
        self.form.supplies.iter().find(|(_, s)| s.volts.is_some()).and_then(|(name, _)| self.model.part_named(name))
    }
}

pub(super) fn supplies(resolver: &mut Resolver) {
    let form = resolver.form;
    resolver.note_broken(&form.supplies);
    for (name, supply) in form.supplies.iter() {
        if resolver.enough() {
            return;
        }
        let at = resolver.place(&supply.at);
        if !resolver.take_name(name) {
            continue;
        }
        let kind =
            one_pin("+", Domain::Power, Family::VehicleModule, &format!("Supply, terminal {}", supply.terminal.0));
        let part = resolver.add_part(name, PartKind::Supply, &supply.terminal.0, Arc::new(kind));
        resolver.model.parts[part.0].at = at;
        resolver.model.parts[part.0].existing = true;
        let figures = SupplyFigures {
            limit: supply.limit,
            fuse: supply.fuse,
            capacity: supply.capacity,
            peukert: supply.peukert,
            alternator: supply.alternator,
        };
        // A battery's own and its posts', common practice, no source; a derived supply adds the vehicle's wiring.
        if let Some(volts) = &supply.volts {
            if supply.follows.is_some() || supply.from.is_some() {
                resolver.report(
                    Problem::at(volts.place, format!("`{}` has volts of its own and follows something", name.value))
                        .hint("give `volts` to the battery alone; a switched supply takes its voltage `from` it"),
                );
            }
            never_off(resolver, name, supply);
            let resistance = supply.resistance.unwrap_or(Ohms::new(0.015));
            let kind =
                ElementKind::Battery { plus: resolver.first_pin(part), volts: volts.value.0, resistance, figures };
            resolver.add_element(part, kind);
        }
    }
    let has_volts = form.supplies.iter().any(|(_, s)| s.volts.is_some());
    if !has_volts && resolver.broken.is_empty() && resolver.unread.is_empty() {
        let place = form.supplies.names().next().map_or(resolver.model.job.place, |n| n.place);
        resolver.report(
            Problem::at(place, "no supply has `volts`, so nothing can be solved")
                .hint("supplies: {battery: {terminal: \"30\", at: engine-bay, volts: [11.8 V, 12.6 V, 14.6 V]}}"),
        );
    }
}

/// Derived supplies, once the inputs that they follow are known.
pub(super) fn supply_conditions(resolver: &mut Resolver) {
    let form = resolver.form;
    for (name, supply) in form.supplies.iter().filter(|(_, s)| s.volts.is_none()) {
        let Some(part) = resolver.model.part_named(name) else { continue };
        let from = match &supply.from {
            Some(from) => resolver.supply_named(from),
            None => resolver.first_supply(),
        };
        let when = match &supply.follows {
            Some(condition) => resolver.logic(condition, &super::names::Scope::Spec),
            None => Some(StateCondition::Always(true)),
        };
        let (Some(from), Some(when)) = (from, when) else { continue };
        if from == part {
            resolver.report(Problem::at(name.place, format!("`{}` is fed from itself", name.value)));
            continue;
        }
        let figures =
            SupplyFigures { limit: supply.limit, fuse: supply.fuse, capacity: None, peukert: None, alternator: None };
        let (from, pin) = (resolver.first_pin(from), resolver.first_pin(part));
        let resistance = supply.resistance.unwrap_or(Ohms::new(0.02));
        let others = supply.others.map_or(USUAL_OTHERS, |others| others.value);
        resolver.add_element(part, ElementKind::Derived { from, pin, resistance, when, others, figures });
    }
    supplies_in_rings(resolver);
    supplies_never_off(resolver);
}

/// Reports supplies that feed each other in a ring, each ring once, at the first of it.
fn supplies_in_rings(resolver: &mut Resolver) {
    let mut fed_from: BTreeMap<PartId, PartId> = BTreeMap::new();
    for element in &resolver.model.elements {
        if let ElementKind::Derived { from, .. } = element.kind {
            fed_from.insert(element.part, resolver.model.pin(from).part);
        }
    }
    let mut reported: BTreeSet<PartId> = BTreeSet::new();
    for &first in fed_from.keys() {
        let mut ring = vec![first];
        while let Some(next) = fed_from.get(&ring[ring.len() - 1]).filter(|next| !ring.contains(next)) {
            ring.push(*next);
        }
        let closes = fed_from.get(&ring[ring.len() - 1]) == Some(&first);
        if closes && reported.insert(first) {
            reported.extend(&ring);
            tell_ring(resolver, &ring);
        }
    }
}

/// `ring`: each supply is fed from the next, the last one from the first.
fn tell_ring(resolver: &mut Resolver, ring: &[PartId]) {
    let name = |at: usize| format!("`{}`", resolver.model.part(ring[at % ring.len()]).name);
    let each: Vec<String> = (0..ring.len()).map(|at| format!("{} is fed from {}", name(at), name(at + 1))).collect();
    let message = format!("supplies feed each other in a circle, and nothing else feeds them: {}", each.join(", "));
    let place = resolver.model.part(ring[0]).place;
    resolver.report(
        Problem::at(place, message).hint("feed one of them `from` the battery, or from what the battery feeds"),
    );
}

/// Takes the other loads off supplies that are never off, once it is known what feeds each.
fn supplies_never_off(resolver: &mut Resolver) {
    let form = resolver.form;
    for i in 0..resolver.model.elements.len() {
        let ElementKind::Derived { pin, .. } = resolver.model.elements[i].kind else { continue };
        if !matches!(resolver.model.live(pin), StateCondition::Always(true)) {
            continue;
        }
        if let ElementKind::Derived { others, .. } = &mut resolver.model.elements[i].kind {
            *others = Amps::new(0.0);
        }
        let name = &resolver.model.part(resolver.model.elements[i].part).name;
        if let Some((name, supply)) = form.supplies.iter().find(|(other, _)| other.value == *name) {
            never_off(resolver, name, supply);
        }
    }
}

/// Reports other loads on a supply that is never off.
fn never_off(resolver: &mut Resolver, name: &Placed<Name>, supply: &SupplyForm) {
    if let Some(others) = &supply.others {
        let message = format!("`{}` is never off, so its `others` never lead to ground", name.value);
        resolver
            .report(Problem::at(others.place, message).hint("leave it out; it is for a supply that follows something"));
    }
}

/// The kind of a part that is nothing but one pin of the vehicle.
pub(super) fn one_pin(pin: &str, domain: Domain, family: Family, title: &str) -> PartForm {
    use catalogue::part_form::PinForm;
    use form::{Entry, Text, YesNo};
    let pin_form = PinForm {
        domain,
        title: None,
        limit: None,
        is: Some(PinRole::Output),
        means: None,
        optional: YesNo(true),
        impedance: None,
        side: None,
        minus_of: None,
        least_load: None,
        incomplete: false,
    };
    let name = Placed { value: Name::new(pin), place: Place::default() };
    PartForm {
        holder: None,
        title: Text(title.to_string()),
        family,
        symbol: None,
        nominal: None,
        highest: None,
        pins: Entries(vec![Entry { name, body: Some(pin_form), incomplete: false }]),
        cavities: None,
        rows: Vec::new(),
        terminal: None,
        inside: Vec::new(),
        rating: None,
        ratings: Vec::new(),
        colours: Vec::new(),
        opens: Vec::new(),
        formats: Vec::new(),
        shields: None,
        start_up: None,
        switch_over: None,
        on_loss: None,
        shows: Vec::new(),
        otherwise: None,
        holds: None,
        body: Vec::new(),
        sources: Vec::new(),
        note: None,
        incomplete: false,
    }
}
