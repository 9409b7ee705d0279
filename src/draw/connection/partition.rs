//! A diagram too large for one sheet of paper, shared out over several: which parts stand together, and the marks where
//! a wire goes on elsewhere.
//!
//! Parts of one place stay together where a sheet has room for them; places that many wires join come together next
//! (agglomerative clustering by wires shared). A mark stands for the parts of one place on one other sheet: its pins
//! are the pins where the wires end there, each with its wire.

use super::diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartShape, PinAt};
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

/// Shares a diagram out so that each share fits, as `fits` says; one share is the whole diagram. A single part that
/// does not fit has a share to itself.
pub(super) fn shared(whole: &Diagram, fits: &dyn Fn(&Diagram) -> bool) -> Vec<Share> {
    let alone = vec![0; whole.parts.len()];
    if fits(whole) {
        return vec![share(whole, &alone, 0)];
    }
    let sheet_of = Cutting::new(whole, fits).sheets();
    let count = sheet_of.iter().max().map_or(1, |last| last + 1);
    (0..count).map(|sheet| share(whole, &sheet_of, sheet)).collect()
}

/// A sheet has more parts than this.
const FEW_PARTS: usize = 4;

/// Groups of parts that are to stand on one sheet.
struct Cutting<'a> {
    whole: &'a Diagram,
    fits: &'a dyn Fn(&Diagram) -> bool,
    /// The group of each part.
    group_of: Vec<usize>,
    /// The parts of each group; `None` if it has gone into another.
    groups: Vec<Vec<usize>>,
}

impl<'a> Cutting<'a> {
    fn new(whole: &'a Diagram, fits: &'a dyn Fn(&Diagram) -> bool) -> Self {
        let parts = whole.parts.len();
        Self { whole, fits, group_of: (0..parts).collect(), groups: (0..parts).map(|part| vec![part]).collect() }
    }

    /// The sheet of each part, in the order of the places.
    fn sheets(mut self) -> Vec<usize> {
        for place in 0..self.whole.places.len() {
            self.gather_place(place);
        }
        self.join(|_, _| true);
        let mut order: Vec<&Vec<usize>> = self.groups.iter().filter(|group| !group.is_empty()).collect();
        let first = |group: &[usize]| group.iter().map(|&part| (self.whole.parts[part].place, part)).min();
        order.sort_by_key(|group| first(group));
        let mut sheet_of = vec![0; self.whole.parts.len()];
        for (sheet, group) in order.iter().enumerate() {
            group.iter().for_each(|&part| sheet_of[part] = sheet);
        }
        sheet_of
    }

    /// All parts of a place in one group if that fits, else in as few as can be found.
    fn gather_place(&mut self, place: usize) {
        let here: Vec<usize> = (0..self.whole.parts.len()).filter(|&p| self.whole.parts[p].place == place).collect();
        let Some((&first, rest)) = here.split_first() else { return };
        if self.fit(&here) {
            rest.iter().for_each(|&part| self.merge(first, part));
            return;
        }
        self.join(|whole, part| whole.parts[part].place == place);
    }

    fn fit(&self, parts: &[usize]) -> bool {
        let mut sheet_of = vec![1; self.whole.parts.len()];
        parts.iter().for_each(|&part| sheet_of[part] = 0);
        (self.fits)(&share(self.whole, &sheet_of, 0).diagram)
    }

    fn merge(&mut self, into: usize, from: usize) {
        let moved = std::mem::take(&mut self.groups[from]);
        moved.iter().for_each(|&part| self.group_of[part] = into);
        self.groups[into].extend(moved);
        self.groups[into].sort_unstable();
    }

    /// Joins groups of the parts asked for as long as a pair of them fits: those that share most wires first.
    fn join(&mut self, of: impl Fn(&Diagram, usize) -> bool) {
        let mut refused: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
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
                    if wires > 0 || self.groups[a].len().min(self.groups[b].len()) <= FEW_PARTS {
                        pairs.push((wires, a, b));
                    }
                }
            }
            pairs.sort_by_key(|&(wires, a, b)| {
                (std::cmp::Reverse(wires), self.groups[a].len() + self.groups[b].len(), a, b)
            });
            let found = pairs.into_iter().find(|&(_, a, b)| {
                let (first, second) = (&self.groups[a], &self.groups[b]);
                if refused.iter().any(|(x, y)| holds(first, second, x, y)) {
                    return false;
                }
                let both: Vec<usize> = first.iter().chain(second).copied().collect();
                let fits = self.fit(&both);
                if !fits {
                    refused.push((first.clone(), second.clone()));
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

/// Whether two groups hold all of two others that together did not fit.
fn holds(a: &[usize], b: &[usize], x: &[usize], y: &[usize]) -> bool {
    let all = |parts: &[usize]| parts.iter().all(|part| a.contains(part) || b.contains(part));
    all(x) && all(y)
}

/// What one sheet shows.
fn share(whole: &Diagram, sheet_of: &[usize], sheet: usize) -> Share {
    let mut diagram = Diagram { places: whole.places.clone(), in_order: whole.in_order, ..Diagram::default() };
    let mut here = BTreeMap::new();
    for (index, part) in whole.parts.iter().enumerate().filter(|&(index, _)| sheet_of[index] == sheet) {
        here.insert(index, diagram.parts.len());
        diagram.parts.push(part.clone());
    }
    let (mut goes_on, mut wires) = (Vec::new(), Vec::new());
    let mut marks = Marks { whole, diagram: &mut diagram, known: BTreeMap::new(), pins: BTreeMap::new() };
    for (index, wire) in whole.wires.iter().enumerate() {
        let on_sheet = wire.ends.map(|end| here.get(&end.part).copied());
        let ends = match on_sheet {
            [None, None] => continue,
            [Some(a), Some(b)] => [(a, None), (b, None)],
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
    if whole.in_order {
        in_order(whole, &mut diagram);
    }
    Share { diagram, wires, goes_on }
}

/// Puts each mark's place where the place that it stands for would be, so that arrows still run from left to right.
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
    /// The pin of a mark that stands for a pin elsewhere.
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
                // Room for the sheet and its zone, which are known when all sheets are laid out.
                note: format!("{}/H8", sheet + 1),
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
    fn room(pins: usize) -> impl Fn(&Diagram) -> bool {
        move |diagram: &Diagram| diagram.parts.iter().map(|part| part.pins.len()).sum::<usize>() <= pins
    }

    #[test]
    fn what_fits_is_left_whole() {
        let whole = samples::made_up(5, 30);
        let shares = shared(&whole, &|_| true);
        assert_eq!(shares.len(), 1);
        assert_eq!(format!("{:?}", shares[0].diagram), format!("{whole:?}"));
    }

    #[test]
    fn every_part_is_on_one_sheet_and_every_cut_wire_on_both_with_marks_that_name_each_other() {
        for seed in 0..12 {
            let whole = samples::made_up(seed, 60);
            let shares = shared(&whole, &room(40));
            assert!(shares.len() > 1, "seed {seed}");
            let own = |share: &Share| share.diagram.parts.iter().filter(|p| p.form != PartShape::Elsewhere).count();
            assert_eq!(shares.iter().map(own).sum::<usize>(), whole.parts.len(), "seed {seed}");
            for wire in &whole.wires {
                let mut found = Vec::new();
                for (sheet, share) in shares.iter().enumerate() {
                    for (drawn, goes_on) in share.diagram.wires.iter().zip(&share.goes_on) {
                        if drawn.number == wire.number {
                            let names = |d: &Diagram, w: &DiagramWire| w.ends.map(|e| d.pin(e).full_name.clone());
                            assert_eq!(names(&share.diagram, drawn), names(&whole, wire));
                            found.push((sheet, goes_on.map(|(_, other)| other)));
                        }
                    }
                }
                match found[..] {
                    [(_, None)] => {}
                    [(a, Some(to_b)), (b, Some(to_a))] => assert_eq!((a, b), (to_a, to_b)),
                    _ => panic!("seed {seed}, wire {}: {found:?}", wire.number),
                }
            }
        }
    }
}
