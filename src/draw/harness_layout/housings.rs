//! The connectors at a place, each with the way it points: its housing on a short lead, seen with its latch towards the
//! reader. An arrow shows where the mating side faces, a dot the side on which cavity 1 is. Two halves that mate at the
//! place stand face to face on one lead.

use super::runs::{Board, Stretch};
use super::sides::{self, Side};
use crate::connector_face::mirrored;
use kit::colour::{INK, PAPER};
use kit::font;
use kit::geometry::{clipped, from_line};
use kit::lines::{HEAVY, SMALL, SYMBOL};
use kit::scene::*;
use model::tails::tail;
use model::{Model, PartId, PartKind, PlaceId};

/// Width of a housing.
const ACROSS: f64 = 4.6;
/// Its least length.
const ALONG: f64 = 5.0;
/// From the mating side to the tip of its arrow, or to the other half.
const TIP: f64 = 2.0;
/// The shortest lead, and how much longer each next one is.
const LEAD: f64 = 4.5;
/// See [`LEAD`].
const LONGER: f64 = 6.0;
/// How much longer leads are that are drawn with a break.
const FOR_BREAK: f64 = 3.5;
/// Radius of a breakout.
const NODE: f64 = 1.8;
/// Distance kept from runs and from each other.
const CLEAR: f64 = 1.6;
/// The same between a lead and another's housing.
const LEAD_CLEAR: f64 = 0.6;
/// The same where a place is so crowded that nothing else is left.
const TIGHT: f64 = 0.1;

/// One connector, or two halves that mate, at a place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Housing {
    /// The half at the end of the lead, and its mate.
    halves: (PartId, Option<PartId>),
    /// Where its place is.
    from: Point,
    /// Which way it points, a unit vector.
    way: (f64, f64),
    lead: f64,
    /// Whether it is on a board at full size: its lead is broken, and its distance is beside its name.
    on_board: bool,
    /// The box around all of it but its lead.
    pub rect: Rect,
    /// The boxes of its names.
    names: Vec<Rect>,
}

/// The connectors of all places on a board, each where nothing else is. `room` bounds where they may stand.
pub(super) fn place(model: &Model, board: &Board, taken: &[Rect], room: Option<Rect>, on_board: bool) -> Vec<Housing> {
    let mut done: Vec<Housing> = Vec::new();
    for &(place, at) in &board.places {
        for halves in at_place(model, place) {
            let off = |housing: &Housing, rect: &Rect| {
                let lead = clipped(housing.from, housing.rear(), rect).is_none();
                lead && !housing.rect.inflate(LEAD_CLEAR).overlaps(rect)
            };
            let inside = |housing: &Housing| {
                room.is_none_or(|room| room.contains_rect(&housing.rect)) && taken.iter().all(|t| off(housing, t))
            };
            // At a crowded place more slanting, closer, farther away; in the end on leads that lie along a run.
            let mut tries = [(8, 10, CLEAR), (24, 10, LEAD_CLEAR), (24, 30, TIGHT)].into_iter();
            let found = tries.find_map(|(ways, steps, clear)| {
                let mut all = spots(model, board, (at, on_board), halves, [ways, steps]).filter(&inside);
                all.find(|housing| housing.is_tidy(model) && free(housing, board, &done, clear))
            });
            done.extend(found);
        }
    }
    done
}

/// The connectors with wires at a place, those that mate there as one.
pub(super) fn at_place(model: &Model, place: PlaceId) -> Vec<(PartId, Option<PartId>)> {
    let here = |id: PartId| model.part(id).at == Some(place) && model.part(id).kind == PartKind::Connector;
    let mate = |id: PartId| {
        model.joints.iter().find_map(|joint| {
            let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
            (a == id).then_some(b).or((b == id).then_some(a)).filter(|&other| here(other))
        })
    };
    let wired = |id: PartId| model.part(id).pins.iter().any(|&pin| model.wires_on(pin).next().is_some());
    let all =
        model.part_ids().filter(|&id| here(id) && wired(id)).map(|id| (id, mate(id).filter(|&other| wired(other))));
    all.filter(|&(id, other)| other.is_none_or(|other| id < other)).collect()
}

/// Ways that a housing may point, the one away from the runs first, on leads that grow longer.
fn spots(
    model: &Model,
    board: &Board,
    (at, on_board): (Point, bool),
    halves: (PartId, Option<PartId>),
    [ways, steps]: [u32; 2],
) -> impl Iterator<Item = Housing> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for stretch in &board.stretches {
        for (here, there) in [(stretch.from, stretch.to), (stretch.to, stretch.from)] {
            let length = here.distance(there);
            if here.distance(at) < 0.01 && length > 0.0 {
                runs.push(((there.x - here.x) / length, (there.y - here.y) / length));
            }
        }
    }
    let mut ways: Vec<(f64, f64)> = (0..ways)
        .map(|way| f64::from(way) * std::f64::consts::TAU / f64::from(ways))
        .map(|angle: f64| ((angle.cos() * 1e6).round() / 1e6, (angle.sin() * 1e6).round() / 1e6))
        .collect();
    // How much a way goes along with the run that is nearest to it; slanting housings are harder to read.
    // What is on the left of the vehicle points up, what is on its right points down.
    let part = model.part(halves.0);
    let up = match sides::of_text(&part.title).or_else(|| sides::of_text(part.name.as_str())) {
        Some(Side::Left) => -1.0,
        Some(Side::Right) => 1.0,
        None => 0.0,
    };
    let along = move |way: &(f64, f64)| {
        let nearest = runs.iter().map(|run| run.0 * way.0 + run.1 * way.1).fold(-1.0, f64::max);
        nearest + if way.0 * way.1 == 0.0 { 0.0 } else { 0.6 } - up * way.1
    };
    ways.sort_by(|a, b| along(a).total_cmp(&along(b)));
    let housings = (0..steps).flat_map(move |step| {
        let lead = LEAD + if on_board { FOR_BREAK } else { 0.0 } + LONGER * f64::from(step);
        ways.clone().into_iter().map(move |way| (way, lead))
    });
    let whole: Vec<Housing> =
        housings.map(|(way, lead)| Housing::new(model, halves, (at, on_board), way, lead)).collect();
    whole.into_iter()
}

fn free(housing: &Housing, board: &Board, done: &[Housing], clear: f64) -> bool {
    let wide = housing.rect.inflate(clear);
    // A run is as thick as its bundle, however crowded the place is.
    let off_runs = housing.rect.inflate(CLEAR);
    let lead = (housing.from, housing.rear());
    let on_run = |s: &Stretch| {
        // A lead that runs along a run could not be seen.
        let far = Point::new((lead.0.x + 3.0 * lead.1.x) / 4.0, (lead.0.y + 3.0 * lead.1.y) / 4.0);
        clear > TIGHT && from_line(far, s.from, s.to) < 2.0
    };
    board.stretches.iter().all(|s| clipped(s.from, s.to, &off_runs).is_none() && !on_run(s))
        && board.places.iter().all(|(_, p)| !wide.inflate(1.8).contains(*p))
        && done.iter().all(|other| {
            !other.rect.inflate(clear).overlaps(&housing.rect)
                && clipped(other.from, other.rear(), &housing.rect.inflate(clear.min(LEAD_CLEAR))).is_none()
                && clipped(lead.0, lead.1, &other.rect.inflate(clear.min(LEAD_CLEAR))).is_none()
        })
}

impl Housing {
    /// Whether every name keeps clear of both halves and of each other.
    fn is_tidy(&self, model: &Model) -> bool {
        let mut steps: Vec<(Point, Point)> = Vec::new();
        for group in self.bodies(model) {
            for item in &group.items {
                if let Item::Path(path) = item {
                    let points: Vec<Point> = path.segs.iter().filter_map(end).collect();
                    steps.extend(points.windows(2).map(|pair| (pair[0], pair[1])));
                }
            }
        }
        let clear = |name: &Rect| steps.iter().all(|(a, b)| clipped(*a, *b, &name.inflate(0.2)).is_none());
        let apart = |(i, name): (usize, &Rect)| self.names[..i].iter().all(|other| !other.inflate(0.5).overlaps(name));
        self.names.iter().all(clear) && self.names.iter().enumerate().all(apart)
    }

    fn new(
        model: &Model,
        halves: (PartId, Option<PartId>),
        (from, on_board): (Point, bool),
        way: (f64, f64),
        lead: f64,
    ) -> Self {
        let mut housing = Self { halves, from, way, lead, on_board, rect: Rect::new(from, from), names: Vec::new() };
        let drawn: Vec<Item> = housing.bodies(model).into_iter().flat_map(|group| group.items).collect();
        housing.rect = around(drawn.iter().filter_map(Item::bounds)).unwrap_or(housing.rect);
        for item in &drawn {
            item.walk(&mut |item| {
                if let Item::Text(text) = item {
                    housing.names.push(text.bounds());
                }
            });
        }
        housing
    }

    /// A point so far along its way and so far to the right of it, seen along it.
    fn point(&self, along: f64, right: f64) -> Point {
        let (x, y) = self.way;
        self.from.by(x * along - y * right, y * along + x * right)
    }

    /// Where its lead ends.
    fn rear(&self) -> Point {
        self.point(self.lead, 0.0)
    }

    /// Whether a box comes too near to it or its lead.
    pub fn meets(&self, area: &Rect) -> bool {
        let wide = area.inflate(CLEAR);
        self.rect.overlaps(&wide) || clipped(self.from, self.rear(), &wide).is_some()
    }

    /// Whether a line from a point to another runs over a name of it.
    pub fn is_named_on(&self, from: Point, to: Point) -> bool {
        self.names.iter().any(|name| clipped(from, to, &name.inflate(0.6)).is_some())
    }

    /// Everything of it: the lead, then each half.
    pub fn draw(&self, model: &Model) -> Vec<Item> {
        let lead = Path::line(self.from, self.rear()).stroked(Stroke::solid(INK, HEAVY));
        let mut lead = ItemGroup::of(Tag::kind("connector-lead"), [lead]);
        if self.on_board {
            let middle = (self.lead + NODE) / 2.0;
            let corners = [(-0.7, -0.6), (0.7, -0.6), (0.7, 0.6), (-0.7, 0.6)];
            let corners = corners.map(|(along, right)| self.point(middle + along, right));
            lead.push(Path::polygon(&corners).filled(PAPER));
            for side in [-0.7, 0.7] {
                let ends = [-1.0, 1.0].map(|end| self.point(middle + side + 0.5 * end, 1.5 * end));
                lead.push(Path::line(ends[0], ends[1]).stroked(Stroke::solid(INK, SYMBOL)));
            }
        }
        std::iter::once(lead).chain(self.bodies(model)).map(Item::from).collect()
    }

    fn bodies(&self, model: &Model) -> Vec<ItemGroup> {
        let (first, other) = self.halves;
        let length = |id: PartId| ALONG.max(font::width(model.part(id).name.as_str(), SMALL, true) + 1.6);
        let face = self.lead + length(first);
        let mut groups = vec![self.body(model, first, [self.lead, face], 1.0)];
        match other {
            None => {
                let tip = [self.point(face + TIP, 0.0), self.point(face + 0.5, -1.2), self.point(face + 0.5, 1.2)];
                groups[0].push(Path::polygon(&tip).filled(INK));
            }
            Some(other) => groups.push(self.body(model, other, [face + TIP + length(other), face + TIP], -1.0)),
        }
        groups
    }

    /// A housing from its rear to its mating side, which faces along the way or against it.
    fn body(&self, model: &Model, id: PartId, [rear, face]: [f64; 2], forward: f64) -> ItemGroup {
        let half = ACROSS / 2.0;
        let at = |along: f64, right: f64| self.point(along, right);
        let name = model.part(id).name.to_string();
        let tag = Tag::kind("connector").with("connector", name.clone()).hovered(format!("{name}, latch towards you"));
        let case = [at(rear, -half), at(face, -half), at(face, half), at(rear, half)];
        let stroke = Stroke::solid(INK, SYMBOL);
        let mut group = ItemGroup::of(tag, [Path::polygon(&case).stroked(stroke).filled(PAPER)]);
        // The mating side, and the latch in its middle.
        group.push(Path::line(at(face, -half), at(face, half)).stroked(Stroke::solid(INK, HEAVY)));
        let latch = [at(face, -0.8), at(face - 1.6 * forward, -0.8), at(face - 1.6 * forward, 0.8), at(face, 0.8)];
        group.push(Path::polygon(&latch).stroked(stroke).filled(PAPER));
        // Whoever looks at the mating side with the latch on top has what is on the right of the way on the left.
        let side = if mirrored(model, id) { -forward } else { forward };
        group.push(Path::circle(at(face - 2.6 * forward, side * (half - 1.0)), 0.5).filled(INK));
        let words = if self.on_board { holder_words(model, id) } else { name.clone() };
        let bounds = around(case.map(|p| Rect::new(p, p))).unwrap_or(Rect::new(case[0], case[0]));
        let alone = self.halves.1.is_none();
        let text = if alone && (self.way.1 == 0.0 || self.way.0 > 0.0) {
            // Beyond the tip of its arrow.
            let (tip, left) = (at(face + TIP, 0.0), self.way.0 < 0.0);
            let anchor = if left { Anchor::End } else { Anchor::Start };
            let text = TextItem::new(tip.by(if left { -1.0 } else { 1.0 }, 0.0), words, SMALL);
            text.anchored(anchor).centred_on(tip.y)
        } else if self.way.1.abs() < self.way.0.abs() - 0.01 {
            // Above it: the other half is beside it.
            TextItem::new(Point::new(bounds.centre().x, bounds.top - 0.9), words, SMALL).anchored(Anchor::Middle)
        } else {
            TextItem::new(Point::new(bounds.right + 0.9, bounds.centre().y), words, SMALL).centred_on(bounds.centre().y)
        };
        group.push(ItemGroup::of(Tag::label(name), [text.bold()]));
        group
    }
}

/// How far from its breakout the rear of a connector is held.
pub(super) fn holder_distance(model: &Model, id: PartId) -> Option<String> {
    tail(model, id).map(|tail| format!("{:.0} mm", tail.value() * 1000.0))
}

/// A connector's name with that distance.
fn holder_words(model: &Model, id: PartId) -> String {
    let name = &model.part(id).name;
    holder_distance(model, id).map_or_else(|| name.to_string(), |far| format!("{name} {far}"))
}

/// Where a step of a path ends; `None` for the step that closes the path.
fn end(seg: &Seg) -> Option<Point> {
    match *seg {
        Seg::Move(p) | Seg::Line(p) | Seg::Cubic(_, _, p) | Seg::Arc { to: p, .. } => Some(p),
        Seg::Close => None,
    }
}

/// A housing on its own, for the key of the drawing.
pub(super) fn sample(from: Point) -> Vec<Item> {
    let housing = Housing {
        halves: (PartId(0), None),
        from,
        way: (1.0, 0.0),
        lead: 3.0,
        on_board: false,
        rect: Rect::new(from, from),
        names: Vec::new(),
    };
    let at = |along: f64, right: f64| housing.point(along, right);
    let (half, face) = (ACROSS / 2.0, 3.0 + ALONG);
    let stroke = Stroke::solid(INK, SYMBOL);
    let closed = |points: &[Point]| Path::polygon(points).stroked(stroke).filled(PAPER);
    vec![
        Path::line(from, housing.rear()).stroked(Stroke::solid(INK, HEAVY)).into(),
        closed(&[at(3.0, -half), at(face, -half), at(face, half), at(3.0, half)]).into(),
        Path::line(at(face, -half), at(face, half)).stroked(Stroke::solid(INK, HEAVY)).into(),
        closed(&[at(face, -0.8), at(face - 1.6, -0.8), at(face - 1.6, 0.8), at(face, 0.8)]).into(),
        Path::circle(at(face - 2.6, half - 1.0), 0.5).filled(INK).into(),
        Path::polygon(&[at(face + TIP, 0.0), at(face + 0.5, -1.2), at(face + 0.5, 1.2)]).filled(INK).into(),
    ]
}
