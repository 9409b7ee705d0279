//! The rework: what the bench takes off, moves, renames and adds. Numbers of wires and names of parts are the old ones
//! for what was there, and the new ones for what is added.

use super::inventory::{Fitted, Inventory, NamedPin, Strand};
use super::pairs::Pairs;
use serde::Serialize;
use std::collections::BTreeMap;

/// All that turns the old harness into the new one.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Rework {
    /// Parts that get another name: change their labels.
    pub renamed_parts: Vec<Renamed>,
    /// Wires that get another number: change their labels.
    pub renumbered_wires: Vec<Renamed>,
    /// Wires to take out.
    pub removed_wires: Vec<Strand>,
    /// Parts to take out.
    pub removed_parts: Vec<Fitted>,
    /// Parts that give way to another kind, rating or place under the same name.
    pub exchanged_parts: Vec<Exchanged>,
    /// Parts to fit.
    pub added_parts: Vec<Fitted>,
    /// Ends of wires that go to another pin.
    pub moved_ends: Vec<MovedEnd>,
    /// Wires that stay, but are cut shorter or take another way.
    pub trimmed_wires: Vec<Replaced>,
    /// Wires that are replaced between the same pins: longer, or of another size, colour or make.
    pub replaced_wires: Vec<Replaced>,
    /// Wires to run.
    pub added_wires: Vec<Strand>,
}

/// A name that changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Renamed {
    /// The old name.
    pub from: String,
    /// The new name.
    pub to: String,
}

/// A part that gives way to another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Exchanged {
    /// The part that was there, under its new name.
    pub old: Fitted,
    /// The part that comes.
    pub new: Fitted,
}

/// An end of a wire that goes to another pin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MovedEnd {
    /// The wire.
    pub wire: String,
    /// The pin that it leaves; parts have their new names.
    pub from: NamedPin,
    /// The pin that it goes to.
    pub to: NamedPin,
    /// The wire afterwards.
    pub then: Strand,
}

/// A wire that changes between the same pins.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replaced {
    /// The wire as it was; its ends have the new names.
    pub old: Strand,
    /// The wire as it will be.
    pub new: Strand,
}

impl Rework {
    /// The rework between two inventories.
    pub fn between(old: &Inventory, new: &Inventory, pairs: &Pairs) -> Rework {
        let mut rework = Rework::default();
        rework.parts(old, new, pairs);
        rework.wires(old, new, pairs);
        rework
    }

    /// Whether nothing is to be done.
    pub fn is_empty(&self) -> bool {
        *self == Rework::default()
    }

    fn parts(&mut self, old: &Inventory, new: &Inventory, pairs: &Pairs) {
        for part in &old.parts {
            let Some(to) = pairs.new_name(&part.name) else {
                self.removed_parts.push(part.clone());
                continue;
            };
            if to != part.name {
                self.renamed_parts.push(Renamed { from: part.name.clone(), to: to.to_string() });
            }
            let named = part.named(&|name| pairs.new_name(name).unwrap_or(name).to_string());
            let then = new.parts.iter().find(|other| other.name == to).filter(|other| **other != named);
            self.exchanged_parts.extend(then.map(|then| Exchanged { old: named, new: then.clone() }));
        }
        let is_kept = |name: &str| old.parts.iter().any(|part| pairs.new_name(&part.name) == Some(name));
        self.added_parts = new.parts.iter().filter(|part| !is_kept(&part.name)).cloned().collect();
    }

    fn wires(&mut self, old: &Inventory, new: &Inventory, pairs: &Pairs) {
        let named = |wire: &Strand| Strand { ends: wire.ends.each_ref().map(|pin| pairs.pin(pin)), ..wire.clone() };
        let mut before: Vec<Strand> = old.wires.iter().map(named).collect();
        let mut after: Vec<Strand> = new.wires.clone();
        let same_id = |a: &Strand, b: &Strand| a.id == b.id;
        let tests: [IsSame; 4] = [
            &|a, b| same_id(a, b) && a.joins_same(b),
            &|a, b| a.joins_same(b) && a.is_alike(b),
            &|a, b| a.joins_same(b),
            &|a, b| same_id(a, b) && moved_end(a, b).is_some() && a.is_alike(b) && a.cut >= b.cut,
        ];
        for test in tests {
            before.retain(|wire| match after.iter().position(|other| test(wire, other)) {
                Some(at) => {
                    self.kept(wire, &after.remove(at));
                    false
                }
                None => true,
            });
        }
        self.removed_wires = before;
        self.added_wires = after;
    }

    /// A wire that is there before and after.
    fn kept(&mut self, old: &Strand, new: &Strand) {
        if old.id != new.id {
            self.renumbered_wires.push(Renamed { from: old.id.clone(), to: new.id.clone() });
        }
        if let Some((from, to)) = moved_end(old, new) {
            self.moved_ends.push(MovedEnd { wire: old.id.clone(), from, to, then: new.clone() });
            return;
        }
        let change = Replaced { old: old.clone(), new: new.clone() };
        if !old.is_alike(new) || old.cut < new.cut {
            self.replaced_wires.push(change);
        } else if old.cut != new.cut || old.way != new.way_as(old) {
            self.trimmed_wires.push(change);
        }
    }

    /// The harness after the rework.
    pub fn applied(&self, old: &Inventory) -> Inventory {
        let renamed = names(&self.renamed_parts);
        let new_name = |name: &str| renamed.get(name).copied().unwrap_or(name).to_string();
        let is_removed = |part: &Fitted| self.removed_parts.iter().any(|removed| removed.name == part.name);
        let kept = old.parts.iter().filter(|part| !is_removed(part));
        let exchanged = |part: &Fitted| {
            let named = part.named(&new_name);
            let then = self.exchanged_parts.iter().find(|one| one.old.name == named.name);
            then.map_or(named, |one| one.new.clone())
        };
        let parts = kept.map(exchanged).chain(self.added_parts.iter().cloned()).collect();
        let wires = old.wires.iter().filter_map(|wire| self.wire_after(wire, &new_name));
        Inventory { parts, wires: wires.chain(self.added_wires.iter().cloned()).collect() }
    }

    fn wire_after(&self, wire: &Strand, new_name: &dyn Fn(&str) -> String) -> Option<Strand> {
        let ends = wire.ends.each_ref().map(|pin| NamedPin { part: new_name(&pin.part), pin: pin.pin.clone() });
        let mut then = Strand { ends, ..wire.clone() };
        if self.removed_wires.iter().any(|removed| removed.id == wire.id) {
            return None;
        }
        let changed = self.replaced_wires.iter().chain(&self.trimmed_wires).find(|change| change.old.id == wire.id);
        if let Some(change) = changed {
            return Some(change.new.clone());
        }
        if let Some(moved) = self.moved_ends.iter().find(|moved| moved.wire == wire.id) {
            let end = usize::from(then.ends[0] != moved.from);
            then.ends[end] = moved.to.clone();
            (then.way, then.cut) = (moved.then.way_as(&then), moved.then.cut);
        }
        then.id = names(&self.renumbered_wires).get(wire.id.as_str()).copied().unwrap_or(&wire.id).to_string();
        Some(then)
    }
}

fn names(renamed: &[Renamed]) -> BTreeMap<&str, &str> {
    renamed.iter().map(|one| (one.from.as_str(), one.to.as_str())).collect()
}

/// Whether an old wire and a new one are the same wire.
type IsSame<'t> = &'t dyn Fn(&Strand, &Strand) -> bool;

/// The end of a wire that goes to another pin, if the other end stays.
fn moved_end(old: &Strand, new: &Strand) -> Option<(NamedPin, NamedPin)> {
    if old.joins_same(new) {
        return None;
    }
    let stays = |i: usize, j: usize| old.ends[i] == new.ends[j];
    let far = [(0, 0), (0, 1), (1, 0), (1, 1)].into_iter().find(|(i, j)| stays(*i, *j))?;
    Some((old.ends[1 - far.0].clone(), new.ends[1 - far.1].clone()))
}
