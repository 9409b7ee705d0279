//! A diagram too large for one sheet of paper, shared out over several: which parts stand together, and the marks where
//! a wire goes on elsewhere.
//!
//! Parts of one place stay together where a sheet has room for them; places that many wires join come together next
//! (agglomerative clustering by wires shared). A mark represents the parts of one place on one other sheet. It has a
//! pin for each pin there that a wire of this sheet leads to.

use super::diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartShape, PinAt, SheetExit};
use std::collections::BTreeMap;

/// One sheet's share.
#[derive(Debug, Clone)]
pub struct Share {
    /// What is on the sheet, marks among its parts.
    pub diagram: Diagram,
    /// For each wire of it, its index in the whole diagram.
    pub wires: Vec<usize>,
    /// For each wire of it, which end is on another sheet, and on which one.
    pub goes_on: Vec<Option<(usize, usize)>>,
}

/// The parts of each sheet, in the order of the places.
#[derive(Debug, Clone)]
pub(super) struct Groups {
    pub groups: Vec<Vec<usize>>,
}

impl Groups {
    /// Everything on one sheet.
    pub fn whole(whole: &Diagram) -> Self {
        Self { groups: vec![(0..whole.parts.len()).collect()] }
    }

    /// As few groups as can be found that each fit, as `fits` says of their parts. A single part that does not fit has a
    /// sheet to itself.
    pub fn gathered(whole: &Diagram, fits: &dyn Fn(&[usize]) -> bool) -> Self {
        Self { groups: Cutting::new(whole, fits).groups() }.in_order(whole)
    }

    /// In the order of their first places.
    pub fn in_order(mut self, whole: &Diagram) -> Self {
        self.groups.sort_by_key(|group| group.iter().map(|&part| (whole.parts[part].place, part)).min());
        self
    }

    /// The same with two groups on one sheet, and the index of that one.
    pub fn joined(&self, a: usize, b: usize) -> (Self, usize) {
        let mut groups = self.groups.clone();
        let moved = groups.remove(b.max(a));
        let into = a.min(b);
        groups[into].extend(moved);
        groups[into].sort_unstable();
        // Groups stand in the order of their first places, and the lower one of the two comes first.
        (Self { groups }, into)
    }

    /// How many wires go on to another sheet.
    pub fn cuts(&self, whole: &Diagram) -> usize {
        let sheet_of = self.sheet_of(whole);
        whole.wires.iter().filter(|wire| sheet_of[wire.ends[0].part] != sheet_of[wire.ends[1].part]).count()
    }

    /// A part's sheet and the sheet that more of its wires lead to; `None` if most of them stay on its own sheet.
    pub fn pulled(&self, whole: &Diagram, part: usize) -> Option<(usize, usize)> {
        let sheet_of = self.sheet_of(whole);
        let here = sheet_of[part];
        let mut wires = vec![0; self.groups.len()];
        for [a, b] in whole.wires.iter().map(|wire| wire.ends.map(|end| end.part)).filter(|[a, b]| a != b) {
            if a == part || b == part {
                wires[sheet_of[a + b - part]] += 1;
            }
        }
        let there = (0..wires.len()).max_by_key(|&sheet| (wires[sheet], sheet == here))?;
        (there != here).then_some((here, there))
    }

    /// How many wires join some parts to a sheet.
    pub fn wires_between(&self, whole: &Diagram, parts: &[usize], sheet: usize) -> usize {
        let joins = |[a, b]: [usize; 2]| parts.contains(&a) && self.groups[sheet].contains(&b);
        let ends = whole.wires.iter().map(|wire| wire.ends.map(|end| end.part));
        ends.filter(|&[a, b]| joins([a, b]) || joins([b, a])).count()
    }

    /// The parts of other sheets that wires join to a sheet, in the order of the wires, each with its sheet.
    pub fn joined_to(&self, whole: &Diagram, sheet: usize) -> Vec<(usize, usize)> {
        let sheet_of = self.sheet_of(whole);
        let ends = whole.wires.iter().map(|wire| wire.ends.map(|end| (end.part, sheet_of[end.part])));
        let far = ends.filter_map(|[a, b]| match (a.1 == sheet, b.1 == sheet) {
            (true, false) => Some(b),
            (false, true) => Some(a),
            _ => None,
        });
        far.collect()
    }

    fn sheet_of(&self, whole: &Diagram) -> Vec<usize> {
        let mut sheet_of = vec![0; whole.parts.len()];
        for (sheet, group) in self.groups.iter().enumerate() {
            group.iter().for_each(|&part| sheet_of[part] = sheet);
        }
        sheet_of
    }

    /// What one sheet shows.
    pub fn share(&self, whole: &Diagram, sheet: usize) -> Share {
        share(whole, &self.sheet_of(whole), sheet)
    }

    /// What each sheet shows.
    pub fn shares(&self, whole: &Diagram) -> Vec<Share> {
        (0..self.groups.len()).map(|sheet| self.share(whole, sheet)).collect()
    }
}

/// A sheet has more parts than this.
const FEW_PARTS: usize = 4;

/// Groups of parts that are to stand on one sheet.
struct Cutting<'a> {
    whole: &'a Diagram,
    fits: &'a dyn Fn(&[usize]) -> bool,
    /// The group of each part.
    group_of: Vec<usize>,
    /// The parts of each group; empty if it has gone into another.
    groups: Vec<Vec<usize>>,
    /// For each two groups, whether they do not fit together. What they grow into does not either.
    refused: Vec<Vec<bool>>,
}

impl<'a> Cutting<'a> {
    fn new(whole: &'a Diagram, fits: &'a dyn Fn(&[usize]) -> bool) -> Self {
        let parts = whole.parts.len();
        let groups = (0..parts).map(|part| vec![part]).collect();
        Self { whole, fits, group_of: (0..parts).collect(), groups, refused: vec![vec![false; parts]; parts] }
    }

    fn groups(mut self) -> Vec<Vec<usize>> {
        for place in 0..self.whole.places.len() {
            self.gather_place(place);
        }
        self.join(|_, _| true);
        self.groups.retain(|group| !group.is_empty());
        self.groups
    }

    /// All parts of a place in one group if that fits, else in as few as can be found.
    fn gather_place(&mut self, place: usize) {
        let here: Vec<usize> = (0..self.whole.parts.len()).filter(|&p| self.whole.parts[p].place == place).collect();
        let Some((&first, rest)) = here.split_first() else { return };
        if (self.fits)(&here) {
            rest.iter().for_each(|&part| self.merge(first, part));
            return;
        }
        self.join(|whole, part| whole.parts[part].place == place);
    }

    fn merge(&mut self, into: usize, from: usize) {
        let moved = std::mem::take(&mut self.groups[from]);
        moved.iter().for_each(|&part| self.group_of[part] = into);
        self.groups[into].extend(moved);
        self.groups[into].sort_unstable();
        for other in 0..self.refused.len() {
            if self.refused[from][other] {
                self.refuse(into, other);
            }
        }
    }

    fn refuse(&mut self, a: usize, b: usize) {
        self.refused[a][b] = true;
        self.refused[b][a] = true;
    }

    /// Joins groups of the parts asked for as long as a pair of them fits: those that share most wires first.
    fn join(&mut self, of: impl Fn(&Diagram, usize) -> bool) {
        loop {
            let open: Vec<usize> = (0..self.groups.len())
                .filter(|&g| self.groups[g].first().is_some_and(|&part| of(self.whole, part)))
                .collect();
            let shared = self.wires_between();
            let mut pairs: Vec<(usize, usize, usize)> = Vec::new();
            for (i, &a) in open.iter().enumerate() {
                for &b in &open[i + 1..] {
                    let wires = shared.get(&(a, b)).copied().unwrap_or(0);
                    // What no wire joins comes together only where that saves a nearly empty sheet.
                    if !self.refused[a][b] && (wires > 0 || self.groups[a].len().min(self.groups[b].len()) <= FEW_PARTS)
                    {
                        pairs.push((wires, a, b));
                    }
                }
            }
            pairs.sort_by_key(|&(wires, a, b)| {
                (std::cmp::Reverse(wires), self.groups[a].len() + self.groups[b].len(), a, b)
            });
            let found = pairs.into_iter().find(|&(_, a, b)| {
                let both: Vec<usize> = self.groups[a].iter().chain(&self.groups[b]).copied().collect();
                let fits = (self.fits)(&both);
                if !fits {
                    self.refuse(a, b);
                }
                fits
            });
            match found {
                Some((_, a, b)) => self.merge(a, b),
                None => return,
            }
        }
    }

    /// How many wires join two groups, the lower one first.
    fn wires_between(&self) -> BTreeMap<(usize, usize), usize> {
        let mut shared = BTreeMap::new();
        for wire in &self.whole.wires {
            let [a, b] = wire.ends.map(|end| self.group_of[end.part]);
            if a != b {
                *shared.entry((a.min(b), a.max(b))).or_insert(0) += 1;
            }
        }
        shared
    }
}

/// What one sheet shows.
fn share(whole: &Diagram, sheet_of: &[usize], sheet: usize) -> Share {
    let mut diagram =
        Diagram { places: whole.places.clone(), in_order: whole.in_order, lead: whole.lead, ..Diagram::default() };
    let mut here = BTreeMap::new();
    for (index, part) in whole.parts.iter().enumerate().filter(|&(index, _)| sheet_of[index] == sheet) {
        here.insert(index, diagram.parts.len());
        diagram.parts.push(part.clone());
    }
    let (mut goes_on, mut wires, mut exits) = (Vec::new(), Vec::new(), Vec::new());
    let mut marks = Marks { whole, diagram: &mut diagram, known: BTreeMap::new(), pins: BTreeMap::new() };
    for (index, wire) in whole.wires.iter().enumerate() {
        let on_sheet = wire.ends.map(|end| here.get(&end.part).copied());
        let ends = match on_sheet {
            [None, None] => continue,
            [Some(a), Some(b)] => [(a, None), (b, None)],
            [Some(part), None] if !whole.in_order => {
                exits.push(exit(whole, wire, 0, part, sheet_of));
                continue;
            }
            [None, Some(part)] if !whole.in_order => {
                exits.push(exit(whole, wire, 1, part, sheet_of));
                continue;
            }
            [Some(a), None] => [(a, None), marks.mark(wire, 1, sheet_of)],
            [None, Some(b)] => [marks.mark(wire, 0, sheet_of), (b, None)],
        };
        let at = |which: usize| {
            let (part, pin) = ends[which];
            PinAt { part, pin: pin.unwrap_or(wire.ends[which].pin) }
        };
        goes_on.push(on_sheet.iter().position(Option::is_none).map(|end| (end, sheet_of[wire.ends[end].part])));
        marks.diagram.wires.push(DiagramWire { ends: [at(0), at(1)], ..wire.clone() });
        wires.push(index);
    }
    diagram.exits = exits;
    if whole.in_order {
        in_order(whole, &mut diagram);
    }
    Share { diagram, wires, goes_on }
}

/// Room for a sheet and a zone on it, which are known when all sheets are laid out.
pub(super) fn zone_room(sheet: usize) -> String {
    format!("{}/H8", sheet + 1)
}

/// The end of a wire that is here, on a part by its index here, where its other end is on another sheet.
fn exit(whole: &Diagram, wire: &DiagramWire, end: usize, part: usize, sheet_of: &[usize]) -> SheetExit {
    let far = wire.ends[1 - end];
    let sheet = sheet_of[far.part];
    let at = PinAt { part, pin: wire.ends[end].pin };
    let far = whole.pin(far).full_name.clone();
    let zone = zone_room(sheet);
    SheetExit { at, wire: DiagramWire { ends: [at, at], ..wire.clone() }, end, far, sheet, zone }
}

/// Puts each mark in the order of the place that it represents, so that arrows still run from left to right.
fn in_order(whole: &Diagram, diagram: &mut Diagram) {
    let groups = whole.places.len();
    let here = |place: usize| diagram.parts.iter().any(|part| part.form != PartShape::Elsewhere && part.place == place);
    let mut keys: Vec<(usize, bool)> = (0..diagram.places.len()).map(|place| (place, false)).collect();
    for part in diagram.parts.iter().filter(|part| part.place >= groups) {
        let far = whole.places.iter().position(|name| part.title.first() == Some(name)).unwrap_or(groups);
        keys[part.place] = (far, here(far));
    }
    let mut order: Vec<usize> = (0..diagram.places.len()).collect();
    order.sort_by_key(|&place| keys[place]);
    let new_index = |old: usize| order.iter().position(|&place| place == old).unwrap_or(old);
    diagram.parts.iter_mut().for_each(|part| part.place = new_index(part.place));
    diagram.places = order.iter().map(|&place| diagram.places[place].clone()).collect();
}

/// Most wires of a mark: more than this make a second one, which may stand elsewhere.
const MOST_PINS: usize = 8;

/// The marks on a sheet.
struct Marks<'a> {
    whole: &'a Diagram,
    diagram: &'a mut Diagram,
    /// The mark of another sheet's place, for the place here that its wires come from.
    known: BTreeMap<(usize, usize, usize), usize>,
    /// The pin of a mark for each pin on another sheet.
    pins: BTreeMap<(usize, PinAt), usize>,
}

impl Marks<'_> {
    /// Mark and pin for the end of a wire that is elsewhere.
    fn mark(&mut self, wire: &DiagramWire, end: usize, sheet_of: &[usize]) -> (usize, Option<usize>) {
        let (far, near) = (wire.ends[end], wire.ends[1 - end]);
        let there = &self.whole.parts[far.part];
        let sheet = sheet_of[far.part];
        let key = (sheet, there.place, self.whole.parts[near.part].place);
        let known =
            self.known.get(&key).copied().filter(|&mark| {
                self.pins.contains_key(&(mark, far)) || self.diagram.parts[mark].pins.len() < MOST_PINS
            });
        let mark = known.unwrap_or_else(|| {
            let place = self.diagram.places.len();
            self.diagram.places.push(String::new());
            self.diagram.parts.push(DiagramPart {
                name: format!("Sheet {}", sheet + 1),
                title: vec![self.whole.places[there.place].clone()],
                place,
                form: PartShape::Elsewhere,
                flow: Flow::Between,
                mate: None,
                docks: Vec::new(),
                existing: false,
                pins_in_order: false,
                pins: Vec::new(),
            });
            self.diagram.parts.len() - 1
        });
        self.known.insert(key, mark);
        let pin = *self.pins.entry((mark, far)).or_insert_with(|| {
            let full_name = self.whole.pin(far).full_name.clone();
            let pin = DiagramPin {
                name: full_name.clone(),
                full_name,
                note: zone_room(sheet),
                edge: None,
                cavity: None,
                plugged: None,
            };
            self.diagram.parts[mark].pins.push(pin);
            self.diagram.parts[mark].pins.len() - 1
        });
        (mark, Some(pin))
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples;
    use super::*;

    /// Maximum number of pins.
    fn room(whole: &Diagram, pins: usize) -> impl Fn(&[usize]) -> bool {
        move |parts: &[usize]| parts.iter().map(|&part| whole.parts[part].pins.len()).sum::<usize>() <= pins
    }

    #[test]
    fn what_fits_is_left_whole() {
        let whole = samples::made_up(5, 30);
        let shares = Groups::gathered(&whole, &|_| true).shares(&whole);
        assert_eq!(shares.len(), 1);
        assert_eq!(format!("{:?}", shares[0].diagram), format!("{whole:?}"));
    }

    /// Each cut wire of a share: its number, the names of its pin here and of its pin elsewhere, and that sheet.
    fn cut(share: &Share) -> Vec<(String, [String; 2], usize)> {
        let name = |pin: PinAt| share.diagram.pin(pin).full_name.clone();
        let marks = share.diagram.wires.iter().zip(&share.goes_on).filter_map(|(wire, goes_on)| {
            let (far, sheet) = (*goes_on)?;
            Some((wire.number.clone(), [name(wire.ends[1 - far]), name(wire.ends[far])], sheet))
        });
        let exits = share.diagram.exits.iter();
        marks
            .chain(exits.map(|exit| (exit.wire.number.clone(), [name(exit.at), exit.far.clone()], exit.sheet)))
            .collect()
    }

    /// With exits at the pins, and with marks, as maps have them.
    #[test]
    fn every_part_is_on_one_sheet_and_every_cut_wire_on_both_which_name_each_other() {
        for (seed, in_order) in (0..12).flat_map(|seed| [(seed, false), (seed, true)]) {
            let whole = Diagram { in_order, ..samples::made_up(seed, 60) };
            let shares = Groups::gathered(&whole, &room(&whole, 40)).shares(&whole);
            assert!(shares.len() > 1, "seed {seed}");
            let own = |share: &Share| share.diagram.parts.iter().filter(|p| p.form != PartShape::Elsewhere).count();
            assert_eq!(shares.iter().map(own).sum::<usize>(), whole.parts.len(), "seed {seed}");
            for wire in &whole.wires {
                let ends = wire.ends.map(|end| whole.pin(end).full_name.clone());
                let mut found = Vec::new();
                for (sheet, share) in shares.iter().enumerate() {
                    let cuts = cut(share).into_iter().filter(|(number, ..)| *number == wire.number);
                    found.extend(cuts.map(|(_, [here, far], other)| (sheet, other, here, far)));
                }
                let uncut = shares.iter().flat_map(|share| share.diagram.wires.iter().zip(&share.goes_on));
                let uncut = uncut.filter(|(w, goes_on)| w.number == wire.number && goes_on.is_none()).count();
                match &found[..] {
                    [] => assert_eq!(uncut, 1, "seed {seed}, wire {}", wire.number),
                    [(a, to_b, here, far), (b, to_a, there, back)] => {
                        assert_eq!((a, b, uncut), (to_a, to_b, 0), "seed {seed}, wire {}", wire.number);
                        assert_eq!((here, far), (back, there), "seed {seed}, wire {}", wire.number);
                        assert!(ends.contains(here) && ends.contains(far), "seed {seed}, wire {}", wire.number);
                    }
                    _ => panic!("seed {seed}, wire {}: {found:?}", wire.number),
                }
            }
        }
    }
}
