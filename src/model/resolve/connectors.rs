//! Connectors: their halves as parts, and what meets when they are plugged together.

use super::Resolver;
use crate::{Joint, PartId, PartKind, PinId};
use form::place::pin_suggestion;
use form::{Name, Place, Placed, Problem};
use quantity::Ohms;
use spec::ConnectorEntry;

impl Resolver<'_> {
    pub(super) fn connectors(&mut self) {
        let form = self.form;
        self.note_broken(&form.connectors);
        for (name, entry) in form.connectors.iter() {
            let at = self.place(&entry.at);
            let Some(kind) = self.kind(&entry.use_) else {
                self.broken.push(name.value.clone());
                continue;
            };
            if !self.take_name(name) {
                continue;
            }
            let id = self.add_part(name, PartKind::Connector, &entry.use_.value, kind);
            let part = &mut self.model.parts[id.0];
            part.at = at;
            part.existing = entry.existing.0;
            part.note = entry.note.as_ref().map(|n| n.0.clone());
            if let Some(title) = &entry.title {
                part.title = title.0.clone();
            }
        }
        for (name, entry) in form.connectors.iter() {
            if let Some(half) = self.model.part_named(name) {
                self.mate(half, entry);
            }
        }
    }

    fn mate(&mut self, half: PartId, entry: &ConnectorEntry) {
        if let Some(other_name) = &entry.mates {
            let Some(other) = self.known_part(&other_name.value, other_name.place, "connector") else { return };
            self.mate_halves(half, other, other_name.place);
        }
        if let Some(on) = &entry.on {
            let Some(device) = self.known_part(&on.value, on.place, "part") else { return };
            for (cavity, pin) in &entry.carries {
                let cavity = self.pin_of(half, cavity);
                let pin = self.pin_of(device, pin);
                if let (Some(cavity), Some(pin)) = (cavity, pin) {
                    self.joint(half, [cavity, pin]);
                }
            }
        }
    }

    fn mate_halves(&mut self, half: PartId, other: PartId, place: Place) {
        let (mine, theirs) = (self.model.part(half).pins.clone(), self.model.part(other).pins.clone());
        if half == other || self.model.part(other).kind != PartKind::Connector {
            self.report(Problem::at(place, "a connector half mates with another connector half"));
            return;
        }
        if mine.len() != theirs.len() {
            if self.model.part(half).form.incomplete || self.model.part(other).form.incomplete {
                return;
            }
            let message = format!(
                "`{}` has {} cavities and `{}` has {}: they don't mate",
                self.model.part(half).name,
                mine.len(),
                self.model.part(other).name,
                theirs.len()
            );
            self.report(Problem::at(place, message));
            return;
        }
        let met = |joint: &&Joint| joint.pins.contains(&mine[0]) || joint.pins.contains(&theirs[0]);
        if let Some(joint) = self.model.joints.iter().find(met) {
            if !(joint.pins.contains(&mine[0]) && joint.pins.contains(&theirs[0])) {
                self.report(Problem::at(place, "one of these halves already mates with another"));
            }
            return;
        }
        for (a, b) in mine.into_iter().zip(theirs) {
            self.joint(half, [a, b]);
        }
    }

    fn joint(&mut self, half: PartId, pins: [PinId; 2]) {
        // 5 mΩ for a mated pair: typical.
        let terminal = self.model.part(half).form.terminal.as_ref();
        let resistance = terminal.and_then(|t| t.resistance).unwrap_or(Ohms::new(0.005));
        self.model.joints.push(Joint { pins, resistance });
    }

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
