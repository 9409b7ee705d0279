//! The bodies of parts: outlines with named pins, mated halves face to face, bars where wires are joined.

use super::diagram::{DiagramPart, PartShape};
use super::placed::{PlacedPart, PlacedPin};
use super::sizes::*;
use kit::colour::{INK, PAPER, SOFT_INK};
use kit::lines;
use kit::scene::*;
use kit::symbols::{self, GroundSymbol};

/// Radius of an outline's corners.
const CORNER: f64 = 1.2;
/// Half the height of a terminal with a single wire.
const PIN_HALF: f64 = 0.9;

/// Everything drawn for a part; mated halves and plugged connectors are groups of their own.
pub(super) fn groups(part: &DiagramPart, at: &PlacedPart) -> Vec<ItemGroup> {
    match part.form {
        PartShape::Outline | PartShape::Supply => outline(part, at),
        PartShape::Mated => mated(part, at),
        PartShape::Splice | PartShape::Ground => vec![bar(part, at)],
        PartShape::Elsewhere => vec![mark(part, at)],
    }
}

fn outline(part: &DiagramPart, at: &PlacedPart) -> Vec<ItemGroup> {
    let mut group =
        ItemGroup { tag: Tag::part(part.name.clone()).of_kind("outline").outlined(at.core), items: Vec::new() };
    group.push(Path::rounded(&at.core, CORNER).filled(PAPER).stroked(Stroke::solid(INK, lines::SYMBOL)));
    let heading = if part.form == PartShape::Supply { Heading::Feed } else { Heading::Plain };
    add_heading(&mut group, &at.core, &part.name, &part.title, heading);
    let mut connectors = connectors(part, at);
    for pin in &at.pins {
        match part.pins[pin.pin].plugged {
            None => {
                let edge = if pin.on_left { at.core.left } else { at.core.right };
                add_pin(&mut group, part, pin, edge);
                add_pin_name(&mut group, part, pin.pin, middle(pin), pin.on_left, edge);
            }
            Some(plugged) => {
                let outer = if pin.on_left { at.outline.left } else { at.outline.right };
                let connector = &mut connectors[plugged.dock];
                add_pin(connector, part, pin, outer);
                let inner = if pin.on_left { at.core.left } else { at.core.right };
                let x = (outer + inner) / 2.0;
                let name =
                    TextItem::new(Point::new(x, 0.0), part.pins[pin.pin].name.clone(), TEXT).anchored(Anchor::Middle);
                connector.push(name.bold().centred_on(middle(pin)));
                if let Some(own) = plugged.meets {
                    add_pin_name(&mut group, part, own, middle(pin), pin.on_left, inner);
                }
            }
        }
    }
    std::iter::once(group).chain(connectors).collect()
}

/// A mark: dashed, since what it names is not here.
fn mark(part: &DiagramPart, at: &PlacedPart) -> ItemGroup {
    let tag = Tag::kind("goes-on").with("sheet", part.name.trim_start_matches("Sheet ")).outlined(at.core);
    let mut group = ItemGroup { tag, items: Vec::new() };
    let edge = Stroke::dashed(SOFT_INK, lines::SYMBOL, Dash::even(2.0, 1.2));
    group.push(Path::rounded(&at.core, CORNER).filled(PAPER).stroked(edge));
    add_heading(&mut group, &at.core, &part.name, &part.title, Heading::Plain);
    for pin in &at.pins {
        let edge = if pin.on_left { at.core.left } else { at.core.right };
        let name = &part.pins[pin.pin].full_name;
        for &spot in &pin.spots {
            let inward = if pin.on_left { 1.0 } else { -1.0 };
            let tip = [spot.by(inward * 1.6, 0.0), spot.by(0.0, -PIN_HALF), spot.by(0.0, PIN_HALF)];
            let tag =
                Tag::pin_at(name.clone(), spot).of_kind("elsewhere").with("zone", part.pins[pin.pin].note.clone());
            group.push(ItemGroup::of(tag, [Path::polygon(&tip).filled(INK)]));
        }
        add_pin_name(&mut group, part, pin.pin, middle(pin), pin.on_left, edge);
    }
    group
}

/// The connectors plugged into a part: boxes along its edge, their name above.
fn connectors(part: &DiagramPart, at: &PlacedPart) -> Vec<ItemGroup> {
    const NAME_LIFT: f64 = 1.2;
    let boxes = part.docks.iter().enumerate().map(|(dock, name)| {
        let of_dock = |pin: &&PlacedPin| part.pins[pin.pin].plugged.is_some_and(|p| p.dock == dock);
        let pins: Vec<&PlacedPin> = at.pins.iter().filter(of_dock).collect();
        let mut group = ItemGroup { tag: Tag::part(name.clone()).of_kind("plugged"), items: Vec::new() };
        let ys = || pins.iter().flat_map(|pin| &pin.spots).map(|spot| spot.y);
        let Some(first) = pins.first() else { return group };
        let (outer, inner) =
            if first.on_left { (at.outline.left, at.core.left) } else { (at.outline.right, at.core.right) };
        let body = Rect::new(
            Point::new(outer, ys().fold(f64::INFINITY, f64::min) - ROW * 0.9),
            Point::new(inner, ys().fold(f64::NEG_INFINITY, f64::max) + ROW * 0.9),
        );
        group.tag.outline = Some(body);
        group.push(Path::rect(&body).filled(PAPER).stroked(Stroke::solid(INK, lines::SYMBOL)));
        let name = TextItem::new(Point::new((outer + inner) / 2.0, body.top - NAME_LIFT), name.clone(), TEXT);
        group.push(name.anchored(Anchor::Middle).bold());
        group
    });
    boxes.collect()
}

fn mated(part: &DiagramPart, at: &PlacedPart) -> Vec<ItemGroup> {
    let mate = part.mate.clone().unwrap_or_default();
    let middle_x = at.core.centre().x;
    let left_half = at.pins.iter().find(|pin| pin.on_left).and_then(|pin| part.pins[pin.pin].cavity).map_or(0, |c| c.0);
    let heads = [(&part.name, &part.title), (&mate.name, &mate.title)];
    let halves =
        [Rect { right: middle_x - MATE_GAP / 2.0, ..at.core }, Rect { left: middle_x + MATE_GAP / 2.0, ..at.core }];
    let mut groups = Vec::new();
    for (side, body) in halves.iter().enumerate() {
        let (name, title) = heads[if side == 0 { left_half } else { 1 - left_half }];
        let mut group = ItemGroup { tag: Tag::part(name.clone()).of_kind("half").outlined(*body), items: Vec::new() };
        group.push(half_outline(body, side == 0).filled(PAPER).stroked(Stroke::solid(INK, lines::SYMBOL)));
        add_heading(&mut group, body, name, title, Heading::Plain);
        let edge = if side == 0 { body.left } else { body.right };
        for pin in at.pins.iter().filter(|pin| pin.on_left == (side == 0)) {
            add_pin(&mut group, part, pin, edge);
            add_pin_name(&mut group, part, pin.pin, middle(pin), pin.on_left, edge);
        }
        groups.push(group);
    }
    let mut faces = ItemGroup { tag: Tag::kind("mated"), items: Vec::new() };
    let pins_on_left = (left_half == 1) == mate.has_pins;
    let rows = at.pins.iter().filter(|pin| pin.on_left);
    for y in rows.map(middle) {
        add_contact(&mut faces, &halves, y, pins_on_left);
    }
    groups.push(faces);
    groups
}

/// A half's outline: round outside, square at the face where it mates.
fn half_outline(r: &Rect, left: bool) -> Path {
    let (outer, inner, inward) = if left { (r.left, r.right, CORNER) } else { (r.right, r.left, -CORNER) };
    let line = |x, y| Seg::Line(Point::new(x, y));
    let turn = |x, y| Seg::Arc { radius: CORNER, large: false, clockwise: !left, to: Point::new(x, y) };
    Path::new([
        Seg::Move(Point::new(inner, r.top)),
        line(outer + inward, r.top),
        turn(outer, r.top + CORNER),
        line(outer, r.bottom - CORNER),
        turn(outer + inward, r.bottom),
        line(inner, r.bottom),
        Seg::Close,
    ])
}

/// The pin of a half in the socket of the other: a filled blade in an open cup, as in IEC 60617.
fn add_contact(group: &mut ItemGroup, halves: &[Rect; 2], y: f64, pins_on_left: bool) {
    const SOCKET: f64 = 0.95;
    let faces = [halves[0].right, halves[1].left];
    let ([pins, sockets], ahead) = if pins_on_left { (faces, 1.0) } else { ([faces[1], faces[0]], -1.0) };
    let tip = sockets - ahead * 1.5;
    let blade = Rect::new(Point::new(pins.min(tip), y - 0.3), Point::new(pins.max(tip), y + 0.3));
    group.push(Path::rect(&blade).filled(INK));
    let cup = Path::new([
        Seg::Move(Point::new(tip, y - SOCKET)),
        Seg::Arc { radius: SOCKET, large: false, clockwise: pins_on_left, to: Point::new(tip, y + SOCKET) },
    ]);
    group.push(cup.stroked(lines::symbol()));
    group.push(Path::line(Point::new(tip + ahead * SOCKET, y), Point::new(sockets, y)).stroked(lines::symbol()));
}

/// Where the name and the title of a bar stand; none for another part.
pub(super) fn bar_names(part: &DiagramPart, at: &PlacedPart) -> Option<Rect> {
    matches!(part.form, PartShape::Splice | PartShape::Ground).then(|| {
        let half = column_width(part, &Default::default()) / 2.0;
        let x = at.outline.centre().x;
        Rect::new(Point::new(x - half, at.outline.top), Point::new(x + half, at.outline.bottom))
    })
}

/// Splices and grounds: a bar that all wires meet, its name above; a ground with its symbol below.
fn bar(part: &DiagramPart, at: &PlacedPart) -> ItemGroup {
    let spots = || at.pins.iter().flat_map(|pin| &pin.spots).map(|spot| spot.y);
    let (first, last) = (spots().fold(f64::INFINITY, f64::min), spots().fold(f64::NEG_INFINITY, f64::max));
    let (first, last) = if first.is_finite() { (first, last) } else { (at.outline.bottom, at.outline.bottom) };
    let body = Rect { top: first - 1.3, bottom: last + 1.3, ..at.outline };
    let kind = if part.form == PartShape::Ground { "ground" } else { "splice" };
    let mut group = ItemGroup { tag: Tag::part(part.name.clone()).of_kind(kind).outlined(body), items: Vec::new() };
    let x = body.centre().x;
    if part.form == PartShape::Ground {
        let symbol = symbols::ground(GroundSymbol::Chassis).at(Point::new(x, body.bottom - 1.2));
        group.items.extend(symbol.items);
    }
    group.push(Path::rounded(&body, BAR / 2.0).filled(INK));
    let line = |y: f64, text: &str, size: f64| TextItem::new(Point::new(x, y), text, size).anchored(Anchor::Middle);
    // From the bar upwards, clear of the labels beside it.
    let mut base = first - 5.2;
    for words in part.title.iter().rev() {
        group.push(line(base, words, WORDS).coloured(SOFT_INK));
        base -= TITLE_LINE;
    }
    group.push(line(base, &part.name, NAME_TEXT).bold());
    for pin in &at.pins {
        for &spot in &pin.spots {
            group.push(ItemGroup { tag: Tag::pin_at(part.pins[pin.pin].full_name.clone(), spot), items: Vec::new() });
        }
    }
    group
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Heading {
    Plain,
    /// Dark, so that sources of current are seen at once.
    Feed,
}

/// Name and title at the top of an outline.
fn add_heading(group: &mut ItemGroup, body: &Rect, name: &str, title: &[String], heading: Heading) {
    let x = body.left + PIN_INSET;
    let mut colours = (INK, SOFT_INK);
    if heading == Heading::Feed {
        let band = Rect { bottom: body.top + 5.2 + TITLE_LINE * title.len() as f64, ..*body };
        group.push(Path::rounded(&band, CORNER).filled(INK));
        colours = (PAPER, PAPER);
    }
    group.push(TextItem::new(Point::new(x, body.top + 4.3), name, NAME_TEXT).bold().coloured(colours.0));
    for (i, words) in title.iter().enumerate() {
        let at = Point::new(x, body.top + 4.3 + TITLE_LINE * (i + 1) as f64);
        group.push(TextItem::new(at, words.clone(), WORDS).coloured(colours.1));
    }
}

fn middle(pin: &PlacedPin) -> f64 {
    let ys = pin.spots.iter().map(|spot| spot.y);
    ys.sum::<f64>() / pin.spots.len().max(1) as f64
}

/// The terminal on the edge where a pin's wires begin: a bar over all of their rows; a lead where the edge lies inside
/// of the outline.
fn add_pin(group: &mut ItemGroup, part: &DiagramPart, pin: &PlacedPin, edge: f64) {
    let name = &part.pins[pin.pin].full_name;
    let (Some(first), Some(last)) = (pin.spots.first(), pin.spots.last()) else { return };
    let inward = if pin.on_left { 1.0 } else { -1.0 };
    let terminal = Rect::new(Point::new(edge, first.y - PIN_HALF), Point::new(edge + inward * 1.1, last.y + PIN_HALF));
    let mut drawn = ItemGroup { tag: Tag::pin_at(name.clone(), *first), items: Vec::new() };
    for spot in pin.spots.iter().filter(|spot| (spot.x - edge).abs() > 0.01) {
        drawn.push(Path::line(*spot, Point::new(edge, spot.y)).stroked(lines::symbol()));
    }
    drawn.push(Path::rect(&terminal).filled(INK));
    group.push(drawn);
    for &spot in &pin.spots[1..] {
        group.push(ItemGroup { tag: Tag::pin_at(name.clone(), spot), items: Vec::new() });
    }
}

/// A pin's name and note inside the part, the name next to the edge.
fn add_pin_name(group: &mut ItemGroup, part: &DiagramPart, pin: usize, y: f64, on_left: bool, edge: f64) {
    let (inward, anchor) = if on_left { (1.0, Anchor::Start) } else { (-1.0, Anchor::End) };
    let pin = &part.pins[pin];
    let x = edge + inward * PIN_INSET;
    let name = TextItem::new(Point::new(x, 0.0), pin.name.clone(), TEXT).bold().anchored(anchor).centred_on(y);
    let after = x + inward * (name.bounds().width() + PIN_NOTE_GAP);
    let mut names =
        ItemGroup { tag: Tag::kind("pin-name").with("of", pin.full_name.clone()), items: vec![name.into()] };
    if !pin.note.is_empty() {
        let note = TextItem::new(Point::new(after, 0.0), pin.note.clone(), WORDS).anchored(anchor).coloured(SOFT_INK);
        names.push(note.centred_on(y));
    }
    group.push(names);
}
