//! Gives every path its column and every thing on it its height. What comes out is still free of millimetres across
//! the sheet: columns get their width from what stands in them.

use super::forest::{Bar, Edge, End, Many, Root, Start, Stem, Step, Target, Top};
use super::functions;
use super::levels::{Least, Levels};
use super::pieces::{PieceId, Pieces};
use super::placed::{Across, Block, Crossing, Fall, Flag, Level, Placed, Stand, Tip};
use super::spacing::{self, PIECE};
use model::{Model, PartKind, PinId};

/// Places the forest, left to right in its order, with some bars and boxes no higher than `least`.
pub(super) fn place(model: &Model, pieces: &Pieces, roots: &[Root], least: &Least) -> Placed {
    let levels = Levels::new(least);
    let mut placer = Placer { model, pieces, out: Placed::default(), levels, below: Vec::new() };
    for root in roots {
        placer.root(root);
    }
    placer.out
}

struct Placer<'m> {
    model: &'m Model,
    pieces: &'m Pieces,
    out: Placed,
    levels: Levels<'m>,
    /// Columns that are free below a box, under pins of its upper edge. They lie left of any new column.
    below: Vec<usize>,
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
        self.out.begin_group(column, functions::title(self.model, self.pieces, root));
        // A path that goes on from elsewhere begins with the flag that says so, right above the bar or box if there is one.
        let y = match root.start {
            Start::Cut { .. } if root.stem.steps.is_empty() => self.levels.level(&root.stem.end, spacing::STUB),
            Start::Cut { .. } => spacing::STUB,
            _ => 0.0,
        };
        let from = match root.start {
            Start::Rail(pin) | Start::Loose(pin) => {
                self.out.taps.push((pin, column));
                self.out.pins.entry(pin).or_insert(column);
                Level::Rail(pin)
            }
            Start::Cut { pin, from } => {
                let (target, wire) = from.unwrap_or((Target::Pin(pin), None));
                let far = target.far_from(pin);
                self.out.flags.push(Flag { column, y, incoming: true, target, wire, far, pin, stub: true });
                self.out.pins.entry(pin).or_insert(column);
                Level::At(y)
            }
            Start::Box => Level::Nowhere,
        };
        match &root.stem.end {
            End::Bar(bar) if root.stem.steps.is_empty() && from == Level::At(y) => {
                let level = self.levels.level(&root.stem.end, y);
                if level > y {
                    self.lead(column, from, Level::At(level));
                }
                self.bar(bar, column, level, true);
            }
            _ => self.stem(&root.stem, column, from, y),
        }
    }

    fn stem(&mut self, stem: &Stem, column: usize, from: Level, y: f64) {
        if let Some(title) = functions::branch_title(self.model, self.pieces, stem) {
            self.out.begin_group(column, title);
        }
        let natural = y + stem.steps.iter().map(|s| spacing::height(s.edge)).sum::<f64>();
        // A box right below a bar, and a bar right below a box, keep their distance.
        let apart = stem.steps.is_empty() && matches!(from, Level::At(_));
        let close = if apart && matches!(stem.end, End::Many(_) | End::Bar(_)) { spacing::SHORT } else { 0.0 };
        let extra = self.levels.level(&stem.end, natural + close) - natural;
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
            let next = y + spacing::height(step.edge) + stretch;
            match step.edge {
                Edge::Wire(wire) => {
                    let to = if to_foot && i + 1 == steps.len() { Level::Foot } else { Level::At(next) };
                    let wire = Some((wire, step.upper, step.lower));
                    self.out.falls.push(Fall { wire, column, from, to });
                }
                _ => self.standing(step, column, from, y),
            }
            (y, from) = (next, Level::At(next));
            if i + 1 < steps.len() {
                self.splice_between(step.lower, column, next);
            }
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

    /// A splice that a path goes straight through has its dot and its name too.
    fn splice_between(&mut self, pin: PinId, column: usize, y: f64) {
        if self.model.part(self.model.pin(pin).part).kind == PartKind::Splice {
            let dots = vec![column];
            self.out.across.push(Across { from: column, to: column, y, pin, bar: true, dots, inset: 0.0, named: true });
        }
    }

    fn lead(&mut self, column: usize, from: Level, to: Level) {
        if from != Level::Nowhere {
            self.out.falls.push(Fall { wire: None, column, from, to });
        }
    }

    /// A piece or a crossing on a path.
    fn standing(&mut self, step: &Step, column: usize, from: Level, y: f64) {
        if let Level::Rail(_) = from {
            self.lead(column, from, Level::At(y));
        }
        match step.edge {
            Edge::Piece(piece) => {
                self.out.stands.push(Stand { piece, column, y, upper: step.upper, lower: step.lower, side: false });
                self.out.pieces.entry(piece).or_insert(column);
                self.out.at_piece.insert((piece, step.upper), column);
                self.out.at_piece.insert((piece, step.lower), column);
            }
            Edge::Joint(joint) => {
                let (upper, lower) = (step.upper, step.lower);
                self.out.crossings.push(Crossing { joint, column, y, upper, lower });
            }
            Edge::Wire(_) => {}
        }
    }

    fn end(&mut self, stem: &Stem, column: usize, y: f64) {
        match &stem.end {
            End::Ground(pin) => self.out.grounds.push((*pin, column)),
            End::Vehicle(pin) => self.tip(column, y, *pin, true),
            End::Open(pin) => self.tip(column, y, *pin, false),
            End::Flag(target) => {
                let pin = target.pin();
                let wire = stem.steps.last().and_then(|s| if let Edge::Wire(w) = s.edge { Some(w) } else { None });
                // A flag right below a symbol would stand on the name of its pin.
                let stub = !stem.steps.last().is_some_and(|s| matches!(s.edge, Edge::Wire(_) | Edge::Joint(_)));
                let far = stem.steps.last().map(|step| step.upper).filter(|_| !stem.ends_on_piece());
                self.out.flags.push(Flag { column, y, incoming: false, target: *target, wire, far, pin, stub });
                self.deep(y + spacing::FLAG + if stub { spacing::SHORT } else { 0.0 });
            }
            End::Bar(bar) => self.bar(bar, column, y, !stem.steps.is_empty()),
            End::Many(many) => self.many(many, column, y),
        }
    }

    fn tip(&mut self, column: usize, y: f64, pin: PinId, vehicle: bool) {
        self.out.tips.push(Tip { column, y, pin, vehicle });
        self.deep(y + spacing::SHORT * 2.0);
    }

    fn bar(&mut self, bar: &Bar, column: usize, y: f64, named: bool) {
        self.out.pins.entry(bar.pin).or_insert(column);
        let mut dots = vec![column];
        let beside = functions::bar_title(self.model, bar).unwrap_or_else(|| self.out.last_title());
        let mut left = bar.downs.len().max(1) + bar.tops.len() - 1;
        for (i, stem) in bar.downs.iter().enumerate() {
            let narrow = bar.downs[..i].iter().all(|stem| stem.columns() == 1);
            let free = if narrow && i > 0 && !self.below.is_empty() { Some(self.below.remove(0)) } else { None };
            let own = if i == 0 { column } else { free.unwrap_or_else(|| self.new_column()) };
            dots.push(own);
            if i > 0 {
                self.out.begin_group(own, beside.clone());
            }
            left -= usize::from(i > 0);
            let depth = self.levels.overhead.len();
            self.levels.overhead.extend((left > 0).then_some(y));
            self.stem(stem, own, Level::At(y), y + spacing::BAR);
            self.levels.overhead.truncate(depth);
        }
        for top in &bar.tops {
            let own = self.new_column();
            dots.push(own);
            let title = functions::top_title(self.model, self.pieces, top);
            self.out.begin_group(own, title.unwrap_or_else(|| beside.clone()));
            self.top(top, own, y, bar.pin);
        }
        dots.dedup();
        let to = dots.iter().copied().max().unwrap_or(column);
        let on_box = bar.downs.iter().any(|s| s.steps.is_empty() && matches!(s.end, End::Many(_)));
        let across = Across { from: column, to, y, pin: bar.pin, bar: true, dots, inset: 0.0, named: named && !on_box };
        self.out.across.push(across);
        self.deep(y);
    }

    /// What comes from above to a pin at `y`.
    fn top(&mut self, top: &Top, column: usize, y: f64, pin: PinId) {
        match top {
            Top::Arrival => {}
            Top::Rise { rail, steps } => {
                self.out.taps.push((*rail, column));
                let foot = y;
                let y = foot - spacing::below(steps);
                let extra = y - steps.iter().map(|s| spacing::height(s.edge)).sum::<f64>();
                let last = steps.iter().rposition(|s| matches!(s.edge, Edge::Wire(_)));
                let long = self.levels.stretched(steps, y).or(last);
                self.steps(steps, column, Level::Rail(*rail), 0.0, (extra, long), false);
                if foot > y {
                    self.lead(column, Level::At(y), Level::At(foot));
                }
                for step in steps {
                    self.out.pins.entry(step.upper).or_insert(column);
                }
            }
            Top::Stub { from: target, wire, whole } => {
                let (target, wire, stub) = (*target, *wire, !whole);
                let y = match wire {
                    Some(wire) if *whole => {
                        let top = y - spacing::WIRE;
                        let far = if let Target::Pin(far) = target { far } else { pin };
                        let wire = Some((wire, far, pin));
                        self.out.falls.push(Fall { wire, column, from: Level::At(top), to: Level::At(y) });
                        top
                    }
                    _ => y,
                };
                let far = target.far_from(pin);
                self.out.flags.push(Flag { column, y, incoming: true, target, wire, far, pin, stub });
            }
        }
    }

    /// A box or a change-over contact with all its pins. Its columns are taken one by one: upper pins first, then the
    /// parts connected below, side by side.
    fn many(&mut self, many: &Many, column: usize, y: f64) {
        let (is_block, height) = (self.pieces.get(many.piece).is_block(), self.pieces.get(many.piece).height);
        let mut taken = vec![column];
        self.out.pieces.entry(many.piece).or_insert(column);
        let uppers = self.uppers(many, &mut taken, y, is_block);
        let lowers = self.lowers(many, &mut taken, y + height, is_block);
        self.deep(y + height);
        if is_block {
            let last = uppers.iter().chain(&lowers).map(|&(_, c)| c).max().unwrap_or(column);
            self.out.blocks.push(Block { piece: many.piece, columns: [column, last], y, height, uppers, lowers });
        } else {
            self.change_over(many.piece, column, y, &uppers, &lowers);
        }
    }

    /// What comes to the upper pins; returns the pins with their columns.
    fn uppers(&mut self, many: &Many, taken: &mut Vec<usize>, y: f64, is_block: bool) -> Vec<(PinId, usize)> {
        let (mut uppers, mut next) = (Vec::new(), 0);
        for (pin, tops) in &many.uppers {
            let several = tops.len() > 1;
            let side = !is_block && !uppers.is_empty();
            let level = if several { y - spacing::SHORT } else { y } + if side { spacing::SIDE } else { 0.0 };
            let own = self.column_at(taken, next);
            let mut dots = Vec::new();
            for (i, top) in tops.iter().enumerate() {
                let column = self.column_at(taken, next + i);
                self.top(top, column, level, *pin);
                dots.push(column);
            }
            if let (true, Some(&to)) = (several, dots.last()) {
                let across = Across { from: own, to, y: level, pin: *pin, bar: true, dots, inset: 0.0, named: false };
                self.out.across.push(across);
                self.lead(own, Level::At(level), Level::At(level + spacing::SHORT));
            }
            let elsewhere = matches!(tops.first(), Some(Top::Stub { from: Target::Pin(p), .. }) if p == pin);
            self.stands_at(many.piece, *pin, own, elsewhere);
            uppers.push((*pin, own));
            next += tops.len().max(1);
        }
        uppers
    }

    /// What is connected to the lower pins, from `y` down; returns the pins with their columns.
    fn lowers(&mut self, many: &Many, taken: &mut Vec<usize>, y: f64, is_block: bool) -> Vec<(PinId, usize)> {
        let (mut lowers, mut next) = (Vec::new(), 0);
        let title = self.out.last_title();
        for (pin, stem) in &many.lowers {
            let own = self.column_at(taken, next);
            self.out.resume_group(own, &title);
            next += 1;
            let elsewhere = matches!(stem.end, End::Flag(Target::Pin(p)) if p == *pin);
            self.stands_at(many.piece, *pin, own, elsewhere);
            lowers.push((*pin, own));
            let y = if is_block || lowers.len() == 1 { y } else { y - spacing::SIDE };
            let (columns, depth) = (self.out.columns, self.levels.overhead.len());
            // A box's lower edge, or the lead to the second throw of a contact, runs on to the right.
            let overhead = if is_block { y } else { y - spacing::SIDE };
            self.levels.overhead.extend((is_block || lowers.len() == 1).then_some(overhead));
            let spare = taken.iter().skip(next).filter(|_| is_block).copied().collect();
            let outer = std::mem::replace(&mut self.below, spare);
            self.stem(stem, own, Level::At(y), y);
            self.levels.overhead.truncate(depth);
            let unused = std::mem::replace(&mut self.below, outer).len();
            if is_block {
                next = next.max(taken.len() - unused);
            }
            if self.out.columns > columns {
                // What is connected here took columns beyond the box's own: the next pin stands to the right of them.
                next = taken.len();
            }
        }
        lowers
    }

    /// Notes where a pin stands at its piece, and that its wires come together there, unless they do `elsewhere`.
    fn stands_at(&mut self, piece: PieceId, pin: PinId, column: usize, elsewhere: bool) {
        self.out.at_piece.insert((piece, pin), column);
        if !elsewhere {
            self.out.pins.entry(pin).or_insert(column);
        }
    }

    /// The column of the box's `index`-th pin, a new one if there is none yet.
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
        self.out.stands.push(Stand { piece, column, y, upper, lower, side: true });
        for (pins, level) in [(uppers, y + spacing::SIDE), (lowers, y + PIECE - spacing::SIDE)] {
            for &(pin, to) in pins.iter().skip(1) {
                self.out.across.push(Across::lead([column, to], level, pin));
            }
        }
    }
}
