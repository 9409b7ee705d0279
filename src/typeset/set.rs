//! Sets blocks as strips.

use crate::blocks::{Atom, Block, ContentsLine, Frame, Heading, TextSide};
use crate::columns::{Extents, extents, key, widths};
use crate::flow::{HeadingMark, PageFlow, PageStrip, half, text_height, text_width};
use crate::letters::{ALERT_TINT, BODY, CELL, DEEP, Letters, RULE};
use crate::lines::{extent, lines};
use crate::paint::{frame, ground, line, rule, text, upright};
use crate::rows::{self, Grid};
use kit::colour::{ALERT, INK, Rgb, SOFT_INK};
use kit::font;
use kit::pdf::Pages;
use kit::scene::{Point, Rect, Size};

/// Indent of a text behind its mark, millimetres.
const INDENT: f64 = 5.0;
/// Above a text.
const GAP: f64 = 1.2;
/// Lines of a text that stay together.
const TOGETHER: usize = 6;
/// Height of a heading row that may stand above a row of a table.
const HEAD: f64 = 14.0;

/// Sets blocks.
pub struct Setter {
    paper: Size,
    extents: Extents,
    groups: usize,
}

impl Setter {
    /// For text on upright pages of this size.
    pub fn of(paper: Size) -> Self {
        Self { paper, extents: Extents::new(), groups: 0 }
    }

    /// All pages.
    pub fn page(mut self, blocks: &[Block], mut flow: PageFlow) -> Pages {
        extents(blocks, &mut self.extents);
        let mut width = text_width(self.paper);
        let mut run: Vec<PageStrip> = Vec::new();
        for block in blocks {
            if matches!(block, Block::NewPage { .. } | Block::Plate(_) | Block::TwoColumns(_)) {
                flow.put(&std::mem::take(&mut run));
            }
            match block {
                Block::NewPage { lying } => {
                    flow.new_page(*lying);
                    let page = if *lying { Size::new(self.paper.height, self.paper.width) } else { self.paper };
                    width = text_width(page);
                }
                Block::Plate(id) => flow.plate(id.clone()),
                Block::TwoColumns(blocks) => {
                    let strips = self.all(blocks, half(width));
                    flow.columns(2);
                    flow.put(&strips);
                    flow.columns(1);
                }
                block => run.extend(self.block(block, width)),
            }
        }
        flow.put(&run);
        flow.finish()
    }

    fn all(&mut self, blocks: &[Block], room: f64) -> Vec<PageStrip> {
        blocks.iter().flat_map(|block| self.block(block, room)).collect()
    }

    fn block(&mut self, block: &Block, room: f64) -> Vec<PageStrip> {
        match block {
            Block::Heading(heading) => vec![self.heading(heading, room)],
            Block::Text(atoms, side) => paragraph(atoms, room, *side),
            Block::Items(items) => self.items(items, room, INK),
            Block::Framed(kind, blocks) => self.framed(*kind, blocks, room),
            Block::Table(table) => {
                let own = self.extents.get(&key(table)).cloned().unwrap_or_default();
                let widths = widths(&own, room);
                let grid = Grid { widths: &widths, limit: text_height(self.paper).min(text_width(self.paper)) - HEAD };
                rows::table(table, &grid, &mut |cell, room| tight(self.all(&cell.blocks, room)))
            }
            Block::Chips(chips, framed) => self::chips(chips, *framed, room),
            Block::Grid(cells, width) => grid(cells, *width, room),
            Block::Pairs(pairs) => self::pairs(pairs, room),
            Block::Labels(labels) => crate::labels::labels(labels, room),
            Block::Stripes(stripes) => vec![self::stripes(stripes, room)],
            Block::Card(fields) => vec![card(fields, room)],
            Block::Contents(groups) => contents(groups, room),
            Block::Together(blocks) => {
                self.groups += 1;
                let group = self.groups;
                let strips = self.all(blocks, room).into_iter();
                strips.map(|strip| PageStrip { group: strip.group.or(Some(group)), ..strip }).collect()
            }
            Block::TwoColumns(blocks) => self.all(blocks, room),
            Block::NewPage { .. } | Block::Plate(_) => Vec::new(),
        }
    }

    fn heading(&mut self, heading: &Heading, room: f64) -> PageStrip {
        let set = lines(&heading.text, room, TextSide::Left);
        let mut strip = stacked(set);
        (strip.keep, strip.above) = (true, [0.0, 0.0, 9.0, 5.0, 3.5][heading.level.min(4)]);
        strip.height += 0.8;
        if heading.level == 2 {
            strip.items.push(rule(0.0, room, strip.height + 0.6, DEEP, 0.7));
            strip.height += 1.6;
        }
        strip.mark = Some(HeadingMark { level: heading.level, title: heading.plain.clone(), id: heading.id.clone() });
        strip
    }

    fn items(&mut self, items: &[(String, Vec<Block>)], room: f64, colour: Rgb) -> Vec<PageStrip> {
        let mut out = Vec::new();
        for (mark, blocks) in items {
            let indent = if mark.is_empty() { 0.0 } else { INDENT };
            let mut strips = self.all(blocks, room - indent);
            let size = blocks.iter().find_map(first_size).unwrap_or(BODY.size);
            let letters = Letters { size, bold: mark != "•", colour };
            for (i, strip) in strips.iter_mut().enumerate() {
                let moved = std::mem::take(strip).moved(indent, 0.0);
                *strip = moved;
                if i == 0 && !mark.is_empty() {
                    strip.items.push(text(mark.clone(), Point::new(0.8, 0.0), letters));
                }
            }
            out.extend(strips);
        }
        out
    }

    fn framed(&mut self, kind: Frame, blocks: &[Block], room: f64) -> Vec<PageStrip> {
        let (bar, pad) = match kind {
            Frame::Alert => (2.0, 5.0),
            Frame::Cautions => (0.8, 3.0),
            Frame::Bar => (0.7, 2.5),
        };
        let strips: Vec<PageStrip> = match (kind, blocks) {
            (Frame::Cautions, [Block::Items(items)]) => {
                let marked: Vec<_> = items.iter().map(|(_, inside)| ("!".to_string(), inside.clone())).collect();
                self.items(&marked, room - pad - 2.0, ALERT)
            }
            _ => self.all(blocks, room - pad - 2.0),
        };
        let many = strips.len();
        let edge = if kind == Frame::Bar { 0.0 } else { 1.4 };
        let framed = |(i, strip): (usize, PageStrip)| {
            let [first, last] = [i == 0, i + 1 == many];
            let above = if first { edge } else { strip.above };
            let mut moved = strip.moved(pad, above);
            moved.height += if last { edge } else { 0.0 };
            moved.above = if first { 2.0 } else { 0.0 };
            let area = Rect::sized(Point::default(), Size::new(room, moved.height));
            let colour = if kind == Frame::Bar { DEEP } else { ALERT };
            let mut items = Vec::new();
            if kind != Frame::Bar {
                items.push(ground(&area, ALERT_TINT));
            }
            items.push(upright(bar / 2.0, 0.0, moved.height, colour, bar));
            items.append(&mut moved.items);
            moved.items = items;
            moved
        };
        strips.into_iter().enumerate().map(framed).collect()
    }
}

/// The size of the first letters of a block.
fn first_size(block: &Block) -> Option<f64> {
    match block {
        Block::Text(atoms, _) => atoms.first().map(|atom| atom.letters.size),
        Block::Together(blocks) => blocks.iter().find_map(first_size),
        _ => None,
    }
}

/// Strips without gaps between lines of text: what a cell holds.
fn tight(strips: Vec<PageStrip>) -> Vec<PageStrip> {
    strips
        .into_iter()
        .map(|strip| PageStrip { above: if strip.above > GAP { strip.above } else { 0.0 }, ..strip })
        .collect()
}

/// Lines on top of each other.
fn stacked(lines: Vec<crate::lines::Line>) -> PageStrip {
    let mut strip = PageStrip::default();
    for line in lines {
        let y = strip.height;
        strip.items.extend(line.items.into_iter().map(|item| item.moved(0.0, y)));
        strip.links.extend(line.links.into_iter().map(|(area, to)| (area.by(0.0, y), to)));
        strip.height += line.height;
    }
    strip
}

fn paragraph(atoms: &[Atom], room: f64, side: TextSide) -> Vec<PageStrip> {
    let mut set = lines(atoms, room, side);
    let mut out = Vec::new();
    if set.len() <= TOGETHER {
        out.push(stacked(set));
    } else {
        out.extend(set.drain(..).map(|line| stacked(vec![line])));
    }
    if let Some(first) = out.first_mut() {
        first.above = GAP;
    }
    out
}

fn chips(chips: &[Vec<Atom>], framed: bool, room: f64) -> Vec<PageStrip> {
    let (pad, gap) = if framed { (2.0, 2.0) } else { (0.0, 5.0) };
    let mut out: Vec<PageStrip> = Vec::new();
    let mut x = f64::INFINITY;
    for chip in chips {
        let wide = extent(chip)[1].min(room - 2.0 * pad) + 0.01;
        let set = stacked(lines(chip, wide, TextSide::Left));
        let whole = Size::new(wide + 2.0 * pad, set.height + if framed { 1.2 } else { 0.0 });
        if x + whole.width > room {
            out.push(PageStrip { above: if out.is_empty() { 1.6 } else { 1.0 }, ..PageStrip::default() });
            x = 0.0;
        }
        if let Some(strip) = out.last_mut() {
            if framed {
                strip.items.push(frame(&Rect::sized(Point::new(x, 0.0), whole), DEEP, 0.3));
            }
            let dy = (whole.height - set.height) / 2.0;
            strip.items.extend(set.items.into_iter().map(|item| item.moved(x + pad, dy)));
            strip.height = strip.height.max(whole.height);
        }
        x += whole.width + gap;
    }
    out
}

fn grid(cells: &[Vec<Atom>], width: f64, room: f64) -> Vec<PageStrip> {
    let columns = ((room / width) as usize).max(1);
    let row = |cells: &[Vec<Atom>]| {
        let mut strip = PageStrip::default();
        for (i, cell) in cells.iter().enumerate() {
            let set = stacked(lines(cell, room / columns as f64 - 2.0, TextSide::Left))
                .moved(room / columns as f64 * i as f64, 0.0);
            strip.height = strip.height.max(set.height);
            strip.items.extend(set.items);
        }
        strip
    };
    cells.chunks(columns).map(row).collect()
}

fn pairs(pairs: &[(Vec<Atom>, Vec<Atom>)], room: f64) -> Vec<PageStrip> {
    let most = pairs.iter().map(|(term, _)| extent(term)[1]).fold(0.0, f64::max);
    let term = most.min(room * 0.4);
    let from = INDENT * 0.5;
    let one = |(name, said): &(Vec<Atom>, Vec<Atom>)| {
        let left = stacked(lines(name, term + 0.01, TextSide::Left)).moved(from, 0.0);
        let right = stacked(lines(said, room - term - from - 3.0, TextSide::Left)).moved(from + term + 3.0, 0.0);
        let height = left.height.max(right.height) + 0.4;
        let mut items = vec![upright(0.4, 0.0, height, DEEP, 0.7)];
        items.extend(left.items);
        items.extend(right.items);
        PageStrip { items, height, ..PageStrip::default() }
    };
    pairs.iter().map(one).collect()
}

fn stripes(stripes: &[(Rgb, f64)], room: f64) -> PageStrip {
    let height = 3.2;
    let mut strip = PageStrip { height: height + 6.0, ..PageStrip::default() };
    let mut x = 0.0;
    for (colour, share) in stripes {
        strip.items.push(ground(&Rect::sized(Point::new(x, 0.0), Size::new(room * share, height)), *colour));
        x += room * share;
    }
    strip.items.push(frame(&Rect::sized(Point::default(), Size::new(room, height)), INK, 0.2));
    strip
}

fn card(fields: &[(String, String, bool)], room: f64) -> PageStrip {
    let height = 13.0;
    let mut strip = PageStrip { height, above: 3.0, ..PageStrip::default() };
    // A field to fill in is twice as wide.
    let parts = |by_hand: bool| if by_hand { 2.0 } else { 1.0 };
    let unit = room / fields.iter().map(|(.., by_hand)| parts(*by_hand)).sum::<f64>();
    let mut x = 0.0;
    for (term, figure, by_hand) in fields {
        if x > 0.0 {
            strip.items.push(upright(x, 0.0, height, RULE, 0.25));
        }
        let wide = unit * parts(*by_hand) - 4.0;
        strip.items.push(text(term.clone(), Point::new(x + 2.0, 1.2), CELL.coloured(SOFT_INK)));
        let figure = font::fitted(figure, wide, 4.0, true);
        strip.items.push(text(figure, Point::new(x + 2.0, 5.4), BODY.sized(4.0).bold()));
        x += unit * parts(*by_hand);
    }
    strip.items.push(frame(&Rect::sized(Point::default(), Size::new(room, height)), DEEP, 0.4));
    strip
}

fn contents(groups: &[(String, Vec<ContentsLine>)], room: f64) -> Vec<PageStrip> {
    let wide = room / groups.len().max(1) as f64;
    let step = line(BODY) + 0.7;
    let most = groups.iter().map(|(_, lines)| lines.len()).max().unwrap_or(0);
    let mut strip = PageStrip { height: 7.0 + most as f64 * step + 2.0, above: 5.0, ..PageStrip::default() };
    strip.items.push(rule(0.0, room, 0.0, DEEP, 0.7));
    for (i, (title, lines)) in groups.iter().enumerate() {
        let x = wide * i as f64;
        strip.items.push(text(title.clone(), Point::new(x, 1.6), BODY.sized(3.4).bold().coloured(DEEP)));
        for (n, contents) in lines.iter().enumerate() {
            let y = 7.0 + n as f64 * step;
            strip.items.push(text(contents.number.clone(), Point::new(x, y), BODY.coloured(SOFT_INK)));
            strip.items.push(text(contents.text.clone(), Point::new(x + 7.0, y), BODY.coloured(DEEP)));
            let area = Rect::sized(Point::new(x, y), Size::new(wide - 6.0, step));
            strip.links.push((area, contents.leads_to.clone()));
            strip.numbers.push((Point::new(x + wide - 6.0, y), contents.leads_to.clone()));
        }
    }
    vec![strip]
}
