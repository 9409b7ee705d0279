//! The wires before anything is fitted, with a fault of the build in them: which steps without power find it.

use crate::bench::copper::{HarnessEnd, joined_shields, resistance, shield_resistance};
use crate::bench::limit::{BenchValue, Compared};
use crate::bench::steps::{BenchProbe, BenchStep};
use facts::bench::{BAD_CONTACT, BuildFault};
use model::{Model, PartKind, PinId, WireId};
use petgraph::unionfind::UnionFind;
use quantity::Ohms;
use std::collections::{BTreeMap, VecDeque};

/// A wire or the shield of a cable, with its ends by their numbers.
type NumberedWire = (Copper, [usize; 2]);

/// What joins two ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Copper {
    Wire(WireId),
    Shield(WireId),
}

/// The wires of a good harness.
pub(super) struct GoodCopper<'m> {
    model: &'m Model,
    numbers: BTreeMap<HarnessEnd, usize>,
    wires: Vec<NumberedWire>,
    /// By the number of an end: which ends are joined.
    groups: Vec<usize>,
}

/// The wires that a fault concerns.
pub(super) struct FaultyCopper<'g> {
    good: &'g GoodCopper<'g>,
    fault: BuildFault,
    /// The groups of the good harness that it concerns.
    concerned: Vec<usize>,
    /// Their wires as they now end.
    wires: Vec<NumberedWire>,
    groups: Vec<usize>,
}

impl<'m> GoodCopper<'m> {
    pub fn new(model: &'m Model) -> GoodCopper<'m> {
        let mut numbers = BTreeMap::new();
        let mut number = |end: HarnessEnd| {
            let next = numbers.len();
            *numbers.entry(end).or_insert(next)
        };
        let built = model.wire_ids().filter(|id| !model.wire(*id).existing);
        let mut wires: Vec<NumberedWire> = built
            .map(|id| (Copper::Wire(id), model.wire(id).ends.map(|pin| number(HarnessEnd::of(model, pin, id)))))
            .collect();
        let shields = joined_shields(model).into_iter().filter(|shield| !shield.is_beside);
        wires.extend(shields.map(|shield| {
            (Copper::Shield(shield.wire), shield.ends.map(|pin| number(HarnessEnd { pin, loose: None })))
        }));
        let housings = model.parts.iter().filter(|p| matches!(p.kind, PartKind::Connector | PartKind::Device));
        housings.flat_map(|part| &part.pins).for_each(|pin| {
            number(HarnessEnd { pin: *pin, loose: None });
        });
        let groups = joined(numbers.len(), &wires);
        GoodCopper { model, numbers, wires, groups }
    }

    fn cavity(&self, pin: PinId) -> Option<usize> {
        self.numbers.get(&HarnessEnd { pin, loose: None }).copied()
    }

    /// With a fault; `None` if it isn't one of wires, or if it changes nothing: both cavities have the same signal.
    pub fn with(&self, fault: BuildFault) -> Option<FaultyCopper<'_>> {
        let (mut concerned, exchanged) = match fault {
            BuildFault::NoContact(wire) | BuildFault::BadContact(wire) => {
                let (_, ends) = self.wires.iter().find(|(copper, _)| *copper == Copper::Wire(wire))?;
                (vec![self.groups[ends[0]]], None)
            }
            BuildFault::OpenShield(wire) => {
                let joins = self.wires.iter().find(|(copper, _)| *copper == Copper::Shield(wire));
                (joins.map(|(_, ends)| self.groups[ends[0]]).into_iter().collect(), None)
            }
            BuildFault::Exchanged(one, other) => {
                let ends = [self.cavity(one)?, self.cavity(other)?];
                (ends.map(|end| self.groups[end]).to_vec(), Some(ends))
            }
            _ => return None,
        };
        concerned.dedup();
        if exchanged.is_some() && concerned.len() == 1 {
            return None;
        }
        let now = |end: usize| match exchanged {
            Some([one, other]) if end == one => other,
            Some([one, other]) if end == other => one,
            _ => end,
        };
        let is_left = |copper: Copper| match copper {
            Copper::Wire(id) => fault != BuildFault::NoContact(id),
            Copper::Shield(id) => fault != BuildFault::OpenShield(id),
        };
        let here = self.wires.iter().filter(|(id, ends)| concerned.contains(&self.groups[ends[0]]) && is_left(*id));
        let wires: Vec<NumberedWire> = here.map(|(id, ends)| (*id, ends.map(now))).collect();
        let groups = joined(self.groups.len(), &wires);
        Some(FaultyCopper { good: self, fault, concerned, wires, groups })
    }
}

/// The group of each end.
fn joined(ends: usize, wires: &[NumberedWire]) -> Vec<usize> {
    let mut groups = UnionFind::<usize>::new(ends);
    wires.iter().for_each(|(_, [a, b])| {
        groups.union(*a, *b);
    });
    groups.into_labeling()
}

impl FaultyCopper<'_> {
    /// Whether a step fails.
    pub fn fails(&self, step: &BenchStep) -> bool {
        let good = self.good;
        let concerns = |end: usize| self.concerned.contains(&good.groups[end]);
        match &step.probe {
            BenchProbe::Wires(tips) => {
                let tips = tips.map(|tip| good.numbers[&tip]);
                concerns(tips[0]) && step.limit.compare_value(&BenchValue::Ohms(self.between(tips))) != Compared::Passed
            }
            BenchProbe::Coax(wire) => match self.fault {
                BuildFault::NoContact(id) | BuildFault::OpenShield(id) => id == *wire,
                BuildFault::Exchanged(one, other) => {
                    good.model.wire(*wire).ends.iter().any(|end| [one, other].contains(end))
                }
                _ => false,
            },
            BenchProbe::WireAlone(wire) => match self.fault {
                BuildFault::NoContact(id) => id == *wire,
                BuildFault::BadContact(id) => {
                    let ohms = BenchValue::Ohms(Some(resistance(good.model, id) + BAD_CONTACT));
                    id == *wire && step.limit.compare_value(&ohms) != Compared::Passed
                }
                _ => false,
            },
            BenchProbe::Apart(pins) => {
                let here: Vec<usize> =
                    pins.iter().filter_map(|pin| good.cavity(*pin)).filter(|end| concerns(*end)).collect();
                let is_new = |one: &usize, other: &usize| {
                    self.groups[*one] == self.groups[*other] && good.groups[*one] != good.groups[*other]
                };
                here.iter().enumerate().any(|(i, one)| here[i + 1..].iter().any(|other| is_new(one, other)))
            }
            _ => false,
        }
    }

    /// The resistance along the fewest wires between two ends; `None` if nothing joins them.
    fn between(&self, [from, to]: [usize; 2]) -> Option<Ohms> {
        if self.groups[from] != self.groups[to] {
            return None;
        }
        let mut reached = BTreeMap::from([(from, Ohms::default())]);
        let mut ahead = VecDeque::from([from]);
        while let Some(end) = ahead.pop_front() {
            for (wire, ends) in self.wires.iter().filter(|(_, ends)| ends.contains(&end)) {
                let next = if ends[0] == end { ends[1] } else { ends[0] };
                let ohms = reached[&end] + self.resistance(*wire);
                reached.entry(next).or_insert_with(|| {
                    ahead.push_back(next);
                    ohms
                });
            }
        }
        reached.get(&to).copied()
    }

    fn resistance(&self, copper: Copper) -> Ohms {
        match copper {
            Copper::Wire(id) => {
                let bad = if self.fault == BuildFault::BadContact(id) { BAD_CONTACT } else { Ohms::default() };
                resistance(self.good.model, id) + bad
            }
            Copper::Shield(id) => shield_resistance(self.good.model, id),
        }
    }
}
