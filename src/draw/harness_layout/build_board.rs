//! The layout at full size, cut into sheets that are laid edge to edge on a build board. Each sheet has a cross at each
//! corner of its field; sheets meet cross on cross. Sheets without any run on them are left out, and each sheet says
//! which ones lie beside it. Long runs are drawn shorter, with a break that shows the true length. The first sheet is a
//! key plan. For a plotter it is all one sheet, as wide as the roll.

use super::callouts::{Detail, STEP};
use super::cells::{Cell, name};
use super::key_plan;
use super::legend::Pages;
use super::paint::{Leaders, drawn, strip};
use super::runs::{Board, Measure, Stretch, lay};
use super::tree;
use super::tree::Limb;
use kit::colour::{INK, SOFT_INK};
use kit::font;
use kit::geometry::clipped;
use kit::lines::{SMALL, SYMBOL, TITLE};
use kit::scene::*;
use kit::sheet::{Paper, Sheet};
use model::Model;
use model::tails::splice_spots;
use std::collections::BTreeMap;

/// Half the length of a registration cross's arms.
const ARM: f64 = 5.0;

/// A board at full size: runs longer than this, in millimetres, are drawn so long where that shows all their splices.
const LONGEST: f64 = 240.0;
/// Distance of a run's last splice from its break, millimetres.
const FROM_BREAK: f64 = 20.0;
/// Room around the runs of a plotter's sheet, for words, millimetres.
const ROLL_ROOM: f64 = 110.0;

/// A board at full size, its long runs broken.
fn full_size(model: &Model) -> Measure {
    let farthest = splice_spots(model).iter().map(|spot| spot.along.value() * 1000.0).fold(0.0, f64::max);
    Measure { mm_per_metre: 1000.0, longest: LONGEST.max(2.0 * (farthest + FROM_BREAK)) }
}

/// How much longer runs are drawn where a break would else lie on a seam, millimetres: the first that helps.
const LONGER: [f64; 6] = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0];

/// A tree at full size, cut into sheets with no break on a seam, if that can be.
fn cut_clear(model: &Model, trunk: &Limb, field: Rect) -> BTreeMap<Cell, Board> {
    let measure = full_size(model);
    let mut tries = LONGER.into_iter().map(|longer| {
        let board = lay(model, trunk, Measure { longest: measure.longest + longer, ..measure });
        cut(&board, field)
    });
    let first = tries.next().unwrap_or_default();
    let inner = field.inflate(-FROM_BREAK / 2.0);
    let is_clear = |cells: &BTreeMap<Cell, Board>| {
        let breaks = cells.values().flat_map(|board| &board.stretches).filter_map(|s| s.whole.broken_at());
        // A break is inside one sheet, or as far outside as another's.
        breaks.filter(|at| field.inflate(FROM_BREAK / 2.0).contains(*at)).all(|at| inner.contains(at))
    };
    if is_clear(&first) { first } else { tries.find(is_clear).unwrap_or(first) }
}

/// Draws the key plan and every sheet of the board at full size on a paper lying on its long side, in reading order.
pub fn tiles(model: &Model, paper: Paper) -> Vec<Scene> {
    let forest = tree::grow(model);
    let sheet = Sheet::of(paper.lying());
    let field = sheet.field.inflate(-ARM);
    let boards: Vec<BTreeMap<Cell, Board>> = forest.trunks.iter().map(|trunk| cut_clear(model, trunk, field)).collect();
    let tiles: Vec<Tile> = boards.iter().flat_map(|cells| drawn_cells(model, cells, field, 1.0)).collect();
    if tiles.is_empty() {
        return Vec::new();
    }
    let plans = boards.iter().map(|cells| key_plan::Plan::of(cells, field)).collect();
    let plan = key_plan::pages(model, plans, sheet.field.size());
    let count = plan.len() + tiles.len();
    let plan = plan.into_iter().map(|(items, size)| {
        let sheet = sheet.trimmed(size);
        let moved = items.into_iter().map(|item| item.moved(sheet.field.left, sheet.field.top)).collect();
        (sheet, "Build board, key plan", "not to scale", "Key plan of the build board".to_string(), moved)
    });
    let tiles = tiles.into_iter().map(|tile| {
        let described = format!("Build board at full size, sheet {}", tile.name);
        (sheet.clone(), "Build board", "1:1", described, tile.items)
    });
    let scene = |(i, (sheet, drawing, scale, described, items)): (usize, (Sheet, &str, &str, String, Vec<Item>))| {
        let strip = strip(model, drawing, scale, [i + 1, count]).variant(paper.name());
        sheet.scene(&strip, &described, items)
    };
    plan.chain(tiles).enumerate().map(scene).collect()
}

/// Draws the board at full size for a plotter: a sheet for each tree, as wide as the roll and as long as it takes. A tree
/// that is too high for the roll takes several, laid edge to edge.
pub fn rolls(model: &Model, roll_mm: f64) -> Vec<Scene> {
    let forest = tree::grow(model);
    let mut all: Vec<(Size, Tile)> = Vec::new();
    for trunk in &forest.trunks {
        let board = lay(model, trunk, full_size(model));
        let Some(bounds) = extent(&board) else { continue };
        let size = Size::new((bounds.width() + 2.0 * ROLL_ROOM + 60.0).max(420.0), roll_mm);
        let field = Sheet::of(size).field.inflate(-ARM);
        let fits = bounds.height() + ROLL_ROOM <= field.height();
        let middle = if fits { bounds.centre().y } else { 0.0 };
        let corner = Point::new(bounds.centre().x - field.width() / 2.0, middle - field.height() / 2.0);
        let cells = cut_from(&board, field, corner);
        all.extend(drawn_cells(model, &cells, field, 1.0).into_iter().map(|tile| (size, tile)));
    }
    if all.is_empty() {
        return Vec::new();
    }
    let pages = add_tables(model, &mut all, roll_mm);
    let count = all.len() + pages.len();
    let last = pages.into_iter().enumerate().map(|(i, (items, size))| {
        let strip = strip(model, "Build board, pegs and holders", "not to scale", [all.len() + i + 1, count]);
        let sheet = Sheet::around(size);
        let moved = items.into_iter().map(|item| item.moved(sheet.field.left, sheet.field.top)).collect();
        sheet.scene(&strip.variant(format!("{roll_mm:.0}")), "Pegs and holders of the build board", moved)
    });
    let last: Vec<Scene> = last.collect();
    let scene = |(i, (size, tile)): (usize, (Size, Tile))| {
        let strip = strip(model, "Build board", "1:1", [i + 1, count]).variant(format!("{roll_mm:.0}"));
        Sheet::of(size).scene(&strip, "Build board at full size, for a plotter", tile.items)
    };
    all.into_iter().enumerate().map(scene).chain(last).collect()
}

/// Adds the tables of pegs and holders where a plotter's sheets have room; what finds none goes on sheets of its own.
fn add_tables(model: &Model, sheets: &mut [(Size, Tile)], roll_mm: f64) -> Vec<(Vec<Item>, Size)> {
    let mut rest = Pages::new(Sheet::of(Size::new(roll_mm, roll_mm)).field.size());
    for (items, size) in key_plan::fittings(model, rest.room()) {
        let found = sheets.iter_mut().find_map(|(sheet, tile)| {
            let field = Sheet::of(*sheet).field.inflate(-ARM);
            let at = spot(&field, &tile.board, &tile.items, size)?;
            Some((at, &mut tile.items))
        });
        match found {
            Some((at, there)) => there.extend(items.into_iter().map(|item| item.moved(at.x, at.y))),
            None => rest.beside(items, size),
        }
    }
    rest.finish().into_iter().filter(|(items, _)| !items.is_empty()).collect()
}

/// What is on a sheet of a layout that is cut up, in the sheet's own coordinates.
pub(super) struct Tile {
    pub name: String,
    pub items: Vec<Item>,
    board: Board,
}

/// A tree at a scale, cut into sheets of a paper lying on its long side.
pub(super) fn cut_up(model: &Model, trunk: &Limb, paper: Paper, scale: f64) -> Vec<Tile> {
    let field = Sheet::of(paper.lying()).field.inflate(-ARM);
    drawn_cells(model, &cut(&lay(model, trunk, Measure::whole(1000.0 / scale)), field), field, scale)
}

fn drawn_cells(model: &Model, cells: &BTreeMap<Cell, Board>, field: Rect, scale: f64) -> Vec<Tile> {
    let draw = |(cell, board): (&Cell, &Board)| Tile {
        name: name(*cell),
        items: tile(model, field, *cell, board, cells, scale),
        board: board.clone(),
    };
    cells.iter().map(draw).collect()
}

fn extent(board: &Board) -> Option<Rect> {
    around(board.stretches.iter().flat_map(|s| [s.from, s.to]).map(|p| Rect::new(p, p)))
}

/// Cuts a board into cells of a field's size. The contents of each cell are moved to the field.
fn cut(board: &Board, field: Rect) -> BTreeMap<Cell, Board> {
    let Some(bounds) = extent(board) else { return BTreeMap::new() };
    // The trunk lies through the middle of a row, so that it does not run along a seam.
    cut_from(board, field, Point::new(bounds.left - field.width() * 0.1, -field.height() / 2.0))
}

/// The same with a corner of the first cell.
fn cut_from(board: &Board, field: Rect, first: Point) -> BTreeMap<Cell, Board> {
    let Some(bounds) = extent(board) else { return BTreeMap::new() };
    let (left, top) = (first.x, first.y);
    let column = |x: f64| ((x - left) / field.width()).floor() as i64;
    let row = |y: f64| ((y - top) / field.height()).floor() as i64;
    let mut cells: BTreeMap<Cell, Board> = BTreeMap::new();
    for r in row(bounds.top)..=row(bounds.bottom) {
        for c in column(bounds.left)..=column(bounds.right) {
            let corner = Point::new(left + c as f64 * field.width(), top + r as f64 * field.height());
            let window = Rect::sized(corner, field.size());
            let (dx, dy) = (field.left - corner.x, field.top - corner.y);
            let stretches: Vec<Stretch> = board
                .stretches
                .iter()
                .filter_map(|s| {
                    let (from, to) = clipped(s.from, s.to, &window).filter(|(a, b)| a.distance(*b) > 0.5)?;
                    Some(Stretch { run: s.run, from: from.by(dx, dy), to: to.by(dx, dy), whole: s.whole.by(dx, dy) })
                })
                .collect();
            let places = board.places.iter().filter(|(_, p)| window.contains(*p)).map(|(id, p)| (*id, p.by(dx, dy)));
            let cell = Board { stretches, places: places.collect() };
            if !cell.stretches.is_empty() {
                cells.insert((r, c), cell);
            }
        }
    }
    cells
}

fn tile(model: &Model, field: Rect, cell: Cell, board: &Board, all: &BTreeMap<Cell, Board>, scale: f64) -> Vec<Item> {
    let detail = if scale == 1.0 { Detail::Board } else { Detail::Sheet };
    let mut items = drawn(model, board, Some(field.inflate(-8.0)), detail, Leaders::Untangled).0;
    for corner in
        [(field.left, field.top), (field.right, field.top), (field.left, field.bottom), (field.right, field.bottom)]
    {
        items.push(cross(Point::new(corner.0, corner.1)).into());
    }
    let (row, column) = cell;
    let beside: Vec<String> = [
        ("upper", (row - 1, column)),
        ("left", (row, column - 1)),
        ("right", (row, column + 1)),
        ("lower", (row + 1, column)),
    ]
    .into_iter()
    .filter(|(_, c)| all.contains_key(c))
    .map(|(side, c)| format!("{side} edge on {}", name(c)))
    .collect();
    let words = if beside.is_empty() { "stands alone".to_string() } else { beside.join(", ") };
    let at = spot(&field, board, &items, Size::new(font::width(&words, SMALL, false).max(20.0), 12.5));
    let at = at.unwrap_or(Point::new(field.left + ARM + 2.0, field.top + 1.0));
    let label = [
        TextItem::new(at.by(0.0, 6.0), name(cell), TITLE).bold(),
        TextItem::new(at.by(0.0, 11.0), words, SMALL).coloured(SOFT_INK),
    ];
    items.push(ItemGroup::of(Tag::label("tile"), label).into());
    let has_holders =
        items.iter().any(|item| matches!(item, Item::Group(group) if group.tag.kind.as_deref() == Some("connector")));
    if scale == 1.0 && has_holders {
        // Wherever there is room: it says how to read what is on the sheet.
        let lines = TAILS.map(|line| font::width(line, SMALL, false));
        let size = Size::new(lines.into_iter().fold(0.0, f64::max), STEP * TAILS.len() as f64);
        if let Some(at) = spot(&field, board, &items, size) {
            let text = |(i, line): (usize, &str)| {
                TextItem::new(at.by(0.0, STEP * (i as f64 + 0.8)), line, SMALL).coloured(SOFT_INK)
            };
            items.push(ItemGroup::of(Tag::label("holders"), TAILS.into_iter().enumerate().map(text)).into());
        }
    }
    if scale == 1.0 {
        // Where a sheet has no room left, another one has the bar.
        let room = [Size::new(BAR + 60.0, 6.0), Size::new(BAR, 9.0)];
        let found = room.into_iter().find_map(|size| Some((size, spot(&field, board, &items, size)?)));
        items.extend(found.map(|(size, at)| Item::from(scale_bar(at.by(0.0, 3.0), size.height > 6.0))));
    }
    items
}

/// The top left of a spot so large that nothing lies on: along the top, along the foot, then anywhere.
fn spot(field: &Rect, board: &Board, items: &[Item], size: Size) -> Option<Point> {
    // Of slanting runs the box around them is not taken, only the line itself.
    let is_run = |item: &&Item| matches!(item, Item::Group(group) if group.tag.kind.as_deref() == Some("run"));
    let taken: Vec<Rect> = items.iter().filter(|item| !is_run(item)).filter_map(Item::bounds).collect();
    let [top, foot] = [field.top + 1.0, field.bottom - 1.5 - size.height];
    let between = (0..60).map(|i| top + 5.0 + 4.0 * f64::from(i)).take_while(|y| *y < foot);
    let mut spots = [top, foot].into_iter().chain(between).flat_map(|y| {
        let room = (field.width() - size.width - 4.0 * ARM).max(0.0);
        (0..=20).map(move |i| Point::new(field.left + ARM + 2.0 + room * f64::from(i) / 20.0, y))
    });
    spots.find(|at| {
        let spot = Rect::sized(*at, size).inflate(1.5);
        let run = |s: &Stretch| clipped(s.from, s.to, &spot.inflate(3.0)).is_some();
        !taken.iter().any(|t| t.overlaps(&spot)) && !board.stretches.iter().any(run)
    })
}

/// How to read the leads of connectors.
const TAILS: [&str; 2] = [
    "Runs are at full size. Leads to connectors are broken: set each holder",
    "at the distance beside its name, from the breakout to its rear.",
];

/// Length of the bar to hold a ruler to.
const BAR: f64 = 100.0;

/// A bar of 100 mm, to hold a ruler to before the sheets are laid out.
fn scale_bar(at: Point, words_below: bool) -> ItemGroup {
    let stroke = Stroke::solid(INK, SYMBOL);
    let tick = |i: u32| {
        let x = at.x + BAR / 10.0 * f64::from(i);
        let half = if i.is_multiple_of(10) { 2.0 } else { 1.0 };
        Item::from(Path::line(Point::new(x, at.y - half), Point::new(x, at.y + half)).stroked(stroke))
    };
    let words = "100 mm: if a ruler disagrees, print at 100 %";
    let text = if words_below { at.by(0.0, 4.6) } else { at.by(BAR + 3.0, 0.0) };
    let text = TextItem::new(text, words, SMALL).centred_on(text.y);
    let line = Path::line(at, at.by(BAR, 0.0)).stroked(stroke);
    let items = (0..=10).map(tick).chain([line.into(), ItemGroup::of(Tag::label("scale bar"), [text]).into()]);
    ItemGroup::of(Tag::kind("scale-bar"), items)
}

/// A registration cross in a ring.
fn cross(at: Point) -> ItemGroup {
    let stroke = Stroke::solid(INK, SYMBOL);
    ItemGroup::of(
        Tag::kind("registration"),
        [
            Path::line(at.by(-ARM, 0.0), at.by(ARM, 0.0)).stroked(stroke),
            Path::line(at.by(0.0, -ARM), at.by(0.0, ARM)).stroked(stroke),
            Path::circle(at, ARM / 2.0).stroked(stroke),
        ],
    )
}
