//! What a build board needs beside the runs: pegs that the bundle is laid between, and the splices at their places.

use super::runs::{Board, Stretch, run_width};
use kit::colour::{INK, PAPER};
use kit::font;
use kit::geometry::{clipped, from_line};
use kit::lines::{SMALL, SYMBOL};
use kit::scene::*;
use model::tails::splice_spots;
use model::{Model, RunId};

/// From a breakout to the first peg, and the most between two pegs, millimetres (common practice, no source).
const FIRST_PEG: f64 = 20.0;
/// See [`FIRST_PEG`].
const PEGS: f64 = 300.0;
/// A peg's ring.
const PEG_RADIUS: f64 = 1.0;
/// From a run's edge to a peg's middle, and to a splice's name.
const BESIDE: f64 = 2.2;
/// Length of a splice's mark.
const SPLICE: f64 = 7.0;

/// Distances of a run's pegs from its first breakout: how many steps, and how long each is, millimetres.
pub(super) fn peg_steps(model: &Model, run: RunId) -> (usize, f64) {
    let between = (model.runs[run.0].length.value() * 1000.0 - 2.0 * FIRST_PEG).max(0.0);
    let steps = (between / PEGS).ceil() as usize;
    (steps, between / steps.max(1) as f64)
}

/// The same in words.
pub(super) fn peg_words(model: &Model, run: RunId) -> String {
    match peg_steps(model, run) {
        (0, _) => "none".into(),
        (1, step) => format!("{FIRST_PEG:.0} mm, then {step:.0} mm"),
        (steps, step) => format!("{FIRST_PEG:.0} mm, then {steps} × {step:.0} mm"),
    }
}

/// The pegs and splices of a board or a sheet of it.
pub(super) fn on(model: &Model, board: &Board, room: Option<Rect>) -> Vec<Item> {
    let inside = |item: &Item| match (room, item.bounds()) {
        (Some(room), Some(bounds)) => room.contains_rect(&bounds),
        _ => true,
    };
    let splices: Vec<Item> = splices(model, board, room).into_iter().collect();
    let marks: Vec<Rect> = splices.iter().filter_map(Item::bounds).map(|bounds| bounds.inflate(0.6)).collect();
    let apart = |item: &Item| item.bounds().is_none_or(|own| marks.iter().all(|mark| !mark.overlaps(&own)));
    let pegs = board.stretches.iter().flat_map(|stretch| pegs(model, stretch)).filter(inside).filter(apart);
    let pegs: Vec<Item> = pegs.collect();
    splices.into_iter().chain(pegs).collect()
}

fn pegs(model: &Model, stretch: &Stretch) -> Vec<Item> {
    let (steps, step) = peg_steps(model, stretch.run);
    if steps == 0 {
        return Vec::new();
    }
    let out = run_width(model, stretch.run) / 2.0 + BESIDE;
    let (nx, ny) = across(stretch);
    let places = (0..=steps).filter_map(|i| stretch.whole.at(FIRST_PEG + step * i as f64));
    let on_sheet = places.filter(|at| from_line(*at, stretch.from, stretch.to) < 1e-3);
    let peg = |at: Point| {
        let ring = |side: f64| {
            Path::circle(at.by(nx * out * side, ny * out * side), PEG_RADIUS)
                .filled(PAPER)
                .stroked(Stroke::solid(INK, SYMBOL))
        };
        Item::from(ItemGroup::of(Tag::kind("peg").hovered("peg"), [ring(1.0), ring(-1.0)]))
    };
    on_sheet.map(peg).collect()
}

/// The unit vector across a stretch.
fn across(stretch: &Stretch) -> (f64, f64) {
    let (ux, uy) = stretch.whole.direction();
    (-uy, ux)
}

/// A splice on its run.
struct Spliced {
    name: String,
    at: Point,
    /// The corners of the box across the run.
    case: [Point; 4],
    /// The bar in it.
    bar: [Point; 2],
}

fn splices(model: &Model, board: &Board, room: Option<Rect>) -> Vec<Item> {
    let mut all: Vec<Spliced> = Vec::new();
    for spot in splice_spots(model) {
        for stretch in board.stretches.iter().filter(|s| s.run == spot.run) {
            let mm = spot.along.value() * 1000.0;
            let along = if stretch.whole.first == spot.from { mm } else { stretch.whole.length - mm };
            let Some(at) = stretch.whole.at(along).filter(|at| from_line(*at, stretch.from, stretch.to) < 1e-3) else {
                continue;
            };
            all.push(Spliced::on(model, stretch, at, model.part(spot.splice).name.to_string()));
        }
    }
    let mut taken: Vec<Rect> = all.iter().map(Spliced::bounds).collect();
    let mut items: Vec<Item> = Vec::new();
    for splice in &all {
        let own = splice.bounds();
        let others: Vec<Rect> = taken.iter().filter(|rect| **rect != own).copied().collect();
        let name = splice.name_at(board, &others, room);
        taken.push(name);
        items.push(splice.drawn(name).into());
    }
    items
}

impl Spliced {
    fn on(model: &Model, stretch: &Stretch, at: Point, name: String) -> Self {
        let (nx, ny) = across(stretch);
        let half = run_width(model, stretch.run) / 2.0 + 0.9;
        let corner = |along: f64, out: f64| {
            let (along, out) = (along * SPLICE / 2.0, out * half);
            at.by(ny * along + nx * out, -nx * along + ny * out)
        };
        let case = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        Self { name, at, case, bar: [corner(-0.6, 0.0), corner(0.6, 0.0)] }
    }

    fn bounds(&self) -> Rect {
        let [a, ..] = self.case;
        self.case.iter().fold(Rect::new(a, a), |all, corner| all.union(&Rect::new(*corner, *corner)))
    }

    /// The room of its name: beside it, or farther away where runs and other splices are in the way.
    fn name_at(&self, board: &Board, others: &[Rect], room: Option<Rect>) -> Rect {
        const WAYS: [(f64, f64); 8] =
            [(0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0), (1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        let size = Size::new(font::width(&self.name, SMALL, true), SMALL);
        let own = self.bounds();
        let spots = (0..6).flat_map(|step| WAYS.map(|way| (way, BESIDE / 2.0 + 2.0 * f64::from(step))));
        let mut rects = spots.map(|((x, y), away)| {
            let reach = |way: f64, body: f64, name: f64| way * (body / 2.0 + away + name / 2.0);
            let middle = own.centre().by(reach(x, own.width(), size.width), reach(y, own.height(), size.height));
            Rect::centred(middle, size)
        });
        let is_free = |rect: &Rect| {
            let wide = rect.inflate(0.5);
            room.is_none_or(|room| room.contains_rect(rect))
                && others.iter().chain([&own]).all(|other| !other.overlaps(&wide))
                && board.stretches.iter().all(|s| clipped(s.from, s.to, &rect.inflate(1.8)).is_none())
                && board.places.iter().all(|(_, place)| !rect.inflate(2.2).contains(*place))
        };
        let first = Rect::centred(self.at.by(0.0, -own.height() / 2.0 - BESIDE), size);
        rects.find(is_free).unwrap_or(first)
    }

    /// The box across its run, and its name.
    fn drawn(&self, name: Rect) -> ItemGroup {
        let body = Path::polygon(&self.case).filled(PAPER).stroked(Stroke::solid(INK, SYMBOL));
        let bar = Path::line(self.bar[0], self.bar[1]).stroked(Stroke::solid(INK, 1.2));
        let middle = name.centre();
        let text = TextItem::new(middle, self.name.clone(), SMALL).anchored(Anchor::Middle).bold().centred_on(middle.y);
        let words = format!("splice {}", self.name);
        let tag = Tag::kind("splice").with("splice", self.name.clone()).hovered(words);
        ItemGroup::of(tag, [Item::from(body), bar.into(), ItemGroup::of(Tag::label(self.name.clone()), [text]).into()])
    }
}
