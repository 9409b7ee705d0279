//! Cavities that the spec leaves open: an end names a connector alone. Where a wire of the same `signal` ends on the other
//! half, the two get one cavity, the first that is free on both halves.

use super::Resolver;
use crate::{PartId, PartKind, PinId};
use form::End;
use spec::WireForm;
use std::collections::{BTreeMap, BTreeSet};

/// An end of a wire: the wire's index in the spec, and 0 for `from` or 1 for `to`.
pub(super) type WireEnd = (usize, usize);

/// The pins that are chosen for open ends. An end that stays open is reported as any other without a pin.
pub(super) fn choose(resolver: &Resolver) -> BTreeMap<WireEnd, PinId> {
    let wires = &resolver.form.wires;
    let ends = (0..wires.len()).flat_map(|wire| [(wire, 0), (wire, 1)]);
    let open: Vec<(WireEnd, PartId)> =
        ends.filter_map(|at| Some((at, open_half(resolver, end(&wires[at.0], at.1))?))).collect();
    let mut chosen = BTreeMap::new();
    if open.is_empty() {
        return chosen;
    }
    let mut choice = Choice { resolver, mates: mates(resolver), taken: taken(resolver) };
    for (i, &(at, half)) in open.iter().enumerate() {
        if chosen.contains_key(&at) {
            continue;
        }
        let Some(signal) = wires[at.0].signal.as_ref() else { continue };
        let is_same = |wire: usize| wires[wire].signal.as_ref() == Some(signal);
        if let Some(pin) = choice.beside_given(half, &is_same) {
            choice.taken.insert(pin);
            chosen.insert(at, pin);
            continue;
        }
        let other = open[i + 1..]
            .iter()
            .find(|(other, on)| is_same(other.0) && choice.are_mates(half, *on) && !chosen.contains_key(other));
        if let Some((other, _)) = other
            && let Some([mine, theirs]) = choice.free(half)
        {
            choice.taken.extend([mine, theirs]);
            chosen.extend([(at, mine), (*other, theirs)]);
        }
    }
    chosen
}

fn end(wire: &WireForm, end: usize) -> &End {
    if end == 0 { &wire.from.value } else { &wire.to.value }
}

/// The connector of an end that names no cavity, though there are several.
fn open_half(resolver: &Resolver, end: &End) -> Option<PartId> {
    let part = resolver.model.part_named(&end.part).filter(|_| end.pin.is_none())?;
    let this = resolver.model.part(part);
    (this.kind == PartKind::Connector && this.pins.len() > 1).then_some(part)
}

/// Cavities that mate, both ways.
fn mates(resolver: &Resolver) -> BTreeMap<PinId, PinId> {
    let of_halves = resolver.model.joints.iter().map(|joint| joint.pins);
    of_halves.flat_map(|[a, b]| [(a, b), (b, a)]).collect()
}

/// The pins on which the spec's wires end.
fn taken(resolver: &Resolver) -> BTreeSet<PinId> {
    let ends = resolver.form.wires.iter().flat_map(|wire| [&wire.from.value, &wire.to.value]);
    ends.filter_map(|end| given_pin(resolver, end)).collect()
}

fn given_pin(resolver: &Resolver, end: &End) -> Option<PinId> {
    resolver.model.pin_named(resolver.model.part_named(&end.part)?, end.pin.as_ref()?)
}

struct Choice<'r> {
    resolver: &'r Resolver<'r>,
    mates: BTreeMap<PinId, PinId>,
    taken: BTreeSet<PinId>,
}

impl Choice<'_> {
    /// The free cavity of a half that mates with the given cavity of a wire of the same signal.
    fn beside_given(&self, half: PartId, is_same: &dyn Fn(usize) -> bool) -> Option<PinId> {
        let wires = self.resolver.form.wires.iter().enumerate().filter(|(i, _)| is_same(*i));
        let mut given = wires.flat_map(|(_, wire)| [&wire.from.value, &wire.to.value]);
        given.find_map(|end| {
            let mine = *self.mates.get(&given_pin(self.resolver, end)?)?;
            (self.resolver.model.pin(mine).part == half && !self.taken.contains(&mine)).then_some(mine)
        })
    }

    fn are_mates(&self, half: PartId, other: PartId) -> bool {
        let pins = &self.resolver.model.part(half).pins;
        pins.iter().filter_map(|pin| self.mates.get(pin)).any(|pin| self.resolver.model.pin(*pin).part == other)
    }

    /// The first cavity of a half that is free on both sides, and its mate.
    fn free(&self, half: PartId) -> Option<[PinId; 2]> {
        let pins = self.resolver.model.part(half).pins.iter();
        let mut pairs = pins.filter_map(|pin| Some([*pin, *self.mates.get(pin)?]));
        pairs.find(|pair| pair.iter().all(|pin| !self.taken.contains(pin)))
    }
}
