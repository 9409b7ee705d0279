//! Everything that is drawn, with its column and its height.

use super::forest::Target;
use super::pieces::PieceId;
use super::spacing;
use model::{PinId, WireId};
use std::collections::BTreeMap;

/// A height on the sheet, millimetres below the lowest rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Level {
    At(f64),
    /// On the rail of this supply, or the terminal of this vehicle's wire or loose pin.
    Rail(PinId),
    /// On the ground rail.
    Foot,
    /// Of a box that nothing feeds: nothing is drawn from here.
    Nowhere,
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
    /// The splice or terminal.
    pub pin: PinId,
    /// Whether wires are joined here; else it is a bare lead.
    pub bar: bool,
    /// Columns whose wires are joined to it.
    pub dots: Vec<usize>,
    /// How far right of its first column a lead begins.
    pub inset: f64,
    /// Whether its pin must be named; not where the symbol or box right beside it does that.
    pub named: bool,
}

impl Across {
    /// From a contact that is left on its side to the column of its second throw.
    pub fn lead([from, to]: [usize; 2], y: f64, pin: PinId) -> Self {
        Self { from, to, y, pin, bar: false, dots: Vec::new(), inset: 7.5, named: false }
    }
}

/// A symbol with two pins, or a change-over contact.
#[derive(Debug, Clone)]
pub(super) struct Stand {
    pub piece: PieceId,
    pub column: usize,
    pub y: f64,
    pub upper: PinId,
    pub lower: PinId,
    /// Whether a further throw is in use.
    pub side: bool,
}

/// A connector crossed.
#[derive(Debug, Clone)]
pub(super) struct Crossing {
    pub joint: usize,
    pub column: usize,
    pub y: f64,
    pub upper: PinId,
    pub lower: PinId,
}

/// A box over several columns.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub piece: PieceId,
    pub columns: [usize; 2],
    pub y: f64,
    pub height: f64,
    pub uppers: Vec<(PinId, usize)>,
    pub lowers: Vec<(PinId, usize)>,
}

/// A pointer to another path.
#[derive(Debug, Clone)]
pub(super) struct Flag {
    pub column: usize,
    pub y: f64,
    /// Whether it is above its pin and says where that comes from.
    pub incoming: bool,
    pub target: Target,
    pub wire: Option<WireId>,
    /// The other end of the wire or joint between the two flags; `None` for a lead to a node of the same pin.
    pub far: Option<PinId>,
    /// The pin that it stands at.
    pub pin: PinId,
    /// Whether it needs a stub of its own to stand on.
    pub stub: bool,
}

/// A line from the end of a path to a pin in another column: down, across, down.
#[derive(Debug, Clone)]
pub(super) struct Joined {
    /// The wire that it is part of; none for a bare lead.
    pub wire: Option<WireId>,
    /// The column where the path ends, and the one with the pin.
    pub columns: [usize; 2],
    /// Where the path ends, the height of the line across, and where the pin stands.
    pub levels: [f64; 3],
}

impl Joined {
    /// The leftmost and the rightmost column.
    pub fn span(&self) -> [usize; 2] {
        let [a, b] = self.columns;
        [a.min(b), a.max(b)]
    }
}

impl Flag {
    /// How far down a flag at the end of a path reaches.
    pub fn foot(&self) -> f64 {
        self.y + spacing::FLAG + if self.stub { spacing::SHORT } else { 0.0 }
    }
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

/// Paths that serve one function, from a column to where the next group begins.
#[derive(Debug, Clone)]
pub(super) struct Group {
    pub column: usize,
    /// What they are for, in the words of the spec.
    pub title: String,
}

/// Everything placed.
#[derive(Debug, Clone, Default)]
pub(super) struct Placed {
    /// Number of columns.
    pub columns: usize,
    pub falls: Vec<Fall>,
    pub across: Vec<Across>,
    pub stands: Vec<Stand>,
    pub crossings: Vec<Crossing>,
    pub blocks: Vec<Block>,
    pub flags: Vec<Flag>,
    pub joined: Vec<Joined>,
    pub tips: Vec<Tip>,
    /// The groups, from left to right.
    pub groups: Vec<Group>,
    /// Where paths leave a rail, a vehicle's terminal or a pin that nothing feeds: pin, column.
    pub taps: Vec<(PinId, usize)>,
    /// Where paths reach ground: pin, column.
    pub grounds: Vec<(PinId, usize)>,
    /// The depth of it all below the rails.
    pub depth: f64,
    /// The column where the wires of a pin come together.
    pub pins: BTreeMap<PinId, usize>,
    /// The column where a pin stands at its piece.
    pub at_piece: BTreeMap<(PieceId, PinId), usize>,
    /// The column of a piece; a box's first one.
    pub pieces: BTreeMap<PieceId, usize>,
}

impl Placed {
    /// Begins a group of paths, unless it is the same one still; a branch says more than the path that it belongs to.
    pub fn begin_group(&mut self, column: usize, title: String) {
        match self.groups.last_mut() {
            Some(last) if last.title == title => {}
            Some(last) if last.column == column => last.title = title,
            _ => self.groups.push(Group { column, title }),
        }
    }

    /// The heading of the last group.
    pub fn last_title(&self) -> String {
        self.groups.last().map(|group| group.title.clone()).unwrap_or_default()
    }

    /// Goes on with a group in a column to the right of another one.
    pub fn resume_group(&mut self, column: usize, title: &str) {
        if self.groups.last().is_some_and(|group| group.column < column) {
            self.begin_group(column, title.to_string());
        }
    }

    /// Where a target stands.
    fn column(&self, target: Target) -> Option<usize> {
        match target {
            Target::Pin(pin) => self.pins.get(&pin).copied(),
            Target::Piece(piece, pin) => self.at_piece.get(&(piece, pin)).or(self.pieces.get(&piece)).copied(),
        }
    }
    /// The flags at the other end of a flag's wire.
    pub fn counterparts<'p>(&'p self, flag: &'p Flag) -> impl Iterator<Item = &'p Flag> {
        let key = |f: &Flag| (f.pin, f.wire, f.far);
        // A wire drawn whole below its flag has flags above both of its ends.
        let turned = (flag.far, flag.wire, Some(flag.pin));
        let is_met = move |other: &&Flag| match other.incoming == flag.incoming {
            false => {
                // A path ends at a pin from which only a wire goes on, drawn whole at its other end.
                let (above, end) = if flag.incoming { (flag, *other) } else { (*other, flag) };
                let goes_on = above.far == Some(end.pin) && !self.pins.contains_key(&end.pin);
                key(other) == key(flag) || goes_on
            }
            true if flag.incoming => flag.wire.is_some() && (Some(other.pin), other.wire, other.far) == turned,
            // Two paths that end at a pin with nothing else on it point at each other, and so do the end of a wire and
            // the box that its pin belongs to.
            true => {
                let both_end = other.pin == flag.pin && other.target == flag.target && other.column != flag.column;
                let from_box = |f: &Flag| f.far.is_none() && f.wire.is_none();
                let at_box = other.pin == flag.pin && other.column != flag.column && from_box(flag) != from_box(other);
                (both_end && !self.pins.contains_key(&flag.pin)) || at_box
            }
        };
        self.flags.iter().filter(is_met)
    }
    /// The column that a flag points to: that of the flag at the other end, else where its target stands.
    pub fn points_to(&self, flag: &Flag) -> Option<usize> {
        let met = self.counterparts(flag).next().map(|other| other.column);
        met.or_else(|| self.column(flag.target))
    }
    /// Whether a sheet may end with a column: no box and no line down, across and down goes on to the next one.
    pub fn may_cut_after(&self, column: usize) -> bool {
        let goes_on = |[first, last]: [usize; 2]| first <= column && column < last;
        let boxes = self.blocks.iter().map(|block| block.columns);
        !boxes.chain(self.joined.iter().map(Joined::span)).any(goes_on)
    }
    /// Heights at which lines run over the label right of a column's wires.
    pub fn over(&self, column: usize) -> impl Iterator<Item = f64> + '_ {
        let across = self.across.iter().filter(move |a| a.from <= column && column < a.to).map(|a| a.y);
        let is_over = move |joined: &&Joined| (joined.span()[0]..joined.span()[1]).contains(&column);
        across.chain(self.joined.iter().filter(is_over).map(|joined| joined.levels[1]))
    }
    /// Takes a column away in which nothing stands.
    pub fn drop_column(&mut self, gone: usize) {
        let left = |column: &mut usize| *column -= usize::from(*column > gone);
        self.columns -= 1;
        self.falls.iter_mut().for_each(|fall| left(&mut fall.column));
        for across in &mut self.across {
            left(&mut across.from);
            left(&mut across.to);
            across.dots.iter_mut().for_each(left);
        }
        self.stands.iter_mut().for_each(|stand| left(&mut stand.column));
        self.crossings.iter_mut().for_each(|crossing| left(&mut crossing.column));
        for block in &mut self.blocks {
            block.columns.iter_mut().for_each(left);
            block.uppers.iter_mut().chain(&mut block.lowers).for_each(|(_, column)| left(column));
        }
        self.flags.iter_mut().for_each(|flag| left(&mut flag.column));
        self.joined.iter_mut().for_each(|joined| joined.columns.iter_mut().for_each(left));
        self.tips.iter_mut().for_each(|tip| left(&mut tip.column));
        self.taps.iter_mut().chain(&mut self.grounds).for_each(|(_, column)| left(column));
        self.pins.values_mut().for_each(left);
        self.at_piece.values_mut().for_each(left);
        self.pieces.values_mut().for_each(left);
        // A group of this column alone goes with it; where the next one has the same heading, they are one.
        let groups = std::mem::take(&mut self.groups);
        for mut group in groups {
            left(&mut group.column);
            match self.groups.last_mut() {
                Some(last) if last.column == group.column => *last = group,
                _ => self.groups.push(group),
            }
        }
        self.groups.dedup_by(|later, earlier| later.title == earlier.title);
    }
    /// How far below the rails some columns begin; 0 where a path comes from a rail or a wire of the vehicle.
    pub fn top_of(&self, first: usize, last: usize) -> f64 {
        let here = |column: usize| (first..=last).contains(&column);
        if self.taps.iter().any(|&(_, column)| here(column)) {
            return 0.0;
        }
        let start = |level: Level| if let Level::At(y) = level { y } else { 0.0 };
        let falls = self.falls.iter().filter(|f| here(f.column)).map(|f| start(f.from));
        let met = |a: &&Across| here(a.from) || here(a.to) || a.dots.iter().any(|&column| here(column));
        let across = self.across.iter().filter(met).map(|a| a.y - spacing::SHORT);
        let stands = self.stands.iter().filter(|s| here(s.column)).map(|s| s.y);
        let crossings = self.crossings.iter().filter(|c| here(c.column)).map(|c| c.y);
        let blocks = self.blocks.iter().filter(|b| here(b.columns[0])).map(|b| b.y);
        let flags = self.flags.iter().filter(|f| here(f.column));
        let flags = flags.map(|f| if f.incoming { f.y - spacing::STUB } else { f.y });
        let all = falls.chain(across).chain(stands).chain(crossings).chain(blocks).chain(flags);
        all.fold(f64::INFINITY, f64::min).clamp(0.0, self.depth)
    }
    /// How far some columns reach below the rails.
    pub fn depth_of(&self, first: usize, last: usize) -> f64 {
        let here = |column: usize| (first..=last).contains(&column);
        let deep = |level: Level, room: f64| if let Level::At(y) = level { y + room } else { 0.0 };
        // A wire to ground keeps room for its label.
        let fall = |f: &Fall| match f.to {
            Level::Foot => deep(f.from, spacing::WIRE),
            to => deep(to, 0.0),
        };
        let falls = self.falls.iter().filter(|f| here(f.column)).map(fall);
        let across = self.across.iter().filter(|a| a.to >= first && a.from <= last).map(|a| a.y);
        // A line across keeps off the names of grounds at the foot.
        let joined = self.joined.iter().filter(|j| here(j.columns[0])).map(|j| j.levels[1] + spacing::SHORT);
        let across = across.chain(joined);
        let stands = self.stands.iter().filter(|s| here(s.column)).map(|s| s.y + spacing::PIECE);
        let crossings = self.crossings.iter().filter(|c| here(c.column)).map(|c| c.y + spacing::CROSSING);
        let blocks = self.blocks.iter().filter(|b| here(b.columns[0])).map(|b| b.y + b.height);
        let flags = self.flags.iter().filter(|f| here(f.column));
        let flags = flags.map(|f| if f.incoming { f.y } else { f.foot() });
        let tips = self.tips.iter().filter(|t| here(t.column)).map(|t| t.y + spacing::SHORT * 2.0);
        let all = falls.chain(across).chain(stands).chain(crossings).chain(blocks).chain(flags).chain(tips);
        all.fold(spacing::WIRE, f64::max)
    }
    /// The column that a piece stands in; a box's first one.
    pub fn column_of(&self, piece: PieceId) -> Option<usize> {
        self.pieces.get(&piece).copied()
    }
}
