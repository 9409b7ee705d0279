//! The words of the drawing: what is at each place and what each run is, and the places on the sheet that have room for
//! it.

use super::housings::Housing;
use super::runs::{Board, Stretch};
use kit::font;
use kit::geometry::{clipped, from_line};
use kit::lines::{NAME, SMALL};
use kit::scene::{Point, Rect, Size};
use model::tails::{splice_spots, tail};
use model::{Model, PartId, PartKind, PinId, PlaceId, RunId, bundle};
use quantity::Metres;

/// A box of words with the point that it describes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Callout {
    /// The first line, in bold; empty for a run.
    pub heading: String,
    /// The other lines.
    pub lines: Vec<String>,
    /// The same in fewer words, for a place without room: the names alone.
    pub names: Vec<String>,
    /// What it points at.
    pub target: Point,
    /// The run or place, for tags.
    pub about: String,
    /// Where it stands.
    pub rect: Rect,
}

/// How much words say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// On a sheet with a table of runs.
    Sheet,
    /// On a board at full size.
    Board,
}

/// Distance from a box's edge to its words.
pub(super) const PAD: f64 = 1.6;
/// From one line to the next.
pub(super) const STEP: f64 = 3.7;
/// Widest line of a place's box.
const WIDEST: f64 = 92.0;
/// Widest line of a place's names alone.
const NAMES_WIDE: f64 = 40.0;
/// Most lines in a column of a box.
const TALLEST: usize = 21;
/// Rings of spots that are looked at, and how many of them are close by.
const RINGS: usize = 120;
/// See [`RINGS`].
const CLOSE: usize = 10;
/// How many of them a box may stand away from any point of its run.
const BESIDE: usize = 3;
/// How many of them a box may stand away with all its words.
const REACH: usize = 24;
/// Spots in a ring.
const RING: usize = 24;
/// Between the columns of a box.
const COLUMN_GAP: f64 = 4.0;

impl Callout {
    fn size(&self) -> Size {
        let columns = self.columns();
        let gaps = COLUMN_GAP * columns.len().saturating_sub(1) as f64;
        let body = columns.iter().map(|lines| widest(lines)).sum::<f64>() + gaps;
        let width = body.max(font::width(&self.heading, NAME, true));
        let tallest = columns.iter().map(|lines| lines.len()).max().unwrap_or(0);
        let head_room = if self.heading.is_empty() { 0.0 } else { STEP + 0.8 };
        Size::new(width + 2.0 * PAD, head_room + STEP * tallest as f64 + 2.0 * PAD - 0.6)
    }

    /// Shorter versions, the longest first: of a run its first line, then its letter in the table; of a place the names
    /// of its parts.
    fn shorter(&self) -> Vec<Self> {
        let Some(first) = self.lines.first().filter(|_| self.heading.is_empty()) else {
            return vec![Self { lines: self.names.clone(), ..self.clone() }];
        };
        let letter = first.split(' ').next().unwrap_or(first);
        [first.as_str(), letter].map(|line| Self { lines: vec![line.into()], ..self.clone() }).into()
    }

    /// Its lines in columns of even height.
    fn columns(&self) -> Vec<&[String]> {
        let count = self.lines.len().div_ceil(TALLEST).max(1);
        self.lines.chunks(self.lines.len().div_ceil(count).max(1)).collect()
    }

    /// Its lines, each with how far right and down of the first one it stands.
    pub fn spread(&self) -> impl Iterator<Item = (f64, f64, &String)> {
        let mut x = 0.0;
        let columns = self.columns().into_iter().map(move |lines| {
            let left = x;
            x += widest(lines) + COLUMN_GAP;
            (left, lines)
        });
        columns.flat_map(|(x, lines)| lines.iter().enumerate().map(move |(i, line)| (x, STEP * i as f64, line)))
    }
}

fn widest(lines: &[String]) -> f64 {
    lines.iter().map(|l| font::width(l, SMALL, false)).fold(0.0, f64::max)
}

/// The words of a place: its connectors first, with how many cavities are used and which way they face, then what
/// else the harness ends at there: rating and title of each.
pub(super) fn of_place(model: &Model, place: PlaceId, target: Point, detail: Detail) -> Callout {
    let mut lines = Vec::new();
    let splices = splice_spots(model);
    let usual = usual_tail(model);
    let here = || model.parts.iter().enumerate().filter(|(_, p)| p.at == Some(place));
    let new_wire = |pin: PinId| model.wires_on(pin).any(|wire| !model.wire(wire).existing);
    let tail_of = |i: usize| match tail(model, PartId(i)) {
        own if own == usual => String::new(),
        Some(own) => format!(" · branch {:.0} mm", own.value() * 1000.0),
        None if model.parts[i].pins.iter().any(|&pin| new_wire(pin)) => " · branch length not known".into(),
        None => String::new(),
    };
    for (i, part) in here().filter(|(_, p)| p.kind == PartKind::Connector) {
        let used = part.pins.iter().filter(|&&pin| model.wires_on(pin).next().is_some()).count();
        let mate = model.joints.iter().find_map(|joint| {
            let [a, b] = joint.pins.map(|pin| model.pin(pin).part.0);
            (a == i).then_some(b).or((b == i).then_some(a))
        });
        let faces = mate.map_or_else(|| "no mate".to_string(), |m| format!("mates {}", model.parts[m].name));
        let cavities = part.pins.len();
        lines.push(format!("{} · {} · {used} of {cavities} used · {faces}{}", part.name, part.title, tail_of(i)));
    }
    for (i, part) in here().filter(|(_, p)| p.kind != PartKind::Connector) {
        let wires = part.pins.iter().flat_map(|&pin| model.wires_on(pin)).count();
        if wires == 0 {
            continue;
        }
        lines.push(match part.kind {
            PartKind::Supply => format!("{} · supply, terminal {}", part.name, part.use_name),
            PartKind::Feed => format!("{} · the vehicle's wire", part.name),
            PartKind::Splice => {
                let spot = splices.iter().find(|spot| model.part(spot.splice).name == part.name);
                let at = spot.map_or_else(String::new, |spot| {
                    format!(" · {:.0} mm into {}", spot.along.value() * 1000.0, letter(spot.run))
                });
                format!("{} · splice of {wires}{at}", part.name)
            }
            _ => match part.rating {
                Some(rating) => format!("{} · {rating} · {}{}", part.name, part.title, tail_of(i)),
                None => format!("{} · {}{}", part.name, part.title, tail_of(i)),
            },
        });
    }
    let names: Vec<&str> = lines.iter().filter_map(|line| line.split(" · ").next()).collect();
    let names = font::filled(&names.join(", "), NAMES_WIDE, SMALL, false);
    lines.extend(boot(model, place));
    if detail == Detail::Board {
        lines.insert(0, wires_at(model, place));
    }
    let lines = lines.iter().flat_map(|line| font::filled(line, WIDEST, SMALL, false)).collect();
    let name = model.places[place.0].to_string();
    Callout { about: name.clone(), heading: name, lines, names, target, rect: Rect::new(target, target) }
}

/// The tail that most parts have.
pub(super) fn usual_tail(model: &Model) -> Option<Metres> {
    let mut counts: Vec<(usize, Metres)> = Vec::new();
    let ended = model.part_ids().filter(|&id| model.part(id).at.is_some() && model.part(id).kind != PartKind::Splice);
    for own in ended.filter_map(|id| tail(model, id)) {
        match counts.iter_mut().find(|(_, known)| *known == own) {
            Some((count, _)) => *count += 1,
            None => counts.push((1, own)),
        }
    }
    counts.into_iter().max_by(|a, b| a.0.cmp(&b.0).then(b.1.value().total_cmp(&a.1.value()))).map(|(_, own)| own)
}

/// How many wires go into each run of a place, and how many end at it.
fn wires_at(model: &Model, place: PlaceId) -> String {
    let runs = (0..model.runs.len()).map(RunId).filter(|run| model.runs[run.0].ends.contains(&place));
    let through: Vec<String> =
        runs.map(|run| format!("{} {}", letter(run), bundle::wires_in(model, run).len())).collect();
    let is_here = |pin: &&PinId| model.part(model.pin(**pin).part).at == Some(place);
    let ends = model.wires.iter().filter(|wire| !wire.path.is_empty()).flat_map(|wire| &wire.ends).filter(is_here);
    format!("wires · {} · {} of them end here", through.join(", "), ends.count())
}

/// What a boot or tape over a breakout has to close on: the bundles of its runs, where three or more meet.
fn boot(model: &Model, place: PlaceId) -> Option<String> {
    let runs: Vec<RunId> =
        (0..model.runs.len()).map(RunId).filter(|run| model.runs[run.0].ends.contains(&place)).collect();
    let size = |run: &RunId| format!("{} Ø {:.1}", letter(*run), bundle::diameter(model, *run).value() * 1000.0);
    let sizes: Vec<String> = runs.iter().map(size).collect();
    (runs.len() > 2).then(|| format!("breakout · boot or tape over {} mm", sizes.join(", ")))
}

/// A run's letter on the drawing: a, b, … z, aa, ab, …
pub(super) fn letter(run: RunId) -> String {
    let mut n = run.0;
    let mut letters = Vec::new();
    loop {
        letters.push(char::from(b'a' + (n % 26) as u8));
        if n < 26 {
            break;
        }
        n = n / 26 - 1;
    }
    letters.iter().rev().collect()
}

/// How many wires a run has, in words.
fn count(wires: usize) -> String {
    format!("{wires} {}", if wires == 1 { "wire" } else { "wires" })
}

/// The words of a run: its letter in the table, its length with tolerance, its bundle and covering; on a board all that
/// the table says, and its true length where it is drawn with a break.
pub(super) fn of_run(model: &Model, stretch: &Stretch, target: Point, detail: Detail) -> Callout {
    let row = row(model, stretch.run);
    let mut lines = match detail {
        Detail::Sheet => vec![format!("{} · {}", row[0], row[2]), format!("{} · {}", row[4], row[5])],
        Detail::Board => vec![format!("{} · {} · {}", row[0], row[1], row[2]), row[3..].join(" · ")],
    };
    if stretch.whole.broken_at().is_some() {
        let true_length = model.runs[stretch.run.0].length.value() * 1000.0;
        lines.push(format!("broken: {true_length:.0} mm from breakout to breakout"));
    }
    beside_run(model, stretch.run, target, lines)
}

fn beside_run(model: &Model, run: RunId, target: Point, lines: Vec<String>) -> Callout {
    let (heading, names) = (String::new(), Vec::new());
    Callout { about: about(model, run), heading, lines, names, target, rect: Rect::new(target, target) }
}

fn about(model: &Model, run: RunId) -> String {
    let [a, b] = model.runs[run.0].ends.map(|p| model.places[p.0].to_string());
    format!("{a} to {b}")
}

/// Headings of the table of runs.
pub(super) const HEADINGS: [&str; 7] = ["run", "between", "length", "wires", "bundle", "covering", "runs in, clips"];

/// A run's row in the table: letter, places, length with tolerance, wires, bundle diameter, covering, surroundings.
pub(super) fn row(model: &Model, run: RunId) -> [String; 7] {
    let this = &model.runs[run.0];
    let wires = bundle::wires_in(model, run).len();
    let clips = this.clips.map(|c| format!(", clip every {c}")).unwrap_or_default();
    [
        letter(run),
        about(model, run),
        format!("{} ± {}", this.length, this.tolerance),
        count(wires),
        if wires == 0 { "–".into() } else { format!("Ø {:.1} mm", bundle::diameter(model, run).value() * 1000.0) },
        this.covering.to_string(),
        format!("{}{clips}", this.surroundings),
    ]
}

/// Finds room for each box: the nearest spot around its target where it meets no run, no place and no other box.
/// `room` bounds the search where the sheet is of fixed size; without it there is always room farther out. The boxes of
/// `done` stand already.
pub(super) fn settle(
    board: &Board,
    (housings, taken): (&[Housing], &[Rect]),
    mut done: Vec<Callout>,
    callouts: Vec<Callout>,
    room: Option<Rect>,
) -> Vec<Callout> {
    for callout in callouts {
        let shorter = callout.shorter();
        let find = |callout: &Callout, rings: usize, only_clear: bool| {
            let size = callout.size();
            let end = |rect: &Rect| leader_end(rect, callout.target);
            let fits = |rect: &Rect| {
                room.is_none_or(|room| room.contains_rect(rect))
                    && free(rect, board, callout.target)
                    && taken
                        .iter()
                        .all(|t| !t.overlaps(&rect.inflate(1.0)) && clipped(callout.target, end(rect), t).is_none())
                    && housings.iter().all(|h| !h.meets(rect) && !h.is_named_on(callout.target, end(rect)))
                    && done
                        .iter()
                        .all(|d| !d.rect.inflate(1.5).overlaps(rect) && !leader_meets(d.target, &d.rect, rect))
                    && done.iter().all(|d| !leader_meets(callout.target, rect, &d.rect))
                    && board.places.iter().all(|(_, place)| off_place(*place, callout.target, end(rect)))
            };
            let clear = |rect: &Rect| {
                done.iter().all(|d| !leaders_cross(d, callout.target, end(rect)))
                    && board.stretches.iter().all(|s| !leader_crosses(rect, callout.target, s))
                    && housings.iter().all(|h| clipped(callout.target, end(rect), &h.rect.inflate(0.8)).is_none())
            };
            let mut near = spots(callout.target, size).take(rings * RING).filter(|rect| fits(rect));
            let rect = near.find(|rect| !only_clear || clear(rect))?;
            Some(Callout { rect, ..callout.clone() })
        };
        // All of the words where there is room within reach, then fewer close by rather than all of them far away; in
        // a tight corner a leader may cross a run or pass under a housing before a box stands on one.
        let versions = || std::iter::once(&callout).chain(&shorter);
        // A run keeps its length beside its letter as long as there is room for that anywhere near.
        let tries = [(CLOSE, true), (REACH, true), (CLOSE, false), (REACH, false), (RINGS, false)];
        let named = |callout: &&Callout| !callout.heading.is_empty() || callout.lines.iter().any(|l| l.contains(' '));
        // Best of all beside the run, wherever along it there is room.
        let along = |callout: &Callout, rings: usize| {
            let anchored = anchors(board, callout).into_iter();
            anchored.map(|target| Callout { target, ..callout.clone() }).find_map(|at| find(&at, rings, true))
        };
        // All words of a run close by, then fewer of them close by, before all of them far away.
        let close = || {
            let mut worded = versions().filter(|callout| callout.heading.is_empty() && named(callout));
            worded.find_map(|callout| [BESIDE, CLOSE].into_iter().find_map(|rings| along(callout, rings)))
        };
        let found = along(&callout, BESIDE).or_else(close).or_else(|| find(&callout, REACH, true)).or_else(|| {
            let with = |wanted: bool| {
                tries.into_iter().find_map(|(rings, only_clear)| {
                    let mut worded = versions().filter(|callout| named(callout) == wanted);
                    worded.find_map(|callout| find(callout, rings, only_clear))
                })
            };
            with(true).or_else(|| with(false))
        });
        let fallback = |off_runs: bool, off_names: bool| {
            versions().find_map(|callout| {
                let end = |rect: &Rect| leader_end(rect, callout.target);
                let apart = |rect: &Rect| {
                    let wide = rect.inflate(1.0);
                    (!off_runs || board.stretches.iter().all(|s| clipped(s.from, s.to, &wide).is_none()))
                        && done.iter().all(|d| !d.rect.overlaps(rect) && !leader_meets(d.target, &d.rect, rect))
                        && done.iter().all(|d| !leader_meets(callout.target, rect, &d.rect))
                        && housings.iter().all(|h| !h.rect.overlaps(rect))
                        && taken.iter().all(|t| !t.overlaps(rect))
                        && (!off_names || housings.iter().all(|h| !h.is_named_on(callout.target, end(rect))))
                };
                let rect = spots(callout.target, callout.size()).find(apart)?;
                Some(Callout { rect, ..callout.clone() })
            })
        };
        // A box stands on a run only where nothing else is left.
        let anywhere = || [(true, true), (false, true), (false, false)].into_iter().find_map(|(a, b)| fallback(a, b));
        done.extend(found.or_else(|| if room.is_none() { anywhere() } else { None }));
    }
    done
}

/// The boxes whose leaders cross that of another.
pub(super) fn crossing(callouts: &[Callout]) -> Vec<usize> {
    let end = |at: usize| leader_end(&callouts[at].rect, callouts[at].target);
    let crosses = |at: usize, other: &Callout| leaders_cross(other, callouts[at].target, end(at));
    (0..callouts.len()).filter(|at| callouts.iter().any(|other| crosses(*at, other))).collect()
}

/// The points that the words of a run may point at; a place's words point at the place.
fn anchors(board: &Board, callout: &Callout) -> Vec<Point> {
    let on = |s: &&Stretch| from_line(callout.target, s.from, s.to) < 1e-6;
    match board.stretches.iter().find(on).filter(|_| callout.heading.is_empty()) {
        Some(s) => [0.5, 0.35, 0.65, 0.25, 0.75]
            .map(|t| Point::new(s.from.x + (s.to.x - s.from.x) * t, s.from.y + (s.to.y - s.from.y) * t))
            .into(),
        None => vec![callout.target],
    }
}

/// Rectangles around a point, in rings that widen.
fn spots(target: Point, size: Size) -> impl Iterator<Item = Rect> {
    (0..RINGS).flat_map(move |ring| {
        let away = 5.0 + ring as f64 * 4.0;
        (0..RING).map(move |step| {
            // Straight up and down first, then to the sides: words beside a level trunk are read best above it.
            let order: [u8; RING] =
                [18, 6, 19, 17, 5, 7, 20, 16, 4, 8, 21, 15, 3, 9, 22, 14, 2, 10, 23, 13, 1, 11, 0, 12];
            let angle = f64::from(order[step]) * std::f64::consts::TAU / RING as f64;
            let (dx, dy) = (angle.cos(), angle.sin());
            // The box's edge, not its centre, keeps the distance.
            let reach = (size.width / 2.0 / dx.abs().max(1e-9)).min(size.height / 2.0 / dy.abs().max(1e-9));
            Rect::centred(target.by(dx * (away + reach), dy * (away + reach)), size)
        })
    })
}

fn free(rect: &Rect, board: &Board, target: Point) -> bool {
    let wide = rect.inflate(3.0);
    board.stretches.iter().all(|s| clipped(s.from, s.to, &wide).is_none())
        && board.places.iter().all(|(_, p)| *p == target || !rect.inflate(5.0).contains(*p))
}

/// The end of a box's leader line: the point of its edge nearest to the target.
pub(super) fn leader_end(rect: &Rect, target: Point) -> Point {
    Point::new(target.x.clamp(rect.left, rect.right), target.y.clamp(rect.top, rect.bottom))
}

/// Whether a leader keeps off a place that it doesn't describe.
fn off_place(place: Point, target: Point, end: Point) -> bool {
    const NODE: f64 = 2.2;
    place.distance(target) < 0.01 || from_line(place, target, end) > NODE
}

/// Whether a leader would cross that of another box.
fn leaders_cross(other: &Callout, target: Point, end: Point) -> bool {
    let (a, b) = (other.target, leader_end(&other.rect, other.target));
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, target) * side(a, b, end) < 0.0 && side(target, end, a) * side(target, end, b) < 0.0
}

/// Whether the leader from a point to its box meets another box.
fn leader_meets(target: Point, own: &Rect, other: &Rect) -> bool {
    clipped(target, leader_end(own, target), &other.inflate(0.8)).is_some()
}

/// Whether a leader would cross a stretch, or run along the stretch that it points at.
fn leader_crosses(rect: &Rect, target: Point, stretch: &Stretch) -> bool {
    let own = from_line(target, stretch.from, stretch.to) < 0.5;
    let end = leader_end(rect, target);
    (0..=20).any(|i| {
        let t = f64::from(i) / 20.0;
        let p = Point::new(target.x + (end.x - target.x) * t, target.y + (end.y - target.y) * t);
        // Off its own run it may lead away, not along it.
        if own {
            p.distance(target) > 4.0 && from_line(p, stretch.from, stretch.to) < 1.5
        } else {
            from_line(p, stretch.from, stretch.to) < 2.0
        }
    })
}
