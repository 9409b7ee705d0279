//! The order of parts, wires and frames before they have positions: columns of parts, and every wire threaded through
//! them.
//!
//! Columns are numbered from the left. Channel `k` is the space left of column `k`; the last channel lies right of the
//! last column. A wire runs through channels and passes the columns between them in *lanes*. In one channel it joins
//! two *spots* on the channel's edges; that piece is a *strand*. Seen as a round table, the spots down the left edge and
//! up the right edge, two strands must cross exactly when their spots alternate, so crossings can be counted (and the
//! effect of a move predicted) before anything has a position.

use super::diagram::{Diagram, EndId, wire_end};
use std::sync::Arc;

/// Left or right edge of a part.
pub(super) const LEFT: usize = 0;
/// See [`LEFT`].
pub(super) const RIGHT: usize = 1;

/// Price of one crossing; the others are set against it.
pub(super) const CROSSING: i64 = 10;
/// Price of a lane: a wire that passes a column is longer, and costs height.
pub(super) const LANE: i64 = 2;
/// Price of a lane inside the frame of a place that the wire has nothing to do with, or outside its place's frame where
/// it could run inside.
pub(super) const STRAY_LANE: i64 = 6;
/// Price of a wire that leaves its part on the far side and passes the part's own column.
pub(super) const RETURN: i64 = 8;

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
    /// The exits to other sheets, below its wire ends.
    pub exits: Vec<usize>,
}

impl Slot {
    /// How many rows it takes.
    pub fn rows(&self) -> usize {
        (self.ends.len() + self.exits.len()).max(1)
    }
}

/// A spot of a strand: its index, and which of its two spots.
pub(super) type Spot = (usize, usize);

/// See the module's text.
#[derive(Debug, Clone)]
pub(super) struct ColumnOrder<'a> {
    pub diagram: &'a Diagram,
    /// The places with a frame in each column, from the top.
    pub stacks: Arc<Vec<Vec<usize>>>,
    /// The column of each part.
    pub column_of: Vec<usize>,
    /// Left and right slots of each part, from the top.
    pub slots: Vec<Arc<[Vec<Slot>; 2]>>,
    /// The items of each column, from the top.
    pub columns: Vec<Vec<Item>>,
    /// The channel each wire end starts in.
    pub channel_of: Vec<usize>,
    /// Both spots of each wire's strand in each channel: first the one nearer, along the wire, to its end in the left
    /// channel. Spot `i` from the top of the left edge is `i`, of the right edge `−1 − i`.
    pub spots: Vec<[i32; 2]>,
    /// How many spots the left and right edge of each channel have.
    lengths: Vec<[i32; 2]>,
}

/// Whether the spots of two strands alternate.
pub(super) fn alternate(a: [i32; 2], b: [i32; 2]) -> bool {
    let (low, high) = (a[0].min(a[1]), a[0].max(a[1]));
    let inside = |spot: i32| low < spot && spot < high;
    inside(b[0]) != inside(b[1])
}

impl<'a> ColumnOrder<'a> {
    /// Becomes a copy of another order of the same diagram, in the memory that it has.
    pub fn copy(&mut self, other: &Self) {
        let Self { diagram, stacks, column_of, slots, columns, channel_of, spots, lengths } = self;
        *diagram = other.diagram;
        stacks.clone_from(&other.stacks);
        column_of.clone_from(&other.column_of);
        slots.clone_from(&other.slots);
        columns.clone_from(&other.columns);
        channel_of.clone_from(&other.channel_of);
        spots.clone_from(&other.spots);
        lengths.clone_from(&other.lengths);
    }

    /// The same order for a diagram that differs in its words only.
    pub fn showing(self, diagram: &Diagram) -> ColumnOrder<'_> {
        ColumnOrder { diagram, ..self }
    }

    /// The order without its diagram, to be kept until it is needed for another one.
    pub fn kept(self) -> ColumnOrder<'static> {
        static NOTHING: Diagram = Diagram::EMPTY;
        self.showing(&NOTHING)
    }

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
        let channels = columns.len() + 1;
        let mut order = Self {
            diagram,
            stacks: Arc::new(stacks),
            column_of,
            slots: slots.into_iter().map(Arc::new).collect(),
            columns,
            channel_of: vec![0; 2 * diagram.wires.len()],
            spots: vec![[0, 0]; diagram.wires.len() * channels],
            lengths: vec![[0, 0]; channels],
        };
        let all: Vec<usize> = (0..diagram.wires.len()).collect();
        order.thread(&all);
        order
    }

    /// Works out the channels of some wires again, drops the lanes they no longer need and adds the missing ones at the
    /// foot of their columns. Returns the added ones as column and wire.
    pub fn thread(&mut self, wires: &[usize]) -> Vec<(usize, usize)> {
        let mut added = Vec::new();
        let mut stale = vec![false; self.columns.len()];
        for &wire in wires {
            let had = self.channels_of(wire);
            for end in [2 * wire, 2 * wire + 1] {
                let part = self.diagram.end(end).part;
                let on_left = self.slots[part][LEFT].iter().any(|slot| slot.ends.contains(&end));
                self.channel_of[end] = self.column_of[part] + usize::from(!on_left);
                stale[self.column_of[part]] = true;
            }
            let needs = self.channels_of(wire);
            for (column, stale) in stale.iter_mut().enumerate() {
                let (had, needs) = ((had.0..had.1).contains(&column), (needs.0..needs.1).contains(&column));
                if had && !needs {
                    self.columns[column].retain(|&item| item != Item::Lane(wire));
                } else if needs && !had {
                    self.columns[column].push(Item::Lane(wire));
                    added.push((column, wire));
                }
                *stale |= had || needs;
            }
        }
        (0..self.columns.len()).filter(|&column| stale[column]).for_each(|column| self.renumber(column));
        added
    }

    /// Both channels that a wire begins and ends in, the left one first.
    pub fn channels_of(&self, wire: usize) -> (usize, usize) {
        let (a, b) = (self.channel_of[2 * wire], self.channel_of[2 * wire + 1]);
        (a.min(b), a.max(b))
    }

    /// Which end of a wire lies in the left one of its channels; its first where both are in the same.
    pub fn starts_with(&self, wire: usize) -> usize {
        usize::from(self.channel_of[2 * wire + 1] < self.channel_of[2 * wire])
    }

    /// The side of its part that a wire end leaves on.
    pub fn side_of(&self, end: EndId) -> usize {
        self.channel_of[end] - self.column_of[self.diagram.end(end).part]
    }

    /// How many columns the wires pass, all together.
    pub fn lane_count(&self) -> usize {
        self.channel_of.chunks_exact(2).map(|ends| ends[0].abs_diff(ends[1])).sum()
    }

    /// How many wire ends leave their part on the far side, so that the wire passes the part's own column.
    pub fn returns(&self) -> usize {
        let passes = |end: &EndId| {
            let (first, last) = self.channels_of(end / 2);
            (first..last).contains(&self.column_of[self.diagram.end(*end).part])
        };
        (0..2 * self.diagram.wires.len()).filter(passes).count()
    }

    /// The strand of a wire in a channel that it runs through.
    pub fn strand(&self, wire: usize, channel: usize) -> usize {
        wire * self.lengths.len() + channel
    }

    /// The spot where a wire end is.
    pub fn spot_of_end(&self, end: EndId) -> Spot {
        let (wire, which) = wire_end(end);
        (self.strand(wire, self.channel_of[end]), usize::from(which != self.starts_with(wire)))
    }

    /// Calls `visit` with the spots of an item on one of its sides, from the top.
    pub fn each_spot(&self, column: usize, item: Item, side: usize, mut visit: impl FnMut(Spot)) {
        match item {
            Item::Part(part) => {
                self.slots[part][side].iter().flat_map(|slot| &slot.ends).for_each(|&end| visit(self.spot_of_end(end)));
            }
            Item::Lane(wire) => visit((self.strand(wire, column + side), 1 - side)),
            Item::Top(_) | Item::Bottom(_) => {}
        }
    }

    /// Numbers the spots along both sides of a column again.
    pub fn renumber(&mut self, column: usize) {
        for side in [LEFT, RIGHT] {
            let mut count = 0;
            let mut spots = std::mem::take(&mut self.spots);
            for &item in &self.columns[column] {
                self.each_spot(column, item, side, |(strand, which)| {
                    spots[strand][which] = if side == RIGHT { count } else { -1 - count };
                    count += 1;
                });
            }
            self.spots = spots;
            // A column's left side is the right edge of the channel before it.
            self.lengths[column + side][1 - side] = count;
        }
    }

    /// The mean height, 0 at the top and 1 at the foot, of an item's neighbours across the channel on one side; `None`
    /// without neighbours.
    pub fn mean_height(&self, column: usize, item: Item, side: usize) -> Option<f64> {
        let length = f64::from(self.lengths[column + side][side]);
        let (mut sum, mut count) = (0.0, 0);
        self.each_spot(column, item, side, |(strand, which)| {
            let spot = self.spots[strand][1 - which];
            let across = if side == LEFT { (spot >= 0).then_some(spot) } else { (spot < 0).then(|| -1 - spot) };
            if let Some(index) = across {
                sum += (f64::from(index) + 0.5) / length;
                count += 1;
            }
        });
        (count > 0).then(|| sum / f64::from(count))
    }

    /// Crossings in all channels.
    pub fn crossings(&self) -> usize {
        (0..self.lengths.len()).map(|channel| self.crossings_in(channel)).sum()
    }

    /// How many pairs of strands in a channel alternate. Walks once around the table; when a strand is met for the
    /// second time, those that began after it and have not ended yet cross it (a Fenwick tree counts them; P. Fenwick,
    /// 1994).
    fn crossings_in(&self, channel: usize) -> usize {
        let [left, right] = self.lengths[channel];
        const NONE: u32 = u32::MAX;
        let mut wire_at = vec![NONE; (left + right) as usize];
        for wire in 0..self.diagram.wires.len() {
            let (first, last) = self.channels_of(wire);
            if (first..=last).contains(&channel) {
                for spot in self.spots[self.strand(wire, channel)] {
                    wire_at[(spot + right) as usize] = wire as u32;
                }
            }
        }
        let mut begun_as = vec![0_usize; self.diagram.wires.len()];
        let mut tree = vec![0_i32; wire_at.len() / 2 + 1];
        let add = |tree: &mut [i32], mut i: usize, by: i32| {
            while i < tree.len() {
                tree[i] += by;
                i += i & i.wrapping_neg();
            }
        };
        let (mut begun, mut open, mut crossings) = (0, 0, 0);
        for wire in wire_at.into_iter().filter(|&wire| wire != NONE) {
            let as_which = &mut begun_as[wire as usize];
            if *as_which == 0 {
                (begun, open) = (begun + 1, open + 1);
                *as_which = begun;
                add(&mut tree, begun, 1);
            } else {
                let (mut earlier, mut i) = (0, *as_which);
                while i > 0 {
                    earlier += tree[i];
                    i &= i - 1;
                }
                crossings += (open - earlier) as usize;
                add(&mut tree, *as_which, -1);
                open -= 1;
            }
        }
        crossings
    }
}

#[cfg(test)]
mod tests {
    use super::super::{cost, pin_sides, place_columns, reposition, samples};
    use super::*;

    /// [`ColumnOrder::positions`] predicts the result of a move, for every item and position of made-up weaves.
    #[test]
    fn moves_cost_what_was_predicted() {
        for seed in 0..12 {
            let diagram = samples::made_up(seed, 10 + 3 * seed as usize);
            for plan in place_columns::plans(&diagram) {
                let slots = pin_sides::towards_targets(&diagram, &plan.column_of);
                let order = ColumnOrder::new(&diagram, plan.stacks, plan.column_of, slots);
                for column in 0..order.columns.len() {
                    for index in 0..order.columns[column].len() {
                        for (to, change) in reposition::positions(&order, column, index) {
                            let mut moved = order.clone();
                            reposition::shift(&mut moved, column, index, to);
                            assert_eq!(
                                cost::price(&moved) - cost::price(&order),
                                change,
                                "seed {seed}: {index} to {to}"
                            );
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn counted_pair_by_pair_there_are_as_many_crossings() {
        for seed in 0..12 {
            let diagram = samples::made_up(seed, 60);
            let plan = place_columns::plans(&diagram).remove(0);
            let slots = pin_sides::towards_targets(&diagram, &plan.column_of);
            let order = ColumnOrder::new(&diagram, plan.stacks, plan.column_of, slots);
            let mut pairs = 0;
            for channel in 0..order.lengths.len() {
                let runs = |wire: &usize| {
                    let (first, last) = order.channels_of(*wire);
                    (first..=last).contains(&channel)
                };
                let wires: Vec<usize> = (0..diagram.wires.len()).filter(runs).collect();
                for (i, &a) in wires.iter().enumerate() {
                    let spots = |wire: usize| order.spots[order.strand(wire, channel)];
                    pairs += wires[..i].iter().filter(|&&b| alternate(spots(a), spots(b))).count();
                }
            }
            assert_eq!(pairs, order.crossings());
        }
    }
}
