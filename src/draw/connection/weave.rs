//! The order of everything, without measures: columns of parts, and every wire threaded through them.
//!
//! Columns are numbered from the left. Channel `k` is the space left of column `k`; the last channel lies right of the
//! last column. A wire runs through channels and passes the columns between them in *lanes*. In one channel it joins
//! two *spots* on the channel's edges; that piece is a *strand*. Seen as a round table, the spots down the left edge and
//! up the right edge, two strands must cross exactly when their spots alternate, so crossings can be counted (and the
//! effect of exchanging two neighbours in a column updated) before anything has a position.

use super::diagram::{Diagram, EndId, Form, wire_end};
use super::sides::pull;

/// Left or right edge of a part.
pub(super) const LEFT: usize = 0;
/// See [`LEFT`].
pub(super) const RIGHT: usize = 1;

/// Price of one crossing; the others are set against it.
pub(super) const CROSSING: i64 = 10;
/// Price of a lane: a wire that passes a column is longer, and costs height.
pub(super) const LANE: i64 = 2;
/// Price of a lane inside the frame of a place that the wire has nothing to do with, or outside its only place.
pub(super) const STRAY_LANE: i64 = 6;

/// What stands in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Item {
    /// A part, by index.
    Part(usize),
    /// A wire that passes, by index.
    Lane(usize),
    /// Upper edge of a place's frame.
    Top(usize),
    /// Lower edge of a place's frame.
    Bottom(usize),
}

/// Wire ends of one pin that stand in adjacent rows on one side of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Slot {
    /// The pin; none keeps a row free opposite to a mating cavity.
    pub pin: Option<usize>,
    /// The connector of a cavity plugged into the part; slots of one connector stay together.
    pub dock: Option<usize>,
    /// Its wire ends, top to bottom.
    pub ends: Vec<EndId>,
}

impl Slot {
    /// How many rows it takes.
    pub fn rows(&self) -> usize {
        self.ends.len().max(1)
    }
}

/// A spot of a strand: its index, and which of its two spots.
type Spot = (usize, usize);

/// Which channels a wire runs through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Route {
    first: usize,
    last: usize,
    /// Index of its strand in `first`.
    strand: usize,
    /// Which end of the wire starts in `first`.
    starts_with: usize,
}

/// See the module's text.
#[derive(Debug, Clone)]
pub(super) struct Weave<'a> {
    pub diagram: &'a Diagram,
    /// The places with a frame in each column, from the top.
    pub stacks: Vec<Vec<usize>>,
    /// The column of each part.
    pub column_of: Vec<usize>,
    /// Left and right slots of each part, from the top.
    pub slots: Vec<[Vec<Slot>; 2]>,
    /// The items of each column, from the top.
    pub columns: Vec<Vec<Item>>,
    routes: Vec<Route>,
    /// Both spots of each strand: spot `i` from the top of the left edge is `i`, of the right edge `−1 − i`.
    spots: Vec<[i32; 2]>,
    /// How many spots the left and right edge of each channel have.
    lengths: Vec<[i32; 2]>,
}

/// Whether the spots of two strands alternate.
fn alternate(a: [i32; 2], b: [i32; 2]) -> bool {
    let (low, high) = (a[0].min(a[1]), a[0].max(a[1]));
    let inside = |spot: i32| low < spot && spot < high;
    inside(b[0]) != inside(b[1])
}

impl<'a> Weave<'a> {
    /// Puts the parts into columns in their own order, and threads all wires.
    pub fn new(
        diagram: &'a Diagram,
        stacks: Vec<Vec<usize>>,
        column_of: Vec<usize>,
        slots: Vec<[Vec<Slot>; 2]>,
    ) -> Self {
        let mut columns: Vec<Vec<Item>> = Vec::new();
        for (column, places) in stacks.iter().enumerate() {
            let mut items = Vec::new();
            for &place in places {
                items.push(Item::Top(place));
                let here = |&p: &usize| column_of[p] == column && diagram.parts[p].place == place;
                items.extend((0..diagram.parts.len()).filter(here).map(Item::Part));
                items.push(Item::Bottom(place));
            }
            columns.push(items);
        }
        let lengths = vec![[0, 0]; columns.len() + 1];
        let (routes, spots) = (Vec::new(), Vec::new());
        let mut weave = Self { diagram, stacks, column_of, slots, columns, routes, spots, lengths };
        weave.thread();
        weave
    }

    /// Moves a part to another column, to the top of its place there.
    pub fn move_part(&mut self, part: usize, to: usize) {
        let from = self.column_of[part];
        self.columns[from].retain(|&item| item != Item::Part(part));
        let place = self.diagram.parts[part].place;
        let top = self.columns[to].iter().position(|&item| item == Item::Top(place)).map_or(0, |i| i + 1);
        self.columns[to].insert(top, Item::Part(part));
        self.column_of[part] = to;
    }

    /// Works out each wire's channels anew, drops lanes that are no longer needed and adds the missing ones at the
    /// foot of their columns. Returns the added ones as column and wire.
    pub fn thread(&mut self) -> Vec<(usize, usize)> {
        let mut channel = vec![0; 2 * self.diagram.wires.len()];
        for (part, sides) in self.slots.iter().enumerate() {
            for (side, slots) in sides.iter().enumerate() {
                for &end in slots.iter().flat_map(|slot| &slot.ends) {
                    channel[end] = self.column_of[part] + side;
                }
            }
        }
        let mut strands = 0;
        self.routes = (0..self.diagram.wires.len())
            .map(|wire| {
                let (a, b) = (channel[2 * wire], channel[2 * wire + 1]);
                let strand = strands;
                strands += a.abs_diff(b) + 1;
                Route { first: a.min(b), last: a.max(b), strand, starts_with: usize::from(b < a) }
            })
            .collect();
        self.spots = vec![[0, 0]; strands];
        let mut added = Vec::new();
        for (column, items) in self.columns.iter_mut().enumerate() {
            let passes = |wire: usize| (self.routes[wire].first..self.routes[wire].last).contains(&column);
            let mut missing: Vec<bool> = (0..self.routes.len()).map(passes).collect();
            items.retain(|&item| match item {
                Item::Lane(wire) => std::mem::take(&mut missing[wire]),
                _ => true,
            });
            let new = missing.iter().enumerate().filter(|(_, is)| **is).map(|(wire, _)| wire);
            for wire in new {
                items.push(Item::Lane(wire));
                added.push((column, wire));
            }
        }
        self.renumber_all();
        added
    }

    /// How many columns the wires pass, all together.
    pub fn lane_count(&self) -> usize {
        self.routes.iter().map(|route| route.last - route.first).sum()
    }

    /// The strand of a wire in a channel that it runs through.
    fn strand(&self, wire: usize, channel: usize) -> usize {
        self.routes[wire].strand + channel - self.routes[wire].first
    }

    /// Both channels that a wire begins and ends in, the left one first.
    pub fn channels_of(&self, wire: usize) -> (usize, usize) {
        (self.routes[wire].first, self.routes[wire].last)
    }

    /// Which end of a wire lies in the left one of its channels; its first where both are in the same.
    pub fn starts_with(&self, wire: usize) -> usize {
        self.routes[wire].starts_with
    }

    /// The side of its part that a wire end leaves on.
    pub fn side_of(&self, end: EndId) -> usize {
        let left = &self.slots[self.diagram.end(end).part][LEFT];
        if left.iter().any(|slot| slot.ends.contains(&end)) { LEFT } else { RIGHT }
    }

    fn spot_of_end(&self, end: EndId) -> Spot {
        let (wire, which) = wire_end(end);
        let route = self.routes[wire];
        if which == route.starts_with {
            (route.strand, 0)
        } else {
            (route.strand + route.last - route.first, 1)
        }
    }

    /// The spots of an item on one of its sides, from the top.
    fn spots_of(&self, column: usize, item: Item, side: usize) -> Vec<Spot> {
        match item {
            Item::Part(part) => self.slots[part][side].iter().flat_map(|s| s.ends.iter().map(|&e| self.spot_of_end(e))).collect(),
            Item::Lane(wire) if side == LEFT => vec![(self.strand(wire, column), 1)],
            Item::Lane(wire) => vec![(self.strand(wire, column + 1), 0)],
            Item::Top(_) | Item::Bottom(_) => Vec::new(),
        }
    }

    fn renumber_all(&mut self) {
        (0..self.columns.len()).for_each(|column| self.renumber(column));
    }

    /// Numbers the spots along both sides of a column anew.
    pub fn renumber(&mut self, column: usize) {
        for side in [LEFT, RIGHT] {
            let mut count = 0;
            for index in 0..self.columns[column].len() {
                for (strand, which) in self.spots_of(column, self.columns[column][index], side) {
                    self.spots[strand][which] = if side == RIGHT { count } else { -1 - count };
                    count += 1;
                }
            }
            // A column's left side is the right edge of the channel before it.
            self.lengths[column + side][1 - side] = count;
        }
    }

    /// The mean height, 0 at the top and 1 at the foot, of what an item's strands on one side lead to across the
    /// channel; none where there are no such strands.
    pub fn mean_height(&self, column: usize, item: Item, side: usize) -> Option<f64> {
        let length = f64::from(self.lengths[column + side][side]);
        let across = |(strand, which): Spot| match (side, self.spots[strand][1 - which]) {
            (LEFT, spot) if spot >= 0 => Some((f64::from(spot) + 0.5) / length),
            (RIGHT, spot) if spot < 0 => Some((f64::from(-1 - spot) + 0.5) / length),
            _ => None,
        };
        let heights: Vec<f64> = self.spots_of(column, item, side).into_iter().filter_map(across).collect();
        (!heights.is_empty()).then(|| heights.iter().sum::<f64>() / heights.len() as f64)
    }

    /// Moves the slot that an end is in, with its whole connector if it is plugged in, to the other side of its part.
    pub fn flip(&mut self, end: EndId) {
        let sides = &mut self.slots[self.diagram.end(end).part];
        for side in [LEFT, RIGHT] {
            if let Some(at) = sides[side].iter().position(|slot| slot.ends.contains(&end)) {
                let dock = sides[side][at].dock;
                let goes = |i: usize, slot: &Slot| if dock.is_some() { slot.dock == dock } else { i == at };
                let (moved, kept): (Vec<_>, Vec<_>) =
                    std::mem::take(&mut sides[side]).into_iter().enumerate().partition(|(i, slot)| goes(*i, slot));
                sides[side] = kept.into_iter().map(|(_, slot)| slot).collect();
                sides[1 - side].extend(moved.into_iter().map(|(_, slot)| slot));
                return;
            }
        }
    }

    /// Turns the slots of a part, and those its wires lead to, towards each other.
    pub fn face(&mut self, part: usize) {
        let own: Vec<EndId> = self.slots[part].iter().flatten().flat_map(|slot| slot.ends.clone()).collect();
        for end in own.iter().flat_map(|&end| [end, end ^ 1]) {
            let at = self.diagram.end(end).part;
            if self.diagram.parts[at].form == Form::Mated {
                continue;
            }
            for side in [LEFT, RIGHT] {
                let slot = self.slots[at][side].iter().find(|slot| slot.ends.contains(&end));
                let together = self.slots[at][side].iter().filter(|other| match slot {
                    Some(slot) if slot.dock.is_some() => other.dock == slot.dock,
                    Some(slot) => *other == slot,
                    None => false,
                });
                let pull: i64 = together.map(|slot| pull(self.diagram, &self.column_of, &slot.ends)).sum();
                if (side == LEFT && pull > 0) || (side == RIGHT && pull < 0) {
                    self.flip(end);
                    break;
                }
            }
        }
    }

    /// Crossings in all channels.
    pub fn crossings(&self) -> usize {
        let mut by_channel: Vec<Vec<[i32; 2]>> = vec![Vec::new(); self.columns.len() + 1];
        for route in &self.routes {
            for channel in route.first..=route.last {
                by_channel[channel].push(self.spots[route.strand + channel - route.first]);
            }
        }
        let pairs = |strands: &Vec<[i32; 2]>| -> usize {
            (1..strands.len()).map(|i| strands[..i].iter().filter(|s| alternate(**s, strands[i])).count()).sum()
        };
        by_channel.iter().map(pairs).sum()
    }

    /// The price of the whole order.
    pub fn price(&self) -> i64 {
        CROSSING * self.crossings() as i64 + LANE * self.lane_count() as i64 + STRAY_LANE * self.stray_lanes() as i64
    }

    fn stray_lanes(&self) -> usize {
        let mut strays = 0;
        for items in &self.columns {
            let mut inside = None;
            for &item in items {
                match item {
                    Item::Top(place) => inside = Some(place),
                    Item::Bottom(_) => inside = None,
                    Item::Lane(wire) => strays += usize::from(self.is_stray(wire, inside)),
                    Item::Part(_) => {}
                }
            }
        }
        strays
    }

    /// Whether a wire has no business inside a place's frame, or outside of all.
    fn is_stray(&self, wire: usize, inside: Option<usize>) -> bool {
        let [a, b] = self.diagram.wires[wire].ends.map(|end| self.diagram.parts[end.part].place);
        match inside {
            Some(place) => place != a && place != b,
            None => a == b,
        }
    }

    /// By how much crossings change when a block of spots exchanges its place with the block below it. Every pair of
    /// strands, one from each block, changes from crossing to not crossing or back; a strand with both spots in the two
    /// blocks changes nothing with another such one.
    fn exchange_gain(&self, upper: &[Spot], lower: &[Spot]) -> i64 {
        let both = |strand: usize, block: &[Spot]| block.iter().any(|&(other, _)| other == strand);
        let mut change = 0;
        for &(a, _) in upper {
            for &(b, _) in lower {
                if a != b && !(both(a, lower) && both(b, upper)) {
                    change += if alternate(self.spots[a], self.spots[b]) { -1 } else { 1 };
                }
            }
        }
        change
    }

    fn exchange_spots(&mut self, upper: &[Spot], lower: &[Spot], side: usize) {
        let down = if side == RIGHT { 1 } else { -1 };
        for &(strand, which) in upper {
            self.spots[strand][which] += down * lower.len() as i32;
        }
        for &(strand, which) in lower {
            self.spots[strand][which] -= down * upper.len() as i32;
        }
    }

    /// Whether the item at `index` may change places with the one below it: lanes with everything, parts with parts of
    /// their own place.
    pub fn may_exchange(&self, column: usize, index: usize) -> bool {
        let items = &self.columns[column];
        match (items.get(index), items.get(index + 1)) {
            (Some(Item::Lane(_)), Some(_)) | (Some(_), Some(Item::Lane(_))) => true,
            (Some(&Item::Part(a)), Some(&Item::Part(b))) => self.diagram.parts[a].place == self.diagram.parts[b].place,
            _ => false,
        }
    }

    /// Exchanges the item at `index` with the one below it, and returns how the price changes.
    pub fn exchange(&mut self, column: usize, index: usize) -> i64 {
        let (upper, lower) = (self.columns[column][index], self.columns[column][index + 1]);
        let mut change = 0;
        for side in [LEFT, RIGHT] {
            let (a, b) = (self.spots_of(column, upper, side), self.spots_of(column, lower, side));
            change += CROSSING * self.exchange_gain(&a, &b);
            self.exchange_spots(&a, &b, side);
        }
        self.columns[column].swap(index, index + 1);
        let strays = |wire, from, to| {
            STRAY_LANE * (i64::from(self.is_stray(wire, to)) - i64::from(self.is_stray(wire, from)))
        };
        change
            + match (upper, lower) {
                (Item::Lane(wire), Item::Top(place)) | (Item::Bottom(place), Item::Lane(wire)) => {
                    strays(wire, None, Some(place))
                }
                (Item::Lane(wire), Item::Bottom(place)) | (Item::Top(place), Item::Lane(wire)) => {
                    strays(wire, Some(place), None)
                }
                _ => 0,
            }
    }

    /// Where the other spot of a strand lies as seen from a block of spots on a side: ascending in the order in which
    /// the block's strands, taken from the top, do not cross each other.
    fn bearing(&self, (strand, which): Spot, side: usize, block: (i32, i32)) -> i32 {
        let other = self.spots[strand][1 - which];
        let here = self.spots[strand][which];
        const ROUND: i32 = 1 << 20;
        match side {
            _ if (block.0..=block.1).contains(&other) => if side == RIGHT { here } else { -here },
            RIGHT if other > block.1 => ROUND - other,
            RIGHT => -other - ROUND,
            _ if other < block.0 => ROUND + other,
            _ => other - ROUND,
        }
    }

    /// Puts the pins of a part into the order with the fewest crossings, side by side; mating cavities, which are bound
    /// to their row, one exchange at a time.
    pub fn sort_pins(&mut self, part: usize) {
        for side in [LEFT, RIGHT] {
            self.sort_side(part, side);
        }
        self.renumber(self.column_of[part]);
    }

    fn sort_side(&mut self, part: usize, side: usize) {
        let spots: Vec<i32> =
            self.spots_of(self.column_of[part], Item::Part(part), side).iter().map(|&(s, w)| self.spots[s][w]).collect();
        let (Some(&low), Some(&high)) = (spots.iter().min(), spots.iter().max()) else { return };
        let bearing = |end: EndId| self.bearing(self.spot_of_end(end), side, (low, high));
        let mut slots = self.slots[part][side].clone();
        for slot in &mut slots {
            slot.ends.sort_by_key(|&end| (bearing(end), end));
        }
        if self.diagram.parts[part].form != Form::Mated {
            // The mean bearing orders pins with several wires; for one wire each it is exact.
            let mean = |slot: &Slot| slot.ends.iter().map(|&e| i64::from(bearing(e))).sum::<i64>() / slot.ends.len().max(1) as i64;
            let dock_mean = |slot: &Slot| {
                let ends = slots.iter().filter(|s| s.dock == slot.dock).flat_map(|s| &s.ends);
                let (sum, count) = ends.fold((0, 0), |(sum, count), &e| (sum + i64::from(bearing(e)), count + 1));
                if slot.dock.is_some() { sum / count.max(1) } else { mean(slot) }
            };
            let mut keyed: Vec<_> = slots
                .iter()
                .map(|slot| ((dock_mean(slot), slot.dock, mean(slot), slot.ends.first().copied()), slot.clone()))
                .collect();
            keyed.sort_by_key(|(key, _)| *key);
            slots = keyed.into_iter().map(|(_, slot)| slot).collect();
        }
        self.slots[part][side] = slots;
    }

    /// Exchanges mating rows of a part as long as that saves crossings.
    pub fn sift_rows(&mut self, part: usize) {
        let column = self.column_of[part];
        let rows = self.slots[part][LEFT].len().min(self.slots[part][RIGHT].len());
        for _ in 0..rows {
            let mut better = false;
            for row in 1..rows {
                let blocks = [LEFT, RIGHT].map(|side| {
                    [row - 1, row].map(|r| -> Vec<Spot> {
                        self.slots[part][side][r].ends.iter().map(|&e| self.spot_of_end(e)).collect()
                    })
                });
                let change: i64 = blocks.iter().map(|[upper, lower]| self.exchange_gain(upper, lower)).sum();
                if change < 0 {
                    self.slots[part].iter_mut().for_each(|slots| slots.swap(row - 1, row));
                    self.renumber(column);
                    better = true;
                }
            }
            if !better {
                break;
            }
        }
    }
}
