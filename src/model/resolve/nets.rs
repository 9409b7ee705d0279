//! What joined pins are together: the kind of signal, and a name by where it comes from.

use crate::{Carried, Domain, Draft, Element, ElementId, ElementKind, Model, PartKind, PinId, PinRole, mixed_nets};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, VecDeque};

/// Where a net has its name from, the best source first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Source {
    Ground,
    /// A picture, a sound or data: where it starts, then where it goes.
    Starts,
    Goes,
    Supply,
    Feed,
    Output,
    Fuse,
    Contact,
    Throw,
    Through,
    Taken,
}

impl Source {
    /// Whether a picture, a sound or data.
    fn is_signal(self) -> bool {
        matches!(self, Source::Starts | Source::Goes)
    }
}

/// A net's best pin so far.
struct Named {
    source: Source,
    domain: Domain,
    pin: PinId,
}

/// Gives each joined group of pins one kind and one name: cavities and splices have none of their own, and a wire
/// carries what the pins it joins are. A net has its kind from what it comes from, through fuses, contacts, switches
/// and diodes: what a supply feeds is power, what only a tapped wire feeds is a trigger, so the kind doesn't change on
/// the way.
pub(crate) fn name<G>(model: &mut Model<G>) {
    let mut groups = UnionFind::<usize>::new(model.pins.len());
    for wire in &model.wires {
        groups.union(wire.ends[0].0, wire.ends[1].0);
    }
    for joint in &model.joints {
        groups.union(joint.pins[0].0, joint.pins[1].0);
    }
    let beside = beside(model, &groups);
    let inside = inside(model, &depths(model, &groups, &beside));
    let mut best: BTreeMap<usize, Named> = BTreeMap::new();
    let mut electric: BTreeMap<usize, Named> = BTreeMap::new();
    for pin in model.pin_ids() {
        let (this, part) = (model.pin(pin), model.part(model.pin(pin).part));
        if matches!(part.kind, PartKind::Connector | PartKind::Splice) {
            continue;
        }
        let source = match (part.kind, this.domain, this.role) {
            (PartKind::Ground, ..) => Source::Ground,
            (_, Domain::Video | Domain::Audio | Domain::Data, PinRole::Output) => Source::Starts,
            (_, Domain::Video | Domain::Audio | Domain::Data, _) => Source::Goes,
            (PartKind::Supply, ..) => Source::Supply,
            (PartKind::Feed, ..) => Source::Feed,
            (_, _, PinRole::Output) => Source::Output,
            _ => inside[pin.0].unwrap_or(if this.role == PinRole::Through { Source::Through } else { Source::Taken }),
        };
        let group = groups.find(pin.0);
        if best.get(&group).is_none_or(|named| source < named.source) {
            best.insert(group, Named { source, domain: this.domain, pin });
        }
        // Where a picture meets a feed by mistake, the net is what its current makes it.
        let is_passed_on = part.kind == PartKind::Device && this.role == PinRole::Through;
        let is_electric = !source.is_signal() && !is_passed_on;
        if is_electric && electric.get(&group).is_none_or(|named: &Named| source < named.source) {
            electric.insert(group, Named { source, domain: this.domain, pin });
        }
    }
    for (group, named) in electric {
        if best.get(&group).is_some_and(|best| best.source.is_signal()) {
            best.insert(group, named);
        }
    }
    spread(&beside, &mut best);
    for i in 0..model.pins.len() {
        let kind = model.part(model.pins[i].part).kind;
        if matches!(kind, PartKind::Connector | PartKind::Splice)
            && let Some(named) = best.get(&groups.find(i))
        {
            model.pins[i].domain = named.domain;
        }
    }
    for wire in &mut model.wires {
        if let Some(named) = best.get(&groups.find(wire.ends[0].0)) {
            wire.domain = named.domain;
            if wire.signal == Carried::Unnamed {
                wire.signal = Carried::From(named.pin);
            }
        }
    }
}

/// Gives pins of pictures and sound that meet a feed, a trigger or a ground what they are to current.
pub(super) fn ports(model: &mut Draft) {
    for pin in mixed_nets(model).into_iter().flatten() {
        let part = model.pin(pin).part;
        let ends = model.pin(pin).impedance.zip(model.ground_of(part).filter(|ground| *ground != pin));
        if let (Some((resistance, ground)), true) = (ends, model.part(part).kind == PartKind::Device) {
            model.elements.push(Element { part, kind: ElementKind::Port { pin, ground, resistance } });
            model.parts[part.0].elements.push(ElementId(model.elements.len() - 1));
        }
    }
}

/// For each net, the nets that current or a signal can pass on to, through fuses, contacts, switches and diodes.
fn beside<G>(model: &Model<G>, groups: &UnionFind<usize>) -> BTreeMap<usize, Vec<usize>> {
    let mut beside: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut join = |from: PinId, to: PinId, both: bool| {
        let [from, to] = [from, to].map(|pin| groups.find(pin.0));
        beside.entry(from).or_default().push(to);
        if both {
            beside.entry(to).or_default().push(from);
        }
    };
    for element in &model.elements {
        match &element.kind {
            ElementKind::Fuse { between: [a, b], .. } => join(*a, *b, true),
            ElementKind::Contact { common, made, rest, .. } => {
                made.iter().chain(rest).for_each(|pin| join(*common, *pin, true));
            }
            ElementKind::Throw { common, throw, .. } => join(*common, *throw, true),
            ElementKind::Diode { anode, cathode, .. } => join(*anode, *cathode, false),
            _ => {}
        }
    }
    beside
}

/// For each pin, the number of fuses, contacts, switches and diodes between its net and the nearest supply, tap or
/// output; `None` for a net that none of these feeds.
fn depths<G>(model: &Model<G>, groups: &UnionFind<usize>, beside: &BTreeMap<usize, Vec<usize>>) -> Vec<Option<usize>> {
    let mut depths: BTreeMap<usize, usize> = BTreeMap::new();
    let feeds = |pin: &PinId| {
        let part = model.part(model.pin(*pin).part).kind;
        matches!(part, PartKind::Supply | PartKind::Feed) || model.pin(*pin).role == PinRole::Output
    };
    let mut ahead: VecDeque<usize> = model.pin_ids().filter(feeds).map(|pin| groups.find(pin.0)).collect();
    depths.extend(ahead.iter().map(|group| (*group, 0)));
    while let Some(group) = ahead.pop_front() {
        let depth = depths[&group] + 1;
        for next in beside.get(&group).into_iter().flatten() {
            if !depths.contains_key(next) {
                depths.insert(*next, depth);
                ahead.push_back(*next);
            }
        }
    }
    model.pin_ids().map(|pin| depths.get(&groups.find(pin.0)).copied()).collect()
}

/// Each pin by the element inside its part: the far side of a fuse, a contact or a switch. A fuse names the net
/// behind it, not the net that feeds it.
fn inside<G>(model: &Model<G>, depths: &[Option<usize>]) -> Vec<Option<Source>> {
    let mut inside: Vec<Option<Source>> = vec![None; model.pins.len()];
    for element in &model.elements {
        let marked: Vec<(PinId, Source)> = match &element.kind {
            ElementKind::Fuse { between: [a, b], .. } => match (depths[a.0], depths[b.0]) {
                (Some(near), Some(far)) if near < far => vec![(*b, Source::Fuse)],
                (Some(far), Some(near)) if near < far => vec![(*a, Source::Fuse)],
                _ => vec![(*a, Source::Fuse), (*b, Source::Fuse)],
            },
            ElementKind::Contact { made, rest, .. } => {
                made.iter().chain(rest).map(|pin| (*pin, Source::Contact)).collect()
            }
            ElementKind::Diode { cathode, .. } => vec![(*cathode, Source::Contact)],
            ElementKind::Throw { throw, .. } => vec![(*throw, Source::Throw)],
            _ => Vec::new(),
        };
        for (pin, source) in marked {
            let best = inside[pin.0].map_or(source, |before| before.min(source));
            inside[pin.0] = Some(best);
        }
    }
    inside
}

/// Carries kinds on from supplies and taps: power before trigger where both come to a net.
fn spread(beside: &BTreeMap<usize, Vec<usize>>, best: &mut BTreeMap<usize, Named>) {
    let starts = |source: Source| -> Vec<usize> {
        best.iter().filter(|(_, named)| named.source == source).map(|(group, _)| *group).collect()
    };
    let (supplies, taps) = (starts(Source::Supply), starts(Source::Feed));
    let given = |named: &Named| named.source <= Source::Output;
    let mut kinds: BTreeMap<usize, Domain> = BTreeMap::new();
    for start in supplies.into_iter().chain(taps) {
        let Some(domain) = best.get(&start).map(|named| named.domain) else { continue };
        let mut ahead = VecDeque::from([start]);
        while let Some(group) = ahead.pop_front() {
            for next in beside.get(&group).into_iter().flatten() {
                let free = best.get(next).is_some_and(|named| !given(named));
                if free && !kinds.contains_key(next) {
                    kinds.insert(*next, domain);
                    ahead.push_back(*next);
                }
            }
        }
    }
    for (group, domain) in kinds {
        if let Some(named) = best.get_mut(&group) {
            named.domain = domain;
        }
    }
}
