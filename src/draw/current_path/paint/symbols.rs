//! What stands on the paths: symbols, connectors crossed, boxes, flags.

use super::super::box_sizes::{self, TITLE_EDGES};
use super::super::column_widths::{self, BESIDE};
use super::super::labels::{self, bold, plain};
use super::super::piece_symbol;
use super::super::pieces::Shape;
use super::super::placed::{Block, Crossing, Flag, Stand};
use super::super::spacing::CROSSING;
use super::page::{CLOSE, LEADING, Page};
use super::runs;
use crate::halves::has_pins;
use kit::colour::{PAPER, SOFT_INK, TINT};
use kit::font;
use kit::lines::{self, LABEL, NAME, SMALL};
use kit::scene::*;
use kit::symbols::{self, BlockPicture, Pole};
use model::{Model, PinId};

pub(super) fn stand(page: &mut Page, stand: &Stand) {
    let model = page.all.model;
    let piece = page.all.pieces.get(stand.piece);
    let name = model.part(piece.part).name.to_string();
    let at = Point::new(page.x(stand.column), page.zero + stand.y + 5.0);
    let symbol = piece_symbol::of(piece, stand, page.all.live).at(at);
    let (left, right) = (symbol.body.left, symbol.body.right);
    let kind = match piece.shape {
        Shape::Coil(_) => "coil",
        Shape::Contact => "contact",
        Shape::Switch(_) => "switch",
        Shape::Pole(_) | Shape::Block(_) => "symbol",
    };
    // The throw at the side has its own port. The names of the symbol's ports are replaced by the part's pins.
    let side = symbol.ports.iter().find(|p| (p.at.x - at.x).abs() > 1.0).map(|p| p.at);
    let side_pin = piece.pins.iter().copied().find(|&p| p != stand.upper && p != stand.lower);
    let mut tag = Tag::part(name.clone()).of_kind(kind);
    if let Some(live) = page.all.live
        && matches!(piece.shape, Shape::Contact | Shape::Switch(_))
    {
        tag = tag.with("blade", format!("{:?}", piece_symbol::blade(piece, live)).to_lowercase());
    }
    let mut group = symbol.group(tag);
    // Beside the boxes of fuses and resistors, close to the lead of all others.
    let narrow = matches!(piece.shape, Shape::Pole(Pole::Fuse | Pole::Resistor));
    let beside = if narrow { 1.8 } else { 0.9 };
    let ends = [(stand.upper, at.by(0.0, -5.0)), (stand.lower, at.by(0.0, 5.0))];
    for (pin, place) in ends {
        group.items.push(page.pin(pin, place));
        let inward = if place.y < at.y { 1.0 } else { -1.0 };
        // A number stands at the lead; a word is too long and too tall for that and stands beside the symbol.
        let word = model.pin(pin).name.as_str().chars().count() > 3 && matches!(piece.shape, Shape::Pole(_));
        // Clear of where the blade meets a fixed contact.
        let thrown = matches!(piece.shape, Shape::Contact | Shape::Switch(_)) && piece.pins.first() != Some(&pin);
        let along = if thrown { 0.7 } else { 1.3 };
        let by = if word { (left - at.x - 0.9, 2.7 * inward) } else { (-beside, along * inward) };
        group.push(page.pin_number(pin, place.by(by.0, by.1)));
    }
    if let (Some(pin), Some(place)) = (side_pin, side) {
        group.items.push(page.pin(pin, place));
        // Along its line, at the outer end of the lead.
        let right = place.x > at.x;
        let inward = if place.y < at.y { 1.3 } else { -1.3 };
        let number = page.pin_number(pin, place.by(0.0, inward));
        group.push(Item::from(number).moved(if right { 0.0 } else { page.number_width(pin) }, 0.0));
    }
    page.put(group);
    let mut lines = labels::piece(model, piece, &page.all.partners(piece));
    let is_in = page.all.live.and_then(|live| live.relay_is_in(piece.part));
    if let (Some(is_in), Shape::Coil(_), Some(first)) = (is_in, piece.shape, lines.first_mut()) {
        first.text.push_str(if is_in { " in" } else { " out" });
    }
    // Closer together and a little high, to keep clear of bars at both ports.
    let top = at.y - 0.3 - CLOSE * (lines.len() - 1) as f64 / 2.0;
    let beside = if stand.side {
        // On the right runs the lead of the further throw.
        Point::new(left - column_widths::beside_pins(page.all.model, piece) - column_widths::widest(&lines, SMALL), top)
    } else {
        Point::new(right + BESIDE, top)
    };
    page.lines(&name, beside, &lines, SMALL, CLOSE);
}

pub(super) fn crossing(page: &mut Page, crossing: &Crossing) {
    let model = page.all.model;
    let at = Point::new(page.x(crossing.column), page.zero + crossing.y + CROSSING / 2.0);
    let (upper, lower) = (crossing.upper, crossing.lower);
    let symbol = symbols::connector(pin_above(model, upper, lower)).at(at);
    let pins = if pin_above(model, upper, lower) { upper } else { lower };
    let tag = Tag::part(model.part(model.pin(upper).part).name.to_string()).of_kind("crossing");
    let mut group = symbol.group(tag.with("pins", model.pin_name(pins)));
    let half = CROSSING / 2.0;
    for (from, to) in [(-half, -2.5), (2.5, half)] {
        group.push(Path::line(at.by(0.0, from), at.by(0.0, to)).stroked(lines::symbol()));
    }
    group.items.push(page.pin(upper, at.by(0.0, -half)));
    group.items.push(page.pin(lower, at.by(0.0, half)));
    page.put(group);
    let lines = [plain(model.pin_name(upper)), plain(model.pin_name(lower))];
    page.label("connector", Point::new(at.x + 1.5 + BESIDE, at.y - LEADING / 2.0), &lines, SMALL);
}

/// Whether the upper half of a crossing has the pins.
fn pin_above(model: &Model, upper: PinId, lower: PinId) -> bool {
    has_pins(model, model.pin(upper).part, model.pin(lower).part)
}

/// A box with its pins, picture, name, place and title.
pub(super) fn block(page: &mut Page, block: &Block) {
    let model = page.all.model;
    let piece = page.all.pieces.get(block.piece);
    let part = model.part(piece.part);
    let [left, right] = column_widths::box_edges(model, piece, page.all.columns, block.columns).map(|x| x + page.shift);
    let top = page.zero + block.y;
    let case = Rect::new(Point::new(left, top), Point::new(right, top + block.height));
    let tag = Tag::part(part.name.to_string()).of_kind("box").outlined(case).hovered(part.title.clone());
    let mut group = ItemGroup { tag, items: Vec::new() };
    group.push(Path::rect(&case).stroked(lines::symbol()).filled(TINT));
    for (pins, y, name_y) in [(&block.uppers, top, top + 2.4), (&block.lowers, case.bottom, case.bottom - 2.4)] {
        for (i, &(pin, column)) in pins.iter().enumerate() {
            let x = page.x(column);
            let next = pins.get(i + 1).map_or(f64::INFINITY, |&(_, c)| page.x(c) - x);
            let before = if i > 0 { x - page.x(pins[i - 1].1) } else { f64::INFINITY };
            let room = (2.0 * (x - left)).min(2.0 * (right - x)).min(next).min(before) - 1.5;
            let name = font::fitted(model.pin(pin).name.as_str(), room, SMALL, false);
            let text = TextItem::new(Point::new(x, name_y), name, SMALL).anchored(Anchor::Middle).centred_on(name_y);
            group.push(ItemGroup::of(Tag::label(model.pin_name(pin)), [text.coloured(SOFT_INK)]));
            group.items.push(page.pin(pin, Point::new(x, y)));
        }
    }
    let Shape::Block(picture) = piece.shape else { return };
    let mut text_left = left + 2.5;
    if picture != BlockPicture::None {
        group.items.extend(symbols::picture(picture, Point::new(left + 7.0, top + 8.8)));
        text_left = left + 13.5;
    }
    let mut label = ItemGroup { tag: Tag::label(part.name.to_string()), items: Vec::new() };
    let room = right - text_left - 1.5;
    let mut write = |x: f64, y: f64, text: &str, room: f64, height: f64, strong: bool| {
        let text = TextItem::new(Point::new(x, y), font::fitted(text, room, height, strong), height).centred_on(y);
        label.push(if strong { text.bold() } else { text });
    };
    write(text_left, top + 6.9, part.name.as_str(), room, NAME, true);
    if part.at.is_some() {
        write(text_left, top + 10.6, model.place_name(part.at), room, SMALL, false);
    }
    // Below the picture, as many phrases of the title as its lines take.
    let lines = box_sizes::title_lines(block.height);
    let wide = right - left - TITLE_EDGES;
    for (i, line) in font::phrases(&part.title, wide, (SMALL, false), lines).iter().enumerate() {
        write(left + 2.0, top + 14.2 + CLOSE * i as f64, line, wide, SMALL, false);
    }
    group.push(label);
    page.put(group);
}

/// A pointer to another path: a small pennant with that path's number.
pub(super) fn flag(page: &mut Page, flag: &Flag) {
    let (model, all) = (page.all.model, page.all);
    let x = page.x(flag.column);
    let y = page.zero + flag.y;
    let column = all.placed.points_to(flag);
    let number = column.map(|c| all.number(c));
    let (stub, top) = match (flag.incoming, flag.stub) {
        (true, true) => (Some((y - 7.5, y)), y - 14.5),
        (true, false) => (None, y - 7.0),
        (false, true) => (Some((y, y + 5.0)), y + 5.0),
        (false, false) => (None, y),
    };
    if let Some((from, to)) = stub {
        let line = Path::line(Point::new(x, from), Point::new(x, to));
        let group = match flag.wire {
            Some(wire) => runs::wire(page, wire, &line),
            None => ItemGroup::of(Tag::kind("lead"), [line.stroked(lines::symbol())]),
        };
        page.put(group);
    }
    let text = number.map_or("–".into(), |n| n.to_string());
    let half = (font::width(&text, SMALL, true) / 2.0 + 1.2).max(3.0);
    let at = |dx: f64, dy: f64| Point::new(x + dx, top + dy);
    let pennant = symbols::pennant(half).map(|p| at(p.x, p.y));
    let shape = Path::polygon(&pennant).stroked(lines::symbol()).filled(PAPER);
    let target = text.clone();
    page.put(ItemGroup::of(Tag::kind("flag").with("path", target), [shape]));
    let number = TextItem::new(at(0.0, 2.5), text, SMALL).bold().anchored(Anchor::Middle).centred_on(top + 2.5);
    page.put(ItemGroup::of(Tag::label("path"), [number]));
    let other = column.map(|c| all.sheet_of(c)).filter(|&s| s != page.sheet);
    let mut lines = vec![plain(labels::flag(model, flag))];
    lines.extend(other.map(|s| plain(format!("sheet {}", s + 1))));
    page.label("flag", Point::new(x + half + BESIDE, top + 1.9), &lines, SMALL);
    if flag.incoming
        && flag.stub
        && let Some(wire) = flag.wire
    {
        let line = [bold(model.wire(wire).id.to_string())];
        page.label(LabelOf::Wire(model.wire(wire).id.to_string()), Point::new(x + BESIDE, y - 5.2), &line, LABEL);
    }
}
