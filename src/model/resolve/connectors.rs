//! Connectors: their halves as parts, and what meets when they are plugged together.

use super::Resolver;
use crate::{Joint, PartId, PartKind, PinId};
use form::place::pin_suggestion;
use form::{Name, Place, Placed, Problem};
use quantity::Ohms;
use spec::ConnectorEntry;

impl Resolver<'_> {
    /// A pin of a part by name, reported if there is none.
    pub(super) fn pin_of(&mut self, part: PartId, name: &Placed<Name>) -> Option<PinId> {
        let found = self.model.pin_named(part, name);
        let reported = |problem: &Problem| problem.place == Some(name.place);
        if found.is_none() && !self.unread.holds(name) && !self.problems.iter().any(reported) {
            let pins: Vec<&str> = self.model.part(part).pins.iter().map(|&p| self.model.pin(p).name.as_str()).collect();
            let hint = pin_suggestion(name, &pins);
            let of = self.model.part(part).name.clone();
            self.report(Problem::at(name.place, format!("`{of}` has no pin `{}`", name.value)).hint(hint));
        }
        found
    }
}

pub(super) fn connectors(resolver: &mut Resolver) {
    let form = resolver.form;
    resolver.note_broken(&form.connectors);
    for (name, entry) in form.connectors.iter() {
        let at = resolver.place(&entry.at);
        let Some(kind) = resolver.kind(&entry.use_) else {
            resolver.broken.push(name.value.clone());
            continue;
        };
        if !resolver.take_name(name) {
            continue;
        }
        let id = resolver.add_part(name, PartKind::Connector, &entry.use_.value, kind);
        let part = &mut resolver.model.parts[id.0];
        part.at = at;
        part.existing = entry.existing.0;
        part.note = entry.note.as_ref().map(|n| n.0.clone());
        if let Some(title) = &entry.title {
            part.title = title.0.clone();
        }
    }
    for (name, entry) in form.connectors.iter() {
        if let Some(half) = resolver.model.part_named(name) {
            mate(resolver, half, entry);
        }
    }
}

fn mate(resolver: &mut Resolver, half: PartId, entry: &ConnectorEntry) {
    if let Some(other_name) = &entry.mates {
        let Some(other) = resolver.known_part(&other_name.value, other_name.place, "connector") else { return };
        mate_halves(resolver, half, other, other_name.place);
    }
    if let Some(on) = &entry.on {
        let Some(device) = resolver.known_part(&on.value, on.place, "part") else { return };
        for (cavity, pin) in &entry.carries {
            let cavity = resolver.pin_of(half, cavity);
            let pin = resolver.pin_of(device, pin);
            if let (Some(cavity), Some(pin)) = (cavity, pin) {
                joint(resolver, half, [cavity, pin]);
            }
        }
    }
}

fn mate_halves(resolver: &mut Resolver, half: PartId, other: PartId, place: Place) {
    let (mine, theirs) = (resolver.model.part(half).pins.clone(), resolver.model.part(other).pins.clone());
    if half == other || resolver.model.part(other).kind != PartKind::Connector {
        resolver.report(Problem::at(place, "a connector half mates with another connector half"));
        return;
    }
    if mine.len() != theirs.len() {
        if resolver.model.part(half).form.incomplete || resolver.model.part(other).form.incomplete {
            return;
        }
        let message = format!(
            "`{}` has {} cavities and `{}` has {}: they don't mate",
            resolver.model.part(half).name,
            mine.len(),
            resolver.model.part(other).name,
            theirs.len()
        );
        resolver.report(Problem::at(place, message));
        return;
    }
    let met = |joint: &&Joint| joint.pins.contains(&mine[0]) || joint.pins.contains(&theirs[0]);
    if let Some(joint) = resolver.model.joints.iter().find(met) {
        if !(joint.pins.contains(&mine[0]) && joint.pins.contains(&theirs[0])) {
            resolver.report(Problem::at(place, "one of these halves already mates with another"));
        }
        return;
    }
    for (a, b) in mine.into_iter().zip(theirs) {
        joint(resolver, half, [a, b]);
    }
}

fn joint(resolver: &mut Resolver, half: PartId, pins: [PinId; 2]) {
    // 5 mΩ for a mated pair: typical.
    let terminal = resolver.model.part(half).form.terminal.as_ref();
    let resistance = terminal.and_then(|t| t.resistance).unwrap_or(Ohms::new(0.005));
    resolver.model.joints.push(Joint { pins, resistance });
}
