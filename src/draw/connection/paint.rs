//! From positions to ink: frames, wires with hops and labels, parts, and the key below them.

use super::diagram::{Diagram, DiagramWire, SheetExit};
use super::outlines;
use super::placed::{PlacedDiagram, PlacedExit, PlacedFrame, PlacedWire};
use super::sizes::{EXIT_HEAD, PIN_NOTE_GAP, PLACE_TEXT, TEXT, WORDS};
use kit::colour::{FAINT, INK, SOFT_INK, TINT};
use kit::font;
use kit::insulation::Insulation;
use kit::lines;
use kit::scene::*;

/// Radius of a wire's corners.
const CORNER: f64 = 1.0;
/// Radius of a hop over another wire.
const HOP: f64 = 1.1;
/// Hops nearer to each other than this are taken in one.
const HOPS_APART: f64 = 2.0 * HOP + 0.8;
/// Height of a line of the key.
const KEY_LINE: f64 = 5.0;
/// From the drawing to its key.
const KEY_GAP: f64 = 3.0;

/// The drawing's items, its top left corner at the origin, and their extent.
pub(super) fn items(diagram: &Diagram, placed: &PlacedDiagram) -> (Vec<Item>, Size) {
    let mut items = frames(diagram, placed);
    for (index, wire) in placed.wires.iter().enumerate() {
        items.push(wire_group(diagram, index, wire).into());
    }
    items.extend(diagram.exits.iter().zip(&placed.exits).map(|(exit, at)| Item::from(exit_group(diagram, exit, at))));
    items.extend((0..placed.wires.len()).filter_map(|index| raised_bows(diagram, placed, index)).map(Item::from));
    items.extend(part_bodies(diagram, placed));
    for (wire, drawn) in placed.wires.iter().zip(&diagram.wires) {
        for (end, texts) in wire.labels.iter().enumerate() {
            items.push(wire_label(drawn, end, texts).into());
        }
    }
    for (exit, at) in diagram.exits.iter().zip(&placed.exits) {
        items.push(wire_label(&exit.wire, exit.end, &at.label).into());
    }
    let (key, height) = key(diagram, placed.size.width);
    items.push(Item::from(key).moved(0.0, placed.size.height + KEY_GAP));
    (items, Size::new(placed.size.width, placed.size.height + KEY_GAP + height))
}

/// The extent of the finished drawing, its key included, if the layout is so large.
pub(super) fn extent(diagram: &Diagram, size: Size) -> Size {
    let (_, height) = key(diagram, size.width);
    Size::new(size.width, size.height + KEY_GAP + height)
}

/// The places' frames with their names.
pub(crate) fn frames(diagram: &Diagram, placed: &PlacedDiagram) -> Vec<Item> {
    let frame = |frame: &PlacedFrame| {
        let name = &diagram.places[frame.place];
        let outline = Path::rounded(&frame.rect, 2.0).filled(TINT).stroked(Stroke::solid(FAINT, lines::FINE));
        let title = frame_name(diagram, frame);
        ItemGroup::of(Tag::kind("place").with("place", name.clone()), [Item::from(outline), title.into()]).into()
    };
    // Parts without a place have no frame.
    placed.frames.iter().filter(|frame| !diagram.places[frame.place].is_empty()).map(frame).collect()
}

/// The name of a place in its frame.
pub(super) fn frame_name(diagram: &Diagram, frame: &PlacedFrame) -> TextItem {
    let at = Point::new(frame.rect.left + 2.5, frame.rect.top + 5.2);
    TextItem::new(at, diagram.places[frame.place].clone(), PLACE_TEXT).coloured(SOFT_INK).bold()
}

/// The parts.
pub(crate) fn part_bodies(diagram: &Diagram, placed: &PlacedDiagram) -> Vec<Item> {
    diagram.parts.iter().zip(&placed.parts).flat_map(|(part, at)| outlines::groups(part, at)).map(Item::from).collect()
}

fn wire_group(diagram: &Diagram, index: usize, wire: &PlacedWire) -> ItemGroup {
    let drawn = &diagram.wires[index];
    let [from, to] = drawn.ends.map(|end| diagram.pin(end).full_name.clone());
    let mut tag = Tag::wire(drawn.number.clone()).between(from, to);
    if !drawn.hover.is_empty() {
        tag = tag.hovered(drawn.hover.clone());
    }
    ItemGroup::of(tag, painted(&line(wire), &drawn.colour))
}

/// What stands beside an end of a wire.
fn wire_label(wire: &DiagramWire, end: usize, texts: &[TextItem; 2]) -> ItemGroup {
    let mut tag = Tag::label(LabelOf::Wire(wire.number.clone())).with("end", (end + 1).to_string());
    tag.wire = Some(wire.number.clone());
    ItemGroup::of(tag, texts.clone())
}

/// A wire that goes on to another sheet: a piece of it, an arrow, and where it ends there.
fn exit_group(diagram: &Diagram, exit: &SheetExit, at: &PlacedExit) -> ItemGroup {
    let [from, tip] = at.path;
    let outward = if tip.x < from.x { -1.0 } else { 1.0 };
    let neck = tip.by(-outward * EXIT_HEAD, 0.0);
    let mut tag = Tag::wire(exit.wire.number.clone()).between(diagram.pin(exit.at).full_name.clone(), exit.far.clone());
    if !exit.wire.hover.is_empty() {
        tag = tag.hovered(exit.wire.hover.clone());
    }
    let piece = ItemGroup::of(tag, painted(&Path::line(from, neck), &exit.wire.colour));
    let half = EXIT_HEAD / 2.2;
    let head = Path::polygon(&[tip, neck.by(0.0, -half), neck.by(0.0, half)]).filled(INK);
    let tag = Tag::pin_at(exit.far.clone(), tip).of_kind("elsewhere").with("zone", exit.zone.clone());
    let head = ItemGroup::of(tag, [head]);
    let anchor = if outward > 0.0 { Anchor::Start } else { Anchor::End };
    let word = |x: f64, words: &str, size: f64| TextItem::new(Point::new(x, 0.0), words, size).anchored(anchor);
    let name = word(tip.x + outward * PIN_NOTE_GAP, &exit.far, TEXT).bold().centred_on(tip.y);
    let after = outward * (2.0 * PIN_NOTE_GAP + name.bounds().width());
    let zone = word(tip.x + after, &exit.zone, WORDS).coloured(SOFT_INK).centred_on(tip.y);
    let tag = Tag::kind("goes-on").with("sheet", (exit.sheet + 1).to_string());
    ItemGroup::of(tag, [Item::from(piece), head.into(), name.into(), zone.into()])
}

/// A wire's line in the colours of its insulation.
fn painted(line: &Path, colour: &str) -> Vec<Path> {
    match Insulation::of(colour) {
        Some(insulation) => insulation.paint(line, lines::WIRE),
        // No colour chosen yet: an open line.
        None => vec![
            line.clone().stroked(Stroke::solid(INK, lines::WIRE)),
            line.clone().stroked(Stroke::solid(TINT, lines::WIRE - 2.0 * lines::FINE)),
        ],
    }
}

/// The bows of a wire over wires that are painted after it, to be painted once more on top of them.
fn raised_bows(diagram: &Diagram, placed: &PlacedDiagram, index: usize) -> Option<ItemGroup> {
    let (wire, later) = (&placed.wires[index], &placed.wires[index + 1..]);
    let covered = |at: &Point| {
        later
            .iter()
            .flat_map(|other| other.path.windows(2))
            .any(|pair| pair[0].x == at.x && pair[1].x == at.x && (pair[0].y - at.y) * (pair[1].y - at.y) < 0.0)
    };
    let bow = |hops: &[(usize, Point)]| {
        let (piece, first) = hops[0];
        let leftward = wire.path[piece + 1].x < wire.path[piece].x;
        let mut steps = vec![Seg::Move(first.by(if leftward { HOP } else { -HOP }, 0.0))];
        add_hops(&mut steps, &hops.iter().map(|(_, at)| at.x).collect::<Vec<f64>>(), first.y, leftward);
        steps
    };
    let one_stride = |a: &(usize, Point), b: &(usize, Point)| a.0 == b.0 && (a.1.x - b.1.x).abs() < HOPS_APART;
    let strides = wire.hops.chunk_by(one_stride).filter(|hops| hops.iter().any(|(_, at)| covered(at)));
    let steps: Vec<Seg> = strides.flat_map(bow).collect();
    let tag = Tag::wire(diagram.wires[index].number.clone()).of_kind("bow");
    (!steps.is_empty()).then(|| ItemGroup::of(tag, painted(&Path::new(steps), &diagram.wires[index].colour)))
}

/// The wire's line: corners rounded, level pieces hopping over what they cross.
pub(crate) fn line(wire: &PlacedWire) -> Path {
    let path = &wire.path;
    let mut steps = vec![Seg::Move(path[0])];
    for piece in 0..path.len() - 1 {
        let (from, to) = (path[piece], path[piece + 1]);
        let hops: Vec<f64> = wire.hops.iter().filter(|(p, _)| *p == piece).map(|(_, at)| at.x).collect();
        add_hops(&mut steps, &hops, from.y, to.x < from.x);
        if piece + 2 < path.len() {
            let next = path[piece + 2];
            let radius = CORNER.min(from.distance(to) / 2.0).min(to.distance(next) / 2.0);
            let toward = |p: Point| {
                let share = radius / to.distance(p);
                Point::new(to.x + (p.x - to.x) * share, to.y + (p.y - to.y) * share)
            };
            let turn = (to.x - from.x) * (next.y - to.y) - (to.y - from.y) * (next.x - to.x);
            let (before, after) = (toward(from), toward(next));
            steps.push(Seg::Line(before));
            steps.push(Seg::Arc { radius, large: false, clockwise: turn > 0.0, to: after });
        } else {
            steps.push(Seg::Line(to));
        }
    }
    Path::new(steps)
}

/// Bridges over the crossings of one level piece; neighbouring ones are taken in one stride.
fn add_hops(steps: &mut Vec<Seg>, xs: &[f64], y: f64, leftward: bool) {
    let ahead = if leftward { -1.0 } else { 1.0 };
    let arc = |x: f64, y: f64| Seg::Arc { radius: HOP, large: false, clockwise: !leftward, to: Point::new(x, y) };
    for group in xs.chunk_by(|a, b| (a - b).abs() < HOPS_APART) {
        let (Some(&first), Some(&last)) = (group.first(), group.last()) else { continue };
        steps.push(Seg::Line(Point::new(first - ahead * HOP, y)));
        steps.push(arc(first, y - HOP));
        if group.len() > 1 {
            steps.push(Seg::Line(Point::new(last, y - HOP)));
        }
        steps.push(arc(last + ahead * HOP, y));
    }
}

/// What labels and colours mean: each code in use with its name, in as many lines as the width asks for.
fn key(diagram: &Diagram, width: f64) -> (ItemGroup, f64) {
    const SAMPLE: f64 = 9.0;
    const GAP: f64 = 2.0;
    const APART: f64 = 6.0;
    let leaving = diagram.exits.iter().map(|exit| &exit.wire);
    let mut codes: Vec<&str> = diagram.wires.iter().chain(leaving).flat_map(|wire| wire.colour.split('/')).collect();
    codes.sort_unstable();
    codes.dedup();
    let mut group = ItemGroup { tag: Tag::kind("key"), items: Vec::new() };
    let (mut x, mut y) = (0.0, KEY_LINE / 2.0);
    let mut room = |wanted: f64| {
        if x > 0.0 && x + wanted > width {
            (x, y) = (0.0, y + KEY_LINE);
        }
        let at = Point::new(x, y);
        x += wanted + APART;
        at
    };
    const LEAD: &str = "Beside each end of a wire: its number, its gauge (mm² where no unit is given), its colour.";
    let lead = if diagram.lead.is_empty() { LEAD } else { diagram.lead };
    for line in font::wrapped(lead, width, WORDS, false) {
        let at = room(font::width(&line, WORDS, false));
        group.push(TextItem::new(at, line, WORDS).centred_on(at.y));
    }
    for code in codes {
        let Some(insulation) = Insulation::of(code) else { continue };
        let text = format!("{code} {}", insulation.name);
        let at = room(SAMPLE + GAP + font::width(&text, WORDS, false));
        let line = Path::line(at, at.by(SAMPLE, 0.0));
        insulation.paint(&line, lines::WIRE).into_iter().for_each(|path| group.push(path));
        group.push(TextItem::new(at.by(SAMPLE + GAP, 0.0), text, WORDS).centred_on(at.y));
    }
    (group, y + KEY_LINE / 2.0)
}
