//! Gives every path its column and every thing on it its height. What comes out is still free of millimetres across
//! the sheet: columns get their width from what stands in them.

use super::measure::{self, BLOCK, PIECE};
use super::paths::{Bar, Edge, End, Many, Root, Start, Stem, Step, Target, Top};
use super::pieces::{PieceId, Pieces};
use crate::model::{PinId, WireId};
use std::collections::BTreeMap;

/// A height on the sheet, millimetres below the lowest rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Level {
    At(f64),
    /// On the rail or terminal of this supply or vehicle's wire.
    Rail(PinId),
    /// On the ground rail.
    Foot,
}

/// A wire, or a bare lead, straight down a column.
#[derive(Debug, Clone)]
pub(super) struct Fall {
    /// The wire and its upper and lower pin; none for a lead that only stretches a terminal.
    pub wire: Option<(WireId, PinId, PinId)>,
    pub column: usize,
    pub from: Level,
    pub to: Level,
}

/// A line across columns: a splice's bar, or a lead from a contact to its column.
#[derive(Debug, Clone)]
pub(super) struct Across {
    pub from: usize,
    pub to: usize,
    pub y: f64,
    /// The splice or terminal, where wires are joined; none for a lead.
    pub pin: Option<PinId>,
    /// Columns whose wires are joined to it.
    pub dots: Vec<usize>,
    /// How far right of its first column a lead begins.
    pub inset: f64,
}

/// A symbol with two pins, or a change-over contact.
#[derive(Debug, Clone)]
pub(super) struct Stand {
    pub piece: PieceId,
    pub column: usize,
    pub y: f64,
    pub upper: PinId,
    pub lower: PinId,
}

/// A connector crossed.
#[derive(Debug, Clone)]
pub(super) struct Crossing {
    pub joint: usize,
    pub column: usize,
    pub y: f64,
    pub upper: PinId,
}

/// A box over several columns.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub piece: PieceId,
    pub columns: [usize; 2],
    pub y: f64,
    pub uppers: Vec<(PinId, usize)>,
    pub lowers: Vec<(PinId, usize)>,
}

/// A pointer to another path.
#[derive(Debug, Clone)]
pub(super) struct Flag {
    pub column: usize,
    pub y: f64,
    /// Whether it stands above its pin and tells where that comes from.
    pub incoming: bool,
    pub target: Target,
    /// The column that it points to, where that is known before the rest is placed.
    pub points_to: Option<usize>,
    pub wire: Option<WireId>,
    /// The pin that it stands at.
    pub pin: PinId,
    /// Whether it needs a stub of its own to stand on.
    pub stub: bool,
}

/// A terminal or an open end at the lower end of a path.
#[derive(Debug, Clone)]
pub(super) struct Tip {
    pub column: usize,
    pub y: f64,
    pub pin: PinId,
    /// A wire of the vehicle; else a pin with nothing more on it.
    pub vehicle: bool,
}

/// Everything placed.
#[derive(Debug, Default)]
pub(super) struct Placed {
    /// Number of columns.
    pub columns: usize,
    pub falls: Vec<Fall>,
    pub across: Vec<Across>,
    pub stands: Vec<Stand>,
    pub crossings: Vec<Crossing>,
    pub blocks: Vec<Block>,
    pub flags: Vec<Flag>,
    pub tips: Vec<Tip>,
    /// Where paths leave a rail or a vehicle's terminal: pin, column.
    pub taps: Vec<(PinId, usize)>,
    /// Where paths reach ground: pin, column.
    pub grounds: Vec<(PinId, usize)>,
    /// Names above paths that nothing feeds.
    pub loose: Vec<(PinId, usize)>,
    /// The depth of it all below the rails.
    pub depth: f64,
    pins: BTreeMap<PinId, usize>,
    at_piece: BTreeMap<(PieceId, PinId), usize>,
    pieces: BTreeMap<PieceId, usize>,
    flagged: BTreeMap<PinId, usize>,
}

impl Placed {
    /// The column that a flag points to.
    pub fn column(&self, target: Target) -> Option<usize> {
        match target {
            Target::Pin(pin) => self.pins.get(&pin).copied(),
            Target::Piece(piece, pin) => self.at_piece.get(&(piece, pin)).or(self.pieces.get(&piece)).copied(),
        }
    }
    /// The column that a piece stands in; a box's first one.
    pub fn column_of(&self, piece: PieceId) -> Option<usize> {
        self.pieces.get(&piece).copied()
    }
    /// Columns that are paths: all but those of mere flags above a pin.
    pub fn numbered(&self) -> Vec<bool> {
        let mut is_path = vec![false; self.columns];
        self.falls.iter().for_each(|f| is_path[f.column] = true);
        self.stands.iter().for_each(|s| is_path[s.column] = true);
        self.crossings.iter().for_each(|c| is_path[c.column] = true);
        self.blocks.iter().for_each(|b| is_path[b.columns[0]] = true);
        is_path
    }
}

/// Places the forest, left to right in its order.
pub(super) fn place(pieces: &Pieces, roots: &[Root]) -> Placed {
    let mut placer = Placer { pieces, out: Placed::default(), overhead: Vec::new() };
    for root in roots {
        placer.root(root);
    }
    placer.out
}

struct Placer<'m> {
    pieces: &'m Pieces,
    out: Placed,
    /// Heights of the lines that will go on to the right, over columns yet to come.
    overhead: Vec<f64>,
}

impl Placer<'_> {
    fn new_column(&mut self) -> usize {
        self.out.columns += 1;
        self.out.columns - 1
    }

    fn deep(&mut self, y: f64) {
        self.out.depth = self.out.depth.max(y);
    }

    fn root(&mut self, root: &Root) {
        let column = self.new_column();
        // A path that goes on from elsewhere begins with the flag that says so.
        let y = if matches!(root.start, Start::Cut(_)) { measure::STUB } else { 0.0 };
        let from = match root.start {
            Start::Rail(pin) => {
                self.out.taps.push((pin, column));
                self.out.pins.entry(pin).or_insert(column);
                Level::Rail(pin)
            }
            Start::Loose(pin) => {
                self.out.loose.push((pin, column));
                self.out.pins.entry(pin).or_insert(column);
                Level::At(0.0)
            }
            Start::Cut(pin) => {
                // The flag points back to the column that was cut: the pin itself stands here from now on.
                let points_to = self.out.flagged.get(&pin).or(self.out.pins.get(&pin)).copied();
                let target = Target::Pin(pin);
                let flag = Flag { column, y, incoming: true, target, points_to, wire: None, pin, stub: true };
                self.out.flags.push(flag);
                self.out.pins.entry(pin).or_insert(column);
                Level::At(y)
            }
            Start::Box => Level::At(0.0),
        };
        self.stem(&root.stem, column, from, y);
    }

    /// The height of an end: no higher than `natural`, far enough down for all that comes to it from above, and so that
    /// no line overhead runs through a symbol on a path that comes straight from a rail.
    fn level(&self, end: &End, natural: f64) -> f64 {
        let tops: Vec<(&Top, f64)> = match end {
            End::Bar(bar) => bar.tops.iter().map(|t| (t, 0.0)).collect(),
            End::Many(many) => {
                let several = |tops: &[Top]| if tops.len() > 1 { measure::SHORT } else { 0.0 };
                many.uppers.iter().flat_map(|(_, tops)| tops.iter().map(move |t| (t, several(tops)))).collect()
            }
            _ => Vec::new(),
        };
        let mut y = tops.iter().map(|(t, more)| measure::rise(t) + more).fold(natural, f64::max);
        let free = |y: f64| {
            tops.iter().all(|(top, more)| match top {
                Top::Rise { steps, .. } => self.stretched(steps, y - more).is_some(),
                _ => true,
            })
        };
        let tries = (0..12).map(|i| y + measure::SHORT * f64::from(i));
        if let Some(found) = tries.into_iter().find(|&y| free(y)) {
            y = found;
        }
        y
    }

    /// Which wire of a path from a rail is to be stretched so that it ends at `y` and no line overhead runs through a
    /// symbol: the last one that will do.
    fn stretched(&self, steps: &[Step], y: f64) -> Option<usize> {
        let extra = y - steps.iter().map(|s| measure::height(s.edge)).sum::<f64>();
        let wires = (0..steps.len()).rev().filter(|&i| matches!(steps[i].edge, Edge::Wire(_)));
        wires.into_iter().find(|&long| {
            let mut top = 0.0;
            steps.iter().enumerate().all(|(i, step)| {
                let bottom = top + measure::height(step.edge) + if i == long { extra } else { 0.0 };
                let symbol = !matches!(step.edge, Edge::Wire(_));
                let hit = symbol && self.overhead.iter().any(|&line| top - 1.5 < line && line < bottom + 1.5);
                top = bottom;
                !hit
            })
        })
    }

    fn stem(&mut self, stem: &Stem, column: usize, from: Level, y: f64) {
        let natural = y + stem.steps.iter().map(|s| measure::height(s.edge)).sum::<f64>();
        // Right below a bar a box needs room for the flags above its other pins.
        let close = match &stem.end {
            End::Many(many) if stem.steps.is_empty() && !self.overhead.is_empty() => {
                if many.uppers.len() > 1 {
                    measure::STUB
                } else {
                    measure::SHORT
                }
            }
            _ => 0.0,
        };
        let extra = self.level(&stem.end, natural + close) - natural;
        let to_foot = matches!(stem.end, End::Ground(_));
        let long = stem.steps.iter().rposition(|s| matches!(s.edge, Edge::Wire(_)));
        let y = self.steps(&stem.steps, column, from, y, (extra, long), to_foot);
        let elsewhere = matches!(stem.end, End::Flag(Target::Pin(_)));
        let own = stem.steps.len() - usize::from(elsewhere && !stem.steps.is_empty());
        for step in &stem.steps[..own] {
            self.out.pins.entry(step.lower).or_insert(column);
        }
        if stem.steps.is_empty() && matches!(from, Level::Rail(_)) {
            self.lead(column, from, Level::At(y));
        }
        self.end(stem, column, y);
    }

    /// Places steps from `y` down; the extra length goes into the wire that is named. Returns where they end.
    fn steps(
        &mut self,
        steps: &[Step],
        column: usize,
        from: Level,
        y: f64,
        (extra, long): (f64, Option<usize>),
        to_foot: bool,
    ) -> f64 {
        let (mut y, mut from) = (y, from);
        for (i, step) in steps.iter().enumerate() {
            let stretch = if Some(i) == long { extra } else { 0.0 };
            let next = y + measure::height(step.edge) + stretch;
            match step.edge {
                Edge::Wire(wire) => {
                    let to = if to_foot && i + 1 == steps.len() { Level::Foot } else { Level::At(next) };
                    let wire = Some((wire, step.upper, step.lower));
                    self.out.falls.push(Fall { wire, column, from, to });
                }
                _ => self.standing(step, column, from, y),
            }
            (y, from) = (next, Level::At(next));
        }
        let stuck = if long.is_none() { extra } else { 0.0 };
        let wire_last = steps.last().is_none_or(|s| matches!(s.edge, Edge::Wire(_)));
        if to_foot && !wire_last {
            self.lead(column, Level::At(y), Level::Foot);
        } else if stuck > 0.0 {
            self.lead(column, from, Level::At(y + stuck));
        }
        self.deep(y + stuck);
        y + stuck
    }

    fn lead(&mut self, column: usize, from: Level, to: Level) {
        self.out.falls.push(Fall { wire: None, column, from, to });
    }

    /// A piece or a crossing on a path.
    fn standing(&mut self, step: &Step, column: usize, from: Level, y: f64) {
        if let Level::Rail(_) = from {
            self.lead(column, from, Level::At(y));
        }
        match step.edge {
            Edge::Piece(piece) => {
                self.out.stands.push(Stand { piece, column, y, upper: step.upper, lower: step.lower });
                self.out.pieces.entry(piece).or_insert(column);
                self.out.at_piece.insert((piece, step.upper), column);
                self.out.at_piece.insert((piece, step.lower), column);
            }
            Edge::Joint(joint) => self.out.crossings.push(Crossing { joint, column, y, upper: step.upper }),
            Edge::Wire(_) => {}
        }
    }

    fn end(&mut self, stem: &Stem, column: usize, y: f64) {
        match &stem.end {
            End::Ground(pin) => self.out.grounds.push((*pin, column)),
            End::Vehicle(pin) => self.tip(column, y, *pin, true),
            End::Open(pin) => self.tip(column, y, *pin, false),
            End::Flag(target) => {
                let pin = match *target {
                    Target::Pin(pin) | Target::Piece(_, pin) => pin,
                };
                let stub = stem.steps.is_empty();
                let wire = stem.steps.last().and_then(|s| if let Edge::Wire(w) = s.edge { Some(w) } else { None });
                self.out.flagged.insert(pin, column);
                self.out.flags.push(Flag {
                    column,
                    y,
                    incoming: false,
                    target: *target,
                    points_to: None,
                    wire,
                    pin,
                    stub,
                });
                self.deep(y + measure::STUB);
            }
            End::Bar(bar) => self.bar(bar, column, y),
            End::Many(many) => self.many(many, column, y),
        }
    }

    fn tip(&mut self, column: usize, y: f64, pin: PinId, vehicle: bool) {
        self.out.tips.push(Tip { column, y, pin, vehicle });
        self.deep(y + measure::SHORT * 2.0);
    }

    fn bar(&mut self, bar: &Bar, column: usize, y: f64) {
        self.out.pins.entry(bar.pin).or_insert(column);
        let mut dots = vec![column];
        let branches = bar.downs.len().max(1) + bar.tops.len();
        let mut left = branches - 1;
        for (i, stem) in bar.downs.iter().enumerate() {
            let own = if i == 0 { column } else { self.new_column() };
            dots.push(own);
            left -= usize::from(i > 0);
            let depth = self.overhead.len();
            self.overhead.extend((left > 0).then_some(y));
            self.stem(stem, own, Level::At(y), y + measure::BAR);
            self.overhead.truncate(depth);
        }
        for top in &bar.tops {
            let own = self.new_column();
            dots.push(own);
            self.top(top, own, y, bar.pin);
        }
        dots.dedup();
        let to = dots.iter().copied().max().unwrap_or(column);
        self.out.across.push(Across { from: column, to, y, pin: Some(bar.pin), dots, inset: 0.0 });
        self.deep(y);
    }

    /// What comes from above to a pin at `y`.
    fn top(&mut self, top: &Top, column: usize, y: f64, pin: PinId) {
        match top {
            Top::Arrival => {}
            Top::Rise { rail, steps } => {
                self.out.taps.push((*rail, column));
                let extra = y - steps.iter().map(|s| measure::height(s.edge)).sum::<f64>();
                let last = steps.iter().rposition(|s| matches!(s.edge, Edge::Wire(_)));
                let long = self.stretched(steps, y).or(last);
                self.steps(steps, column, Level::Rail(*rail), 0.0, (extra, long), false);
                for step in steps {
                    self.out.pins.entry(step.upper).or_insert(column);
                }
            }
            Top::Stub { from, wire } => {
                let (target, wire) = (*from, *wire);
                self.out.flags.push(Flag { column, y, incoming: true, target, points_to: None, wire, pin, stub: true });
            }
        }
    }

    fn many(&mut self, many: &Many, column: usize, y: f64) {
        let is_block = self.pieces.get(many.piece).is_block();
        let first = column;
        let mut uppers = Vec::new();
        // Columns are taken one by one, upper pins and lower stems side by side.
        let mut taken = vec![first];
        let mut next_upper = 0;
        for (pin, tops) in &many.uppers {
            let start = next_upper;
            for (i, top) in tops.iter().enumerate() {
                let own = self.column_at(&mut taken, start + i);
                let several = tops.len() > 1;
                let level = if several { y - measure::SHORT } else { y };
                self.top(top, own, level, *pin);
            }
            let own = self.column_at(&mut taken, start);
            if tops.len() > 1 {
                let last = taken[start + tops.len() - 1];
                let dots = (start..start + tops.len()).map(|i| taken[i]).collect();
                let y_bar = y - measure::SHORT;
                self.out.across.push(Across { from: own, to: last, y: y_bar, pin: Some(*pin), dots, inset: 0.0 });
                self.lead(own, Level::At(y_bar), Level::At(y));
            }
            let elsewhere = matches!(tops.first(), Some(Top::Stub { from: Target::Pin(p), .. }) if p == pin);
            if !elsewhere {
                self.out.pins.entry(*pin).or_insert(own);
            }
            self.out.at_piece.insert((many.piece, *pin), own);
            uppers.push((*pin, own));
            next_upper = start + tops.len().max(1);
        }
        self.out.pieces.entry(many.piece).or_insert(first);
        let height = if is_block { BLOCK } else { PIECE };
        let mut lowers = Vec::new();
        let mut used = 0;
        for (pin, stem) in &many.lowers {
            // A stem below may itself take columns; the next one stands to the right of them all.
            let own = self.column_at(&mut taken, used);
            used += 1;
            self.out.at_piece.insert((many.piece, *pin), own);
            let elsewhere = matches!(stem.end, End::Flag(Target::Pin(p)) if p == *pin);
            if !elsewhere {
                self.out.pins.entry(*pin).or_insert(own);
            }
            lowers.push((*pin, own));
            let before = self.out.columns;
            let depth = self.overhead.len();
            self.overhead.extend((!is_block && lowers.len() == 1).then_some(y + height));
            self.stem(stem, own, Level::At(y + height), y + height);
            self.overhead.truncate(depth);
            if self.out.columns > before {
                // What it took lies beyond the box's own columns: the rest of the box starts after it.
                used = taken.len();
            }
        }
        let last = uppers.iter().chain(&lowers).map(|&(_, c)| c).max().unwrap_or(first);
        self.deep(y + height);
        if is_block {
            self.out.blocks.push(Block { piece: many.piece, columns: [first, last], y, uppers, lowers });
        } else {
            self.change_over(many.piece, first, y, &uppers, &lowers);
        }
    }

    /// The column of the box's `index`-th pin, a new one where there is none yet.
    fn column_at(&mut self, taken: &mut Vec<usize>, index: usize) -> usize {
        while taken.len() <= index {
            let own = self.new_column();
            taken.push(own);
        }
        taken[index]
    }

    /// A contact with both throws in use: its second throw reaches its column by a lead.
    fn change_over(
        &mut self,
        piece: PieceId,
        column: usize,
        y: f64,
        uppers: &[(PinId, usize)],
        lowers: &[(PinId, usize)],
    ) {
        let (Some(&(upper, _)), Some(&(lower, _))) = (uppers.first(), lowers.first()) else { return };
        self.out.stands.push(Stand { piece, column, y, upper, lower });
        for (pins, level) in [(uppers, y), (lowers, y + PIECE)] {
            for &(_, to) in pins.iter().skip(1) {
                self.out.across.push(Across { from: column, to, y: level, pin: None, dots: Vec::new(), inset: 7.5 });
            }
        }
    }
}
