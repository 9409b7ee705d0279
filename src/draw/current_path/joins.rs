//! Plain lines instead of references: where the end of a path is near the place where it goes on, a line joins the two,
//! if it crosses little. A bar reaches out to the path's column; a pin of a box gets a line down, across and down.
//!
//! A bar or a box that stands too high for such a line is lowered, as far as the sheet allows.

use super::levels::{Least, Node};
use super::placed::{Across, Fall, Flag, Joined, Level, Placed, Stand};
use super::spacing::{CROSSING, LABEL, NAME, PIECE, SHORT, STUB, WIRE};
use model::{PinId, WireId};

/// The most columns between the two ends.
const FARTHEST: usize = 14;
/// The most lines that a plain line crosses.
const MOST_CROSSED: usize = 2;
/// More references than this on a drawing stay references: the search would take longer than the drawing.
const MOST: usize = 120;
/// The least distance of lines that run beside each other.
const APART: f64 = 2.5;
/// How much further a box is lowered, at most, than the line needs, and in which steps.
const STEPS: usize = 8;
/// The most that a bar or a box is lowered.
const LOWEST: f64 = 150.0;

/// The end of a path and the place where it goes on, as both flags name them.
type Key = (PinId, Option<WireId>, Option<PinId>);

/// References that lines replace: `place` places the paths with some bars and boxes lowered; `fits` says whether
/// what may not be cut apart has room on a sheet.
pub(super) fn joined(place: impl Fn(&Least) -> Placed, depth: f64, fits: impl Fn(&Placed) -> bool) -> Placed {
    let mut least = Least::new();
    let mut now = place(&least);
    if now.flags.len() > MOST {
        return now;
    }
    let deepest = now.depth.max(depth);
    let (mut done, mut pairs): (Vec<Key>, Vec<(usize, Key)>) = (Vec::new(), pairs(&now));
    pairs.sort_by_key(|(far, _)| *far);
    for (_, pair) in pairs {
        if let Some(better) = join(&now, pair).filter(|better| fits(better)) {
            now = better;
            done.push(pair);
            continue;
        }
        for (node, y) in lower(&now, pair) {
            let mut tried = least.clone();
            tried.insert(node, y);
            let placed = place(&tried);
            if placed.depth > deepest + 1e-6 {
                break;
            }
            let all = done.iter().chain([&pair]).try_fold(placed, |placed, &pair| join(&placed, pair));
            if let Some(better) = all.filter(|better| fits(better)) {
                (now, least) = (better, tried);
                done.push(pair);
                break;
            }
        }
    }
    now
}

/// The flags that lead to each other alone, with the number of columns between them.
fn pairs(placed: &Placed) -> Vec<(usize, Key)> {
    let outgoing = placed.flags.iter().filter(|flag| !flag.incoming);
    let near = outgoing.filter_map(|out| {
        let end = only(placed, out)?;
        let far = out.column.abs_diff(end.column);
        (far <= FARTHEST && only(placed, end)?.column == out.column).then_some((far, (out.pin, out.wire, out.far)))
    });
    near.collect()
}

/// The only flag at the other end.
fn only<'p>(placed: &'p Placed, flag: &'p Flag) -> Option<&'p Flag> {
    let mut others = placed.counterparts(flag);
    others.next().filter(|_| others.next().is_none())
}

/// The two flags of a pair: where the path ends, and where it goes on.
fn flags(placed: &Placed, (pin, wire, far): Key) -> Option<[&Flag; 2]> {
    let out = placed.flags.iter().find(|f| !f.incoming && (f.pin, f.wire, f.far) == (pin, wire, far))?;
    Some([out, only(placed, out)?])
}

/// The bar that a flag's wire comes to, if the flag stands right above it.
fn bar_of(placed: &Placed, flag: &Flag) -> Option<usize> {
    let meets = |a: &Across| a.bar && a.pin == flag.pin && a.dots.contains(&flag.column) && a.y == flag.y;
    placed.across.iter().position(|a| meets(a) && a.to > a.from)
}

/// Heights of the bar or box of a pair at which a line may reach it, from the highest down.
fn lower(placed: &Placed, pair: Key) -> Vec<(Node, f64)> {
    let Some([out, end]) = flags(placed, pair) else { return Vec::new() };
    let (node, y) = match bar_of(placed, end) {
        Some(bar) => (Node::Bar(placed.across[bar].pin), placed.across[bar].y),
        None => {
            let block = placed.blocks.iter().find(|b| b.uppers.iter().any(|&(_, column)| column == end.column));
            let Some(block) = block else { return Vec::new() };
            (Node::Piece(block.piece), block.y)
        }
    };
    let missing = (out.y + start(out) - end.y).max(0.0);
    let lowered = (0..STEPS).map(|step| missing + SHORT * step as f64).filter(|by| (1.0..=LOWEST).contains(by));
    lowered.map(|by| (node, y + by)).collect()
}

/// How far below its end a path may turn: clear of the name of a symbol's pin.
fn start(out: &Flag) -> f64 {
    if out.stub { SHORT } else { 0.0 }
}

/// The drawing with a line instead of a pair of flags; `None` where none fits.
fn join(placed: &Placed, pair: Key) -> Option<Placed> {
    let [out, end] = flags(placed, pair)?;
    let (from, to) = (out.column, end.column);
    let is_end = |flag: &Flag| std::ptr::eq(flag, out) || std::ptr::eq(flag, end);
    let plan = Plan::of(placed, &is_end);
    if let Some(bar) = bar_of(placed, end).filter(|_| end.stub) {
        let across = &placed.across[bar];
        let y = across.y;
        if y < out.y + start(out) - 1e-6 {
            return None;
        }
        // The flag may stand above what the bar leads down to: then its column stays joined to the bar.
        let stays = hangs(placed, to, y);
        let mut dots: Vec<usize> =
            across.dots.iter().copied().filter(|&dot| dot != to || stays).chain([from]).collect();
        dots.sort_unstable();
        dots.dedup();
        let (first, last) = (*dots.first()?, *dots.last()?);
        let edge = from.clamp(across.from, across.to);
        // The number of a symbol's pin stands left of the bar's first dot.
        let near = |level: f64| (level - y).abs() < APART;
        let is_numbered = |stand: &Stand| stand.column == edge && (near(stand.y) || near(stand.y + PIECE));
        if from < edge && placed.stands.iter().any(is_numbered) {
            return None;
        }
        let crossed =
            plan.across(y, [from, edge], Some((bar, edge)))? + plan.down(from, [out.y + start(out), y], bar)?;
        if crossed > MOST_CROSSED {
            return None;
        }
        let (y_out, wire) = (out.y, out.wire);
        let mut better = placed.clone();
        better.flags = placed.flags.iter().filter(|flag| !is_end(flag)).cloned().collect();
        (better.across[bar].from, better.across[bar].to, better.across[bar].dots) = (first, last, dots);
        stretch(&mut better, from, wire, [y_out, y]);
        if is_empty(&better, to) {
            better.drop_column(to);
        }
        return Some(better);
    }
    // Two paths that end at one pin meet below both of their ends.
    let (first, last) = if end.incoming {
        (out.y + start(out), end.y - if end.stub { APART } else { 0.0 })
    } else {
        let lower = f64::max(out.y + start(out), end.y + start(end));
        (lower, lower + APART * STEPS as f64)
    };
    let count = ((last - first) / APART + 1e-6).floor();
    let heights = (0..=count.max(-1.0) as i64).map(|i| first + APART * i as f64);
    let mut best: Option<(usize, f64)> = None;
    for y in heights {
        let crossed = || {
            let at_end = if end.incoming { [y, end.y] } else { [end.y + start(end), y] };
            let there = plan.down(from, [out.y + start(out), y], usize::MAX)? + plan.down(to, at_end, usize::MAX)?;
            Some(plan.across(y, [from, to], None)? + there)
        };
        match crossed() {
            Some(crossed) if crossed <= MOST_CROSSED && best.is_none_or(|(known, _)| crossed < known) => {
                best = Some((crossed, y));
            }
            _ => {}
        }
    }
    let (_, y) = best?;
    let mut better = placed.clone();
    better.flags = placed.flags.iter().filter(|flag| !is_end(flag)).cloned().collect();
    let levels = [out.y, y, end.y];
    better.joined.push(Joined { wire: out.wire, columns: [from, to], levels });
    Some(better)
}

/// Leads the end of a path further down.
fn stretch(placed: &mut Placed, column: usize, wire: Option<WireId>, [from, to]: [f64; 2]) {
    let ends = |fall: &&mut Fall| fall.column == column && fall.wire.map(|(id, ..)| id) == wire && wire.is_some();
    match placed.falls.iter_mut().find(ends) {
        Some(fall) => fall.to = Level::At(to),
        None => placed.falls.push(Fall { wire: None, column, from: Level::At(from), to: Level::At(to) }),
    }
}

/// Whether something is connected to a bar from below in a column.
fn hangs(placed: &Placed, column: usize, y: f64) -> bool {
    let at = |other: usize, top: f64| other == column && (top - y).abs() < 1e-6;
    placed.falls.iter().any(|fall| at(fall.column, ends(fall)[0]))
        || placed.stands.iter().any(|stand| at(stand.column, stand.y))
        || placed.crossings.iter().any(|crossing| at(crossing.column, crossing.y))
        || placed.blocks.iter().any(|block| block.uppers.iter().any(|&(_, pin)| at(pin, block.y)))
        || placed.joined.iter().any(|joined| at(joined.columns[0], joined.levels[0]))
        || placed.flags.iter().any(|flag| !flag.incoming && at(flag.column, flag.y))
}

/// Whether nothing stands in a column: lines may only pass over it.
fn is_empty(placed: &Placed, column: usize) -> bool {
    let at = |other: usize| other == column;
    let in_box = placed.blocks.iter().any(|b| {
        b.columns.contains(&column) || b.uppers.iter().chain(&b.lowers).any(|&(_, pin_column)| at(pin_column))
    });
    let on_line = placed.across.iter().any(|a| at(a.from) || at(a.to) || a.dots.contains(&column));
    !(in_box
        || on_line
        || placed.falls.iter().any(|f| at(f.column))
        || placed.stands.iter().any(|s| at(s.column))
        || placed.crossings.iter().any(|c| at(c.column))
        || placed.flags.iter().any(|f| at(f.column))
        || placed.joined.iter().any(|j| j.columns.contains(&column))
        || placed.tips.iter().any(|t| at(t.column))
        || placed.taps.iter().chain(&placed.grounds).any(|&(_, c)| at(c)))
}

/// What stands where on the drawing, without two flags.
struct Plan<'p> {
    placed: &'p Placed,
    /// Columns, first and last, and heights over which no line may run.
    solid: Vec<([usize; 2], [f64; 2])>,
}

impl<'p> Plan<'p> {
    fn of(placed: &'p Placed, is_gone: &impl Fn(&Flag) -> bool) -> Self {
        let one = |column: usize, heights: [f64; 2]| ([column, column], heights);
        let mut solid = Vec::new();
        solid.extend(placed.stands.iter().map(|s| one(s.column, [s.y - 1.5, s.y + PIECE + 1.5])));
        solid.extend(placed.crossings.iter().map(|c| one(c.column, [c.y, c.y + CROSSING])));
        solid.extend(placed.blocks.iter().map(|b| (b.columns, [b.y, b.y + b.height + 1.0])));
        for flag in placed.flags.iter().filter(|flag| !is_gone(flag)) {
            let heights = if flag.incoming { [flag.y - STUB, flag.y] } else { [flag.y, flag.foot()] };
            solid.push(one(flag.column, heights));
        }
        solid.extend(placed.tips.iter().map(|t| one(t.column, [t.y, t.y + SHORT * 2.0])));
        // The name of a bar stands above its first dot.
        let named = placed.across.iter().filter(|a| a.bar && a.named);
        solid.extend(named.map(|a| one(a.from, [a.y - 4.6, a.y - 1.1])));
        Self { placed, solid }
    }

    /// How many wires a line at a height crosses between two columns; `None` where it would run over something, or
    /// along another line, or leave a wire no room for its label. `bar` is the bar that it lengthens, and where that ends.
    fn across(&self, y: f64, columns: [usize; 2], bar: Option<(usize, usize)>) -> Option<usize> {
        let (first, last) = (columns[0].min(columns[1]), columns[0].max(columns[1]));
        if first == last {
            return Some(0);
        }
        let over = |columns: [usize; 2]| columns[0] <= last && first <= columns[1];
        let is_edge = |columns: [usize; 2]| bar.is_some_and(|(_, edge)| columns == [edge; 2]);
        let hits = |&(columns, heights): &([usize; 2], [f64; 2])| {
            over(columns) && !is_edge(columns) && heights[0] - 1.0 < y && y < heights[1] + 1.0
        };
        let along = |(i, a): (usize, &Across)| {
            bar.is_none_or(|(own, _)| own != i) && over([a.from, a.to]) && (a.y - y).abs() < APART
        };
        let beside = |j: &Joined| over(j.span()) && (j.levels[1] - y).abs() < APART;
        if self.solid.iter().any(hits)
            || self.placed.across.iter().enumerate().any(along)
            || self.placed.joined.iter().any(beside)
        {
            return None;
        }
        let mut crossed = 0;
        for fall in self.placed.falls.iter().filter(|fall| (first..=last).contains(&fall.column)) {
            let [top, bottom] = ends(fall);
            let between = (first + 1..last).contains(&fall.column);
            if between && top - 1.5 < y && y < bottom + 1.5 {
                if y < top + 1.5 || bottom - 1.5 < y {
                    return None;
                }
                crossed += 1;
            }
            if fall.wire.is_some() && fall.column < last && top < y && y < bottom && !self.label_fits(fall, y) {
                return None;
            }
        }
        for joined in &self.placed.joined {
            let [out, across, end] = joined.levels;
            let falls = [(joined.columns[0], [out, across]), (joined.columns[1], [across, end])];
            for (column, [top, bottom]) in falls {
                if (first..=last).contains(&column) && top - 1.5 < y && y < bottom + 1.5 {
                    crossed += 1;
                }
            }
        }
        Some(crossed)
    }

    /// Whether the label of a wire has room beside it with another line across at a height.
    fn label_fits(&self, fall: &Fall, y: f64) -> bool {
        let [top, bottom] = ends(fall);
        // The foot may be right below the label or the line.
        let bottom = if fall.to == Level::Foot { f64::max(top + WIRE, y) + SHORT } else { bottom };
        let reserve = if fall.to == Level::Foot { 7.0 } else { NAME };
        let mut levels: Vec<f64> =
            self.placed.over(fall.column).chain([y]).filter(|&y| top < y && y < bottom).collect();
        levels.push(bottom - reserve);
        levels.sort_by(f64::total_cmp);
        let starts = std::iter::once(top).chain(levels.iter().copied());
        starts.zip(&levels).any(|(start, end)| end - start >= LABEL - 1e-6)
    }

    /// How many lines a line down a column crosses; `None` where it would run over something.
    fn down(&self, column: usize, [from, to]: [f64; 2], own: usize) -> Option<usize> {
        let within = |heights: [f64; 2]| heights[0] < to - 0.1 && from + 0.1 < heights[1];
        let at = |columns: [usize; 2]| (columns[0]..=columns[1]).contains(&column);
        let on_path = self.placed.falls.iter().any(|fall| fall.column == column && within(ends(fall)));
        let on_joined = self.placed.joined.iter().any(|j| {
            let [out, across, end] = j.levels;
            (j.columns[0] == column && within([out, across])) || (j.columns[1] == column && within([across, end]))
        });
        if self.solid.iter().any(|&(columns, heights)| at(columns) && within(heights)) || on_path || on_joined {
            return None;
        }
        let mut crossed = 0;
        let others = self.placed.across.iter().enumerate().filter(|&(i, a)| i != own && at([a.from, a.to]));
        let joined = self.placed.joined.iter().filter(|j| at(j.span()));
        for y in others.map(|(_, a)| a.y).chain(joined.map(|j| j.levels[1])) {
            if from - 1.5 < y && y < to + 1.5 {
                if y < from + 1.5 || to - 1.5 < y {
                    return None;
                }
                crossed += 1;
            }
        }
        Some(crossed)
    }
}

/// The heights between which a wire or lead falls; one to ground keeps room for its label.
fn ends(fall: &Fall) -> [f64; 2] {
    let top = if let Level::At(y) = fall.from { y } else { 0.0 };
    let bottom = match fall.to {
        Level::At(y) => y,
        Level::Foot => f64::INFINITY,
        Level::Rail(_) | Level::Nowhere => top,
    };
    [top, bottom]
}
