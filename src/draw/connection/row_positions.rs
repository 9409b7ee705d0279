//! Heights: from the order of everything to grid rows, with as many wires as possible running straight.
//!
//! Every part's top and bottom, every slot of pins, every lane and every frame's edge is a variable. The order in the
//! columns gives minimum distances between them; every strand wishes to be level, parts and frames wish to be compact.
//! [`simplex`](super::simplex) finds the best heights for the sum of all distances; since what counts is how many wires
//! are level and not how far off the others are, it runs again with the level and nearly level ones weighing more.

use super::diagram::{EndId, PartShape};
use super::ordering::{ColumnOrder, Item, LEFT, RIGHT, Slot};
use super::simplex::{Limit, Wish, heights};
use super::sizes::{PIN_ROWS, footer_rows, header_rows};

/// How much work a layout is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Care {
    /// To see about how large it becomes, and how hard to read.
    Rough,
    /// To be drawn.
    Final,
}

/// Where everything stands, in rows from the top.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    /// Top and bottom of each part.
    pub parts: Vec<(i64, i64)>,
    /// Row of each wire end.
    pub ends: Vec<i64>,
    /// Row of the first wire end of each slot, by part and side.
    pub slots: Vec<[Vec<i64>; 2]>,
    /// Row of a wire in each column that it passes, from the left.
    pub lanes: Vec<Vec<i64>>,
    /// Top and bottom of each place's frame.
    pub frames: Vec<(i64, i64)>,
    /// Rows in all.
    pub height: i64,
}

/// Rows that the bar of a splice may be longer than its wires need, so that more of them are level.
pub(super) const SPARE_BAR_ROWS: i64 = 4;
/// What a row of a splice's bar counts beside a level wire, which counts 60 at most.
const BAR_WEIGHT: i64 = 14;
/// How many times the heights are found again with other weights.
const ROUNDS: usize = 3;

/// Finds the heights of a order whose sides hold all pins.
pub(super) fn rows(order: &ColumnOrder, care: Care) -> Rows {
    let rounds = if care == Care::Rough { 1 } else { ROUNDS };
    let nodes = Nodes::new(order);
    let limits = nodes.limits(order);
    let mut strands = nodes.strands(order);
    let firm = nodes.firm_wishes(order);
    let mut found = Vec::new();
    for round in 0..rounds {
        let wishes: Vec<Wish> = firm.iter().chain(&strands).copied().collect();
        found = heights(nodes.count, &wishes, &limits);
        if round + 1 < rounds {
            for strand in &mut strands {
                strand.weight = match (found[strand.to] - found[strand.from] - strand.distance).abs() {
                    0 => 60,
                    1..=3 => 45,
                    4..=8 => 20,
                    _ => 6,
                };
            }
        }
    }
    nodes.read(order, &found)
}

/// Index of the node of each thing; node 0 is the sheet's top.
struct Nodes {
    count: usize,
    /// Top and bottom of each part.
    parts: Vec<(usize, usize)>,
    /// Each slot, by part and side. Mating cavities share one.
    slots: Vec<[Vec<usize>; 2]>,
    /// Each wire's first lane; the others follow.
    lanes: Vec<usize>,
    /// Top and bottom of each frame.
    frames: Vec<(usize, usize)>,
}

impl Nodes {
    fn new(order: &ColumnOrder) -> Self {
        let mut count = 1;
        let mut take = |n: usize| {
            count += n;
            count - n
        };
        let frames = order.diagram.places.iter().map(|_| (take(1), take(1))).collect();
        let mut parts = Vec::new();
        let mut slots = Vec::new();
        for (part, sides) in order.slots.iter().enumerate() {
            parts.push((take(1), take(1)));
            let left: Vec<usize> = sides[LEFT].iter().map(|_| take(1)).collect();
            let right = match order.diagram.parts[part].form {
                PartShape::Mated => left.clone(),
                _ => sides[RIGHT].iter().map(|_| take(1)).collect(),
            };
            slots.push([left, right]);
        }
        let lanes = (0..order.diagram.wires.len())
            .map(|wire| {
                let (first, last) = order.channels_of(wire);
                take(last - first)
            })
            .collect();
        Self { count, parts, slots, lanes, frames }
    }

    fn lane(&self, order: &ColumnOrder, wire: usize, column: usize) -> usize {
        self.lanes[wire] + column - order.channels_of(wire).0
    }

    /// First and last node of an item from top to bottom.
    fn edges(&self, order: &ColumnOrder, column: usize, item: Item) -> (usize, usize) {
        match item {
            Item::Part(part) => self.parts[part],
            Item::Lane(wire) => {
                let lane = self.lane(order, wire, column);
                (lane, lane)
            }
            Item::Top(place) => (self.frames[place].0, self.frames[place].0),
            Item::Bottom(place) => (self.frames[place].1, self.frames[place].1),
        }
    }

    fn limits(&self, order: &ColumnOrder) -> Vec<Limit> {
        let mut limits: Vec<Limit> = (1..self.count).map(|to| Limit { from: 0, to, least: 0 }).collect();
        for (column, items) in order.columns.iter().enumerate() {
            for pair in items.windows(2) {
                let (from, to) = (self.edges(order, column, pair[0]).1, self.edges(order, column, pair[1]).0);
                limits.push(Limit { from, to, least: least_gap(pair[0], pair[1]) });
            }
        }
        for &(from, to) in &self.frames {
            limits.push(Limit { from, to, least: FRAME_HEADER });
        }
        for (part, sides) in order.slots.iter().enumerate() {
            let (top, bottom) = self.parts[part];
            let header = header_rows(&order.diagram.parts[part]);
            let footer = footer_rows(&order.diagram.parts[part]);
            limits.push(Limit { from: top, to: bottom, least: header });
            if order.diagram.parts[part].form == PartShape::Splice {
                let needed = sides.iter().map(|side| side.iter().map(Slot::rows).sum::<usize>()).max().unwrap_or(1);
                let most = header + PIN_ROWS * (needed as i64 - 1) + footer + SPARE_BAR_ROWS;
                limits.push(Limit { from: bottom, to: top, least: -most });
            }
            for side in [LEFT, RIGHT] {
                let nodes = &self.slots[part][side];
                // Mating cavities share their row, which must hold the wires of both.
                let rows = |i: usize| {
                    [LEFT, RIGHT]
                        .map(|s| {
                            let own = s == side || order.diagram.parts[part].form == PartShape::Mated;
                            sides[s].get(i).filter(|_| own).map_or(1, |slot| slot.rows())
                        })
                        .into_iter()
                        .max()
                        .unwrap_or(1) as i64
                };
                for (i, &node) in nodes.iter().enumerate() {
                    let above = i.checked_sub(1);
                    let dock = sides[side][i].dock;
                    let opens = dock.is_some() && above.is_none_or(|a| sides[side][a].dock != dock);
                    let closes = above.is_some_and(|a| sides[side][a].dock.is_some() && sides[side][a].dock != dock);
                    let extra = DOCK_HEADER * i64::from(opens) + i64::from(closes && !opens);
                    match above {
                        None => limits.push(Limit { from: top, to: node, least: header + extra }),
                        Some(a) => limits.push(Limit { from: nodes[a], to: node, least: PIN_ROWS * rows(a) + extra }),
                    }
                    if i + 1 == nodes.len() {
                        limits.push(Limit { from: node, to: bottom, least: PIN_ROWS * (rows(i) - 1) + footer });
                    }
                }
            }
        }
        limits
    }

    /// Node and offset of a wire end.
    fn end(&self, order: &ColumnOrder, end: EndId) -> (usize, i64) {
        let part = order.diagram.end(end).part;
        for side in [LEFT, RIGHT] {
            for (slot, &node) in order.slots[part][side].iter().zip(&self.slots[part][side]) {
                if let Some(row) = slot.ends.iter().position(|&e| e == end) {
                    return (node, PIN_ROWS * row as i64);
                }
            }
        }
        (self.parts[part].0, 0)
    }

    /// The wish of every strand to be level.
    fn strands(&self, order: &ColumnOrder) -> Vec<Wish> {
        let mut wishes = Vec::new();
        for wire in 0..order.diagram.wires.len() {
            let (first, last) = order.channels_of(wire);
            let start = order.starts_with(wire);
            let mut stops = vec![self.end(order, 2 * wire + start)];
            stops.extend((first..last).map(|column| (self.lane(order, wire, column), 0)));
            stops.push(self.end(order, 2 * wire + 1 - start));
            let weight = if first == last && self.same_side(order, wire) { 3 } else { 20 };
            for pair in stops.windows(2) {
                let ((from, above), (to, below)) = (pair[0], pair[1]);
                wishes.push(Wish { from, to, distance: above - below, weight });
            }
        }
        wishes
    }

    /// Whether a wire's ends lie on the same edge of one channel, so that it can never be level.
    fn same_side(&self, order: &ColumnOrder, wire: usize) -> bool {
        let [a, b] = order.diagram.wires[wire].ends.map(|end| order.column_of[end.part]);
        a == b
    }

    /// What keeps parts and frames compact and the drawing high on the sheet.
    fn firm_wishes(&self, order: &ColumnOrder) -> Vec<Wish> {
        let mut wishes: Vec<Wish> = (1..self.count).map(|to| Wish { from: 0, to, distance: 0, weight: 1 }).collect();
        for (part, &(from, to)) in self.parts.iter().enumerate() {
            let weight = if order.diagram.parts[part].form == PartShape::Splice { BAR_WEIGHT } else { 30 };
            wishes.push(Wish { from, to, distance: 0, weight });
        }
        wishes.extend(self.frames.iter().map(|&(from, to)| Wish { from, to, distance: 0, weight: 6 }));
        wishes
    }

    fn read(&self, order: &ColumnOrder, found: &[i64]) -> Rows {
        let pair = |&(a, b): &(usize, usize)| (found[a], found[b]);
        let lanes = |wire: usize| {
            let (first, last) = order.channels_of(wire);
            (0..last - first).map(|i| found[self.lanes[wire] + i]).collect()
        };
        let ends = |end: EndId| {
            let (node, offset) = self.end(order, end);
            found[node] + offset
        };
        Rows {
            parts: self.parts.iter().map(pair).collect(),
            ends: (0..2 * order.diagram.wires.len()).map(ends).collect(),
            slots: self
                .slots
                .iter()
                .map(|s| [LEFT, RIGHT].map(|side| s[side].iter().map(|&n| found[n]).collect()))
                .collect(),
            lanes: (0..order.diagram.wires.len()).map(lanes).collect(),
            frames: self.frames.iter().map(pair).collect(),
            height: found.iter().copied().max().unwrap_or(0),
        }
    }
}

/// Extra rows above the first cavity of a connector that is plugged into a part, for its name.
const DOCK_HEADER: i64 = 2;
/// Rows that a frame keeps free for its place's name.
const FRAME_HEADER: i64 = 4;

/// Minimum rows between an item and the one below it.
fn least_gap(upper: Item, lower: Item) -> i64 {
    match (upper, lower) {
        (Item::Top(_), _) => FRAME_HEADER,
        (Item::Part(_), Item::Part(_) | Item::Bottom(_)) | (Item::Bottom(_), Item::Top(_)) => 2,
        _ => 1,
    }
}
