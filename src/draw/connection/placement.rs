//! From columns, rows and tracks to points on paper.

use super::diagram::{DiagramWire, EndId, PartShape};
use super::ordering::{ColumnOrder, LEFT, RIGHT};
use super::placed::{PlacedDiagram, PlacedExit, PlacedFrame, PlacedPart, PlacedPin, PlacedWire};
use super::routing::{Course, Strand, courses};
use super::row_positions::{Care, Rows};
use super::sizes::*;
use super::{hold_in, pull_in};
use kit::font;
use kit::geometry::{Point, Rect, Size};
use kit::scene::TextItem;

/// From a column to the frame where no labels need the room.
const FRAME_PAD: f64 = 3.0;
/// Minimum width of a channel's middle without tracks.
const BARE_CHANNEL: f64 = 4.0;

/// Positions of everything in a order whose sides hold all pins.
pub(super) fn compose(order: &ColumnOrder, rows: &Rows, care: Care) -> PlacedDiagram {
    let diagram = order.diagram;
    let channels: Vec<Channel> = (0..=order.columns.len()).map(|k| Channel::route(order, rows, k)).collect();
    let across = Across::new(order, &channels);
    let parts: Vec<PlacedPart> = (0..diagram.parts.len()).map(|part| place_part(order, rows, &across, part)).collect();
    let mut spots = vec![(Point::default(), false); 2 * diagram.wires.len()];
    for (part, placed) in parts.iter().enumerate() {
        for (side, edge) in [(LEFT, placed.outline.left), (RIGHT, placed.outline.right)] {
            for &end in order.slots[part][side].iter().flat_map(|slot| &slot.ends) {
                spots[end] = (Point::new(edge, rows.ends[end] as f64 * ROW), side == LEFT);
            }
        }
    }
    let exits = exits(order, rows, &parts);
    let wires: Vec<PlacedWire> = (0..diagram.wires.len())
        .map(|wire| PlacedWire {
            path: path(order, rows, &channels, &across, &spots, wire),
            hops: Vec::new(),
            labels: [0, 1].map(|end| label(&diagram.wires[wire], spots[2 * wire + end])),
        })
        .collect();
    let frames = frames(order, rows, &across);
    let size = Size::new(across.width, (rows.height + 1) as f64 * ROW);
    let mut placed = PlacedDiagram { size, frames, parts, wires, exits };
    if care == Care::Final {
        pull_in::pull_in(diagram, &mut placed);
    }
    add_hops(&mut placed.wires);
    let mut placed = normalised(placed);
    if care == Care::Final {
        hold_in::hold_in(diagram, &mut placed);
    }
    placed
}

/// The strands of a channel and how they run.
struct Channel {
    /// Wire and strand course, in wire order.
    courses: Vec<(usize, Strand, Course)>,
    tracks: usize,
}

impl Channel {
    fn route(order: &ColumnOrder, rows: &Rows, channel: usize) -> Self {
        let mut wires = Vec::new();
        let mut strands = Vec::new();
        for wire in 0..order.diagram.wires.len() {
            let (first, last) = order.channels_of(wire);
            if (first..=last).contains(&channel) {
                let start = order.starts_with(wire);
                // A part's right side is on a channel's left edge.
                let pin = |end: EndId| (1 - order.side_of(end), rows.ends[end]);
                let lane = |column: usize| rows.lanes[wire][column - first];
                let from = if channel == first { pin(2 * wire + start) } else { (LEFT, lane(channel - 1)) };
                let to = if channel == last { pin(2 * wire + 1 - start) } else { (RIGHT, lane(channel)) };
                wires.push(wire);
                strands.push(Strand { ends: [from, to] });
            }
        }
        let (found, tracks) = courses(&strands);
        let courses = wires.into_iter().zip(strands).zip(found).map(|((w, s), c)| (w, s, c)).collect();
        Self { courses, tracks }
    }
}

/// Positions from left to right.
struct Across {
    /// Left and right edge of each column.
    columns: Vec<(f64, f64)>,
    /// Where the labels' zones end left and right of each channel's tracks.
    zones: Vec<(f64, f64)>,
    width: f64,
}

impl Across {
    fn new(order: &ColumnOrder, channels: &[Channel]) -> Self {
        let width = |part: usize| part_width(&order.diagram.parts[part], &order.slots[part]);
        let mut wide = vec![0.0_f64; order.columns.len()];
        for part in 0..order.diagram.parts.len() {
            let column = order.column_of[part];
            wide[column] = wide[column].max(column_width(&order.diagram.parts[part], &order.slots[part]));
        }
        let mut zone = vec![[FRAME_PAD; 2]; order.columns.len()];
        for (column, stack) in order.stacks.iter().enumerate() {
            let name = |&place: &usize| font::width(&order.diagram.places[place], PLACE_TEXT, true) + 2.0 * FRAME_PAD;
            wide[column] = stack.iter().map(name).fold(wide[column], f64::max);
        }
        for part in 0..order.diagram.parts.len() {
            let column = order.column_of[part];
            let fills = order.diagram.parts[part].form.fills_column();
            let inset = if fills { 0.0 } else { (wide[column] - width(part)) / 2.0 };
            for side in [LEFT, RIGHT] {
                for &end in order.slots[part][side].iter().flat_map(|slot| &slot.ends) {
                    let needed = label_width(&order.diagram.wires[end / 2]) + 2.0 * LABEL_GAP - inset;
                    zone[column][side] = zone[column][side].max(needed);
                }
                let slots = &order.slots[part][side];
                for &exit in slots.iter().flat_map(|slot| &slot.exits) {
                    let words = exit_words(&order.diagram.exits[exit]);
                    let needed = exit_length(order.diagram, slots) + words + LABEL_GAP - inset;
                    zone[column][side] = zone[column][side].max(needed);
                }
            }
        }
        let (mut x, mut columns, mut zones) = (0.0, Vec::new(), Vec::new());
        for (k, channel) in channels.iter().enumerate() {
            let left_zone = k.checked_sub(1).map_or(0.0, |column| zone[column][RIGHT]);
            let outer = k == 0 || k == wide.len();
            let bare = if outer { 0.0 } else { BARE_CHANNEL };
            let middle = if channel.tracks == 0 { bare } else { (channel.tracks + 1) as f64 * TRACK };
            zones.push((x + left_zone, x + left_zone + middle));
            x += left_zone + middle;
            if k < wide.len() {
                x += zone[k][LEFT];
                columns.push((x, x + wide[k]));
                x += wide[k];
            }
        }
        Self { columns, zones, width: x }
    }

    fn track(&self, channel: usize, track: usize) -> f64 {
        self.zones[channel].0 + (track + 1) as f64 * TRACK
    }
}

fn place_part(order: &ColumnOrder, rows: &Rows, across: &Across, part: usize) -> PlacedPart {
    let drawn = &order.diagram.parts[part];
    let (left, right) = across.columns[order.column_of[part]];
    let own = part_width(drawn, &order.slots[part]);
    let inset = if drawn.form.fills_column() { 0.0 } else { (right - left - own) / 2.0 };
    let (top, bottom) = rows.parts[part];
    let corner = |x: f64, row: i64| Point::new(x, row as f64 * ROW);
    let outline = Rect::new(corner(left + inset, top), corner(right - inset, bottom));
    let mut pins = Vec::new();
    for side in [LEFT, RIGHT] {
        for (slot, &row) in order.slots[part][side].iter().zip(&rows.slots[part][side]) {
            let Some(pin) = slot.pin else { continue };
            let x = if side == LEFT { outline.left } else { outline.right };
            let mut spots: Vec<Point> = slot.ends.iter().map(|&end| corner(x, rows.ends[end])).collect();
            spots.extend((spots.len()..slot.rows()).map(|below| corner(x, row + PIN_ROWS * below as i64)));
            pins.push(PlacedPin { pin, on_left: side == LEFT, spots });
        }
    }
    let docks = [LEFT, RIGHT].map(|side| dock_depth(drawn, &order.slots[part][side]));
    let core = Rect { left: outline.left + docks[LEFT], right: outline.right - docks[RIGHT], ..outline };
    PlacedPart { outline, core, pins }
}

fn frames(order: &ColumnOrder, rows: &Rows, across: &Across) -> Vec<PlacedFrame> {
    let mut frames = Vec::new();
    for place in 0..order.diagram.places.len() {
        let in_column = |c: &usize| order.stacks[*c].contains(&place);
        let columns: Vec<usize> = (0..order.stacks.len()).filter(in_column).collect();
        if let (Some(&first), Some(&last)) = (columns.first(), columns.last()) {
            let (top, bottom) = rows.frames[place];
            let corner = |x: f64, row: i64| Point::new(x, row as f64 * ROW);
            let rect = Rect::new(corner(across.zones[first].1, top), corner(across.zones[last + 1].0, bottom));
            frames.push(PlacedFrame { place, rect });
        }
    }
    frames
}

/// The exits to other sheets, each beside its pin.
fn exits(order: &ColumnOrder, rows: &Rows, parts: &[PlacedPart]) -> Vec<PlacedExit> {
    let drawn = &order.diagram.exits;
    let mut found: Vec<PlacedExit> = drawn
        .iter()
        .map(|exit| PlacedExit { path: Default::default(), label: label(&exit.wire, (Point::default(), false)) })
        .collect();
    for (part, placed) in parts.iter().enumerate() {
        for (side, edge) in [(LEFT, placed.outline.left), (RIGHT, placed.outline.right)] {
            let slots = &order.slots[part][side];
            for (slot, &row) in slots.iter().zip(&rows.slots[part][side]) {
                for (below, &exit) in slot.exits.iter().enumerate() {
                    let row = row + PIN_ROWS * (slot.ends.len() + below) as i64;
                    let at = Point::new(edge, row as f64 * ROW);
                    let outward = if side == LEFT { -1.0 } else { 1.0 };
                    let tip = at.by(outward * exit_length(order.diagram, slots), 0.0);
                    found[exit] = PlacedExit { path: [at, tip], label: label(&drawn[exit].wire, (at, side == LEFT)) };
                }
            }
        }
    }
    found
}

/// The label of a wire beside its end: number, then gauge and colour.
fn label(drawn: &DiagramWire, (at, on_left): (Point, bool)) -> [TextItem; 2] {
    let start = if on_left { -LABEL_GAP - label_width(drawn) } else { LABEL_GAP };
    let number = TextItem::new(at.by(start, -LABEL_LIFT), drawn.number.clone(), TEXT).bold();
    let number_width = font::width(&drawn.number, TEXT, true) + LABEL_SPACE;
    let after = if drawn.number.is_empty() { start } else { start + number_width };
    [number, TextItem::new(at.by(after, -LABEL_LIFT), drawn.label.clone(), TEXT)]
}

/// The corners of a wire from its first end to its second.
fn path(
    order: &ColumnOrder,
    rows: &Rows,
    channels: &[Channel],
    across: &Across,
    spots: &[(Point, bool)],
    wire: usize,
) -> Vec<Point> {
    let (first, last) = order.channels_of(wire);
    let start = order.starts_with(wire);
    let mut points = vec![spots[2 * wire + start].0];
    for (channel, routed) in channels.iter().enumerate().take(last + 1).skip(first) {
        let Some((_, strand, course)) = routed.courses.iter().find(|(w, _, _)| *w == wire) else { continue };
        let [(edge, from), (_, to)] = strand.ends;
        let y = |row: i64| row as f64 * ROW;
        let mut turns: Vec<(usize, i64, i64)> = match *course {
            Course::Level => Vec::new(),
            Course::Track(track) => vec![(track, from, to)],
            Course::Jog(left, row, right) if edge == LEFT => vec![(left, from, row), (right, row, to)],
            Course::Jog(left, row, right) => vec![(right, from, row), (left, row, to)],
        };
        for (track, from, to) in turns.drain(..) {
            let x = across.track(channel, track);
            points.extend([Point::new(x, y(from)), Point::new(x, y(to))]);
        }
        if channel < last {
            let x = across.columns[channel].0;
            points.push(Point::new(x, y(rows.lanes[wire][channel - first])));
        }
    }
    points.push(spots[2 * wire + 1 - start].0);
    if start == 1 {
        points.reverse();
    }
    corners(points)
}

/// Drops points that lie on a straight line between their neighbours.
fn corners(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for p in points {
        if kept.last() == Some(&p) {
            continue;
        }
        if let [.., a, b] = kept[..]
            && ((a.x == b.x && b.x == p.x) || (a.y == b.y && b.y == p.y))
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

/// Finds where level pieces cross upright ones of other wires.
fn add_hops(wires: &mut [PlacedWire]) {
    let mut uprights: Vec<(f64, f64, f64, usize)> = Vec::new();
    for (wire, placed) in wires.iter().enumerate() {
        for pair in placed.path.windows(2).filter(|pair| pair[0].x == pair[1].x) {
            uprights.push((pair[0].x, pair[0].y.min(pair[1].y), pair[0].y.max(pair[1].y), wire));
        }
    }
    uprights.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (wire, placed) in wires.iter_mut().enumerate() {
        let mut hops = Vec::new();
        for (piece, pair) in placed.path.windows(2).enumerate().filter(|(_, pair)| pair[0].y == pair[1].y) {
            let (y, low, high) = (pair[0].y, pair[0].x.min(pair[1].x), pair[0].x.max(pair[1].x));
            let begin = uprights.partition_point(|u| u.0 <= low);
            let met = uprights[begin..].iter().take_while(|u| u.0 < high);
            let mut here: Vec<(usize, Point)> = met
                .filter(|&&(_, top, bottom, other)| other != wire && top < y && y < bottom)
                .map(|&(x, ..)| (piece, Point::new(x, y)))
                .collect();
            if pair[1].x < pair[0].x {
                here.reverse();
            }
            hops.append(&mut here);
        }
        placed.hops = hops;
    }
}

/// Moves everything so that the topmost row in use has a row above it.
fn normalised(mut placed: PlacedDiagram) -> PlacedDiagram {
    let wires = placed.wires.iter().flat_map(|w| &w.path).map(|p| p.y);
    let tops = placed.parts.iter().map(|p| p.outline.top).chain(placed.frames.iter().map(|f| f.rect.top));
    let lows = placed.parts.iter().map(|p| p.outline.bottom).chain(placed.frames.iter().map(|f| f.rect.bottom));
    let top = wires.clone().chain(tops).fold(f64::INFINITY, f64::min);
    let bottom = wires.chain(lows).fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return placed;
    }
    let down = ROW - top;
    placed.size.height = bottom - top + 2.0 * ROW;
    placed.frames.iter_mut().for_each(|frame| frame.rect = frame.rect.by(0.0, down));
    for part in &mut placed.parts {
        (part.outline, part.core) = (part.outline.by(0.0, down), part.core.by(0.0, down));
        part.pins.iter_mut().flat_map(|pin| &mut pin.spots).for_each(|p| *p = p.by(0.0, down));
    }
    for exit in &mut placed.exits {
        exit.path.iter_mut().for_each(|p| *p = p.by(0.0, down));
        exit.label.iter_mut().for_each(|text| text.at = text.at.by(0.0, down));
    }
    for wire in &mut placed.wires {
        wire.path.iter_mut().for_each(|p| *p = p.by(0.0, down));
        wire.hops.iter_mut().for_each(|(_, p)| *p = p.by(0.0, down));
        wire.labels.iter_mut().flatten().for_each(|text| text.at = text.at.by(0.0, down));
    }
    placed
}

impl PartShape {
    /// Whether it is drawn as wide as its column.
    fn fills_column(self) -> bool {
        matches!(self, Self::Outline | Self::Mated)
    }
}
