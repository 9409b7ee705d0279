//! Reads a written SVG back and counts drawing faults: texts on texts, on lines or on parts, wires through parts or
//! over pins that they do not join, wires on wires, lettering too small to read, anything off the sheet.
//!
//! It reads only the file, with the true outlines of the letters, and so tests layout and writer alike.

mod read;
mod routes;

pub use routes::Routes;
use routes::{CHORD, bows_over};

use kit::geometry::{Point, Rect};
use kit::lines::LEAST_TEXT;
use read::Words;
use std::collections::BTreeSet;
use std::fmt;

/// Kinds of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// Two texts share ink.
    TextOnText,
    /// A line runs through a text.
    TextOnLine,
    /// A text is on a part that it does not belong to.
    TextOnPart,
    /// A wire runs through a part's body.
    WireThroughPart,
    /// A wire runs over a pin that it does not join.
    WireOverPin,
    /// Two wires, or the bars or leads of two pins, lie on each other along a stretch.
    WireOnWire,
    /// Lettering below the minimum size.
    SmallText,
    /// Ink beyond the sheet.
    OffSheet,
    /// A text that ends in `…`: it was cut to its room.
    ClippedText,
    /// A bow of one wire over another that is painted under it.
    BowUnderWire,
}

/// What was found in one drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Audit {
    /// Each fault with what it concerns, in the drawing's order.
    pub faults: Vec<(Fault, String)>,
    /// How many texts were looked at.
    pub texts: usize,
    /// How many wires were looked at.
    pub wires: usize,
    /// How many part bodies were looked at.
    pub parts: usize,
    /// How straight the wires run.
    pub routes: Routes,
}

impl Audit {
    /// How many faults of a kind there are.
    pub fn count(&self, kind: Fault) -> usize {
        self.faults.iter().filter(|(k, _)| *k == kind).count()
    }
    /// Whether nothing was found.
    pub fn clean(&self) -> bool {
        self.faults.is_empty()
    }
}

impl fmt::Display for Audit {
    /// A line a fault, then what was looked at.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (kind, what) in &self.faults {
            writeln!(f, "{kind:?}: {what}")?;
        }
        write!(
            f,
            "{} faults; {} texts, {} wires, {} parts; {}",
            self.faults.len(),
            self.texts,
            self.wires,
            self.parts,
            self.routes
        )
    }
}

/// Slack for rounding, millimetres.
const SLACK: f64 = 0.03;
/// How near to a pin a wire counts as running over it, millimetres.
const PIN_REACH: f64 = 0.4;
/// Around its own pin a wire may enter a part's body (splice dots, terminals), millimetres.
const OWN_REACH: f64 = 1.3;
/// How deep into a part's body a wire must come to count, millimetres.
const DEPTH: f64 = 0.2;
/// Length along which wires must lie on each other to count, millimetres.
const STRETCH: f64 = 0.6;
/// How far beside each other wires still lie on each other, millimetres.
const BESIDE: f64 = 0.2;

/// Audits an SVG written by [`kit::svg`].
///
/// # Errors
/// When the text is not such an SVG, with what was not understood.
pub fn audit(svg: &str) -> Result<Audit, String> {
    let drawing = read::read(svg)?;
    let wires = drawing.wires();
    let mut audit = Audit {
        texts: drawing.texts.len(),
        wires: wires.iter().filter_map(|w| w.wire.as_deref()).collect::<BTreeSet<_>>().len(),
        parts: drawing.parts.len(),
        routes: routes::routes(&wires),
        faults: Vec::new(),
    };
    texts_on_texts(&drawing, &mut audit);
    texts_on_lines(&drawing, &mut audit);
    texts_on_parts(&drawing, &mut audit);
    wires_through_parts(&wires, &drawing, &mut audit);
    wires_over_pins(&wires, &drawing, &mut audit);
    wires_on_wires(&wires, &mut audit);
    for text in drawing.texts.iter().filter(|t| t.size < LEAST_TEXT - 1e-6) {
        audit.faults.push((Fault::SmallText, format!("{} at {:.2} mm", text.words, text.size)));
    }
    for text in drawing.texts.iter().filter(|text| text.words.contains('…')) {
        audit.faults.push((Fault::ClippedText, text.words.clone()));
    }
    bows_under_wires(&wires, &mut audit);
    let sheet = drawing.sheet.inflate(SLACK);
    let off = drawing.texts.iter().filter(|t| !sheet.contains_rect(&t.ink)).map(|t| format!("text {}", t.words));
    let off = off.chain(drawing.lines.iter().filter(|l| !sheet.contains_rect(&l.bounds)).map(|l| l.name()));
    audit.faults.extend(off.map(|what| (Fault::OffSheet, what)));
    Ok(audit)
}

fn texts_on_texts(drawing: &read::Drawing, audit: &mut Audit) {
    for (i, a) in drawing.texts.iter().enumerate() {
        for b in &drawing.texts[i + 1..] {
            if a.ink.inflate(-SLACK).overlaps(&b.ink.inflate(-SLACK)) {
                audit.faults.push((Fault::TextOnText, format!("{} on {}", a.words, b.words)));
            }
        }
    }
}

fn texts_on_lines(drawing: &read::Drawing, audit: &mut Audit) {
    for text in &drawing.texts {
        for line in drawing.lines.iter().filter(|line| line.bounds.overlaps(&text.ink)) {
            let keep = text.ink.inflate(line.width / 2.0 - SLACK);
            if line.steps().any(|(a, b)| crosses(a, b, &keep)) {
                audit.faults.push((Fault::TextOnLine, format!("{} on {}", text.words, line.name())));
            }
        }
    }
}

fn texts_on_parts(drawing: &read::Drawing, audit: &mut Audit) {
    for text in &drawing.texts {
        for part in &drawing.parts {
            if !text.groups.contains(&part.group) && text.ink.overlaps(&part.body.inflate(-SLACK)) {
                audit.faults.push((Fault::TextOnPart, format!("{} on {}", text.words, part.name)));
            }
        }
    }
}

fn wires_through_parts(wires: &[&read::Line], drawing: &read::Drawing, audit: &mut Audit) {
    for wire in wires {
        let own = drawing.pins.iter().filter(|pin| wire.joins(&pin.name)).map(|pin| pin.at);
        let own: Vec<Point> = own.collect();
        for part in drawing.parts.iter().filter(|part| wire.bounds.overlaps(&part.body)) {
            let inner = part.body.inflate(-DEPTH);
            let pierced = wire.steps().any(|(a, b)| {
                let outside = own.iter().all(|&p| !part.body.inflate(SLACK).contains(p));
                if outside { crosses(a, b, &inner) } else { deep(a, b, &inner, &own) }
            });
            if pierced {
                audit.faults.push((Fault::WireThroughPart, format!("{} through {}", wire.name(), part.name)));
            }
        }
    }
}

/// Whether the stretch enters the box farther than [`OWN_REACH`] from every one of the wire's own pins.
fn deep(a: Point, b: Point, inner: &Rect, own: &[Point]) -> bool {
    let length = a.distance(b);
    let samples = (length / 0.1).ceil().max(1.0) as usize;
    (0..=samples).any(|i| {
        let t = i as f64 / samples as f64;
        let p = Point::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
        inner.contains(p) && own.iter().all(|&pin| pin.distance(p) > OWN_REACH)
    })
}

fn wires_over_pins(wires: &[&read::Line], drawing: &read::Drawing, audit: &mut Audit) {
    for wire in wires {
        let reach = wire.bounds.inflate(PIN_REACH);
        for pin in drawing.pins.iter().filter(|pin| reach.contains(pin.at)) {
            let own = if wire.named() { wire.joins(&pin.name) } else { wire.ends_at(pin.at, PIN_REACH) };
            if !own && wire.steps().any(|(a, b)| gap(pin.at, a, b) < PIN_REACH) {
                audit.faults.push((Fault::WireOverPin, format!("{} over {}", wire.name(), pin.name)));
            }
        }
    }
}

fn wires_on_wires(wires: &[&read::Line], audit: &mut Audit) {
    for (i, a) in wires.iter().enumerate() {
        let near = a.bounds.inflate(BESIDE);
        for b in wires[i + 1..].iter().filter(|b| near.overlaps(&b.bounds)) {
            if a.conductor == b.conductor {
                continue;
            }
            let shared: f64 = a.steps().flat_map(|s| b.steps().map(move |t| shared(s, t))).fold(0.0, f64::max);
            if shared > STRETCH {
                audit.faults.push((Fault::WireOnWire, format!("{} on {} for {shared:.1} mm", a.name(), b.name())));
            }
        }
    }
}

/// A bow is drawn of short chords. The wire that it crosses stands upright, and must be painted before it.
fn bows_under_wires(wires: &[&read::Line], audit: &mut Audit) {
    for (i, a) in wires.iter().enumerate() {
        for (j, b) in wires.iter().enumerate().skip(i + 1).filter(|(_, b)| b.bounds.overlaps(&a.bounds)) {
            for (c, d) in b.steps().filter(|(c, d)| (c.x - d.x).abs() < 1e-6 && (c.y - d.y).abs() > 2.0 * CHORD) {
                let (top, bottom) = (c.y.min(d.y), c.y.max(d.y));
                let over = |line: &read::Line| line.conductor == a.conductor && bows_over(line, c.x, top, bottom);
                if a.conductor != b.conductor && over(a) && !wires[j + 1..].iter().any(|line| over(line)) {
                    audit.faults.push((Fault::BowUnderWire, format!("{} under {}", a.name(), b.name())));
                }
            }
        }
    }
}

/// Distance of a point from a stretch.
fn gap(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let t = if square == 0.0 { 0.0 } else { (((p.x - a.x) * dx + (p.y - a.y) * dy) / square).clamp(0.0, 1.0) };
    p.distance(a.by(dx * t, dy * t))
}

/// The length over which two lines overlap; 0 if they only cross or meet.
fn shared((a, b): (Point, Point), (c, d): (Point, Point)) -> f64 {
    if !Rect::new(a, b).inflate(BESIDE).overlaps(&Rect::new(c, d).inflate(BESIDE)) {
        return 0.0;
    }
    let length = a.distance(b);
    if length < 1e-9 {
        return 0.0;
    }
    let (ux, uy) = ((b.x - a.x) / length, (b.y - a.y) / length);
    let along = |p: Point| (p.x - a.x) * ux + (p.y - a.y) * uy;
    let across = |p: Point| (-(p.x - a.x) * uy + (p.y - a.y) * ux).abs();
    if across(c) > BESIDE || across(d) > BESIDE {
        return 0.0;
    }
    let (low, high) = (along(c).min(along(d)).max(0.0), along(c).max(along(d)).min(length));
    (high - low).max(0.0)
}

/// Whether a stretch enters a box (Liang and Barsky's clipping, 1984); running along its edge does not count.
fn crosses(a: Point, b: Point, area: &Rect) -> bool {
    if area.width() <= 0.0 || area.height() <= 0.0 {
        return false;
    }
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for (delta, room) in
        [(-dx, a.x - area.left), (dx, area.right - a.x), (-dy, a.y - area.top), (dy, area.bottom - a.y)]
    {
        if delta == 0.0 {
            if room <= 0.0 {
                return false;
            }
        } else if delta < 0.0 {
            enter = enter.max(room / delta);
        } else {
            leave = leave.min(room / delta);
        }
    }
    enter < leave || (dx == 0.0 && dy == 0.0)
}

impl Words {
    /// Whether there is any ink at all.
    fn inked(&self) -> bool {
        self.ink.width() > 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kit::colour::INK;
    use kit::scene::*;
    use kit::svg;

    fn wire(number: &str, from: &str, to: &str, points: &[Point]) -> ItemGroup {
        let tag = Tag::wire(number).between(from, to);
        ItemGroup::of(tag, [Path::polyline(points).stroked(Stroke::solid(INK, 0.7))])
    }
    fn part(name: &str, left: f64, top: f64) -> ItemGroup {
        let body = Rect::sized(Point::new(left, top), Size::new(10.0, 10.0));
        let mut group =
            ItemGroup::of(Tag::part(name).outlined(body), [Path::rect(&body).stroked(Stroke::solid(INK, 0.35))]);
        let pin = Point::new(left + 5.0, top + 10.0);
        group.push(ItemGroup::of(Tag::pin_at(format!("{name}.1"), pin), [Path::circle(pin, 0.3).filled(INK)]));
        group
    }
    fn label(text: &str, x: f64, y: f64, height: f64) -> ItemGroup {
        ItemGroup::of(Tag::label(text), [TextItem::new(Point::new(x, y), text, height)])
    }
    fn found(items: Vec<Item>) -> Vec<Fault> {
        let mut scene = Scene::new(Size::new(100.0, 60.0), "", "");
        scene.items = items;
        audit(&svg::write(&scene)).unwrap().faults.into_iter().map(|f| f.0).collect()
    }

    /// A level wire with a bow over what stands at 30 mm.
    fn bow(number: &str) -> ItemGroup {
        let arc = |x, y| Seg::Arc { radius: 1.1, large: false, clockwise: true, to: Point::new(x, y) };
        let (from, to) = (Seg::Move(Point::new(10.0, 40.0)), Seg::Line(Point::new(50.0, 40.0)));
        let path = Path::new(vec![from, Seg::Line(Point::new(28.9, 40.0)), arc(30.0, 38.9), arc(31.1, 40.0), to]);
        ItemGroup::of(Tag::wire(number).between("a", "b"), [path.stroked(Stroke::solid(INK, 0.7))])
    }

    #[test]
    fn a_bow_on_top_is_clean() {
        let upright = wire("2", "c", "d", &[Point::new(30.0, 20.0), Point::new(30.0, 50.0)]);
        assert_eq!(found(vec![upright.into(), bow("1").into()]), []);
    }

    #[test]
    fn a_tidy_drawing_is_clean() {
        let route = [Point::new(15.0, 20.0), Point::new(15.0, 40.0), Point::new(55.0, 40.0), Point::new(55.0, 20.0)];
        let items = vec![
            part("A", 10.0, 10.0).into(),
            part("B", 50.0, 10.0).into(),
            wire("1", "A.1", "B.1", &route).into(),
            label("1 RD", 30.0, 38.0, 2.5).into(),
        ];
        assert_eq!(found(items), []);
    }

    #[test]
    fn each_fault_is_seen() {
        let line = |x1, y1, x2, y2| [Point::new(x1, y1), Point::new(x2, y2)];
        let cases: Vec<(Fault, Vec<Item>)> = vec![
            (Fault::TextOnText, vec![label("one", 10.0, 30.0, 3.0).into(), label("two", 12.0, 31.0, 3.0).into()]),
            (
                Fault::TextOnLine,
                vec![label("one", 10.0, 30.0, 3.0).into(), wire("1", "a", "b", &line(5.0, 29.0, 30.0, 29.0)).into()],
            ),
            (Fault::TextOnPart, vec![part("A", 10.0, 10.0).into(), label("x", 14.0, 16.0, 3.0).into()]),
            (
                Fault::WireThroughPart,
                vec![part("A", 10.0, 10.0).into(), wire("1", "a", "b", &line(5.0, 15.0, 40.0, 15.0)).into()],
            ),
            (
                Fault::WireOverPin,
                vec![part("A", 10.0, 10.0).into(), wire("1", "a", "b", &line(5.0, 20.2, 40.0, 20.2)).into()],
            ),
            (
                Fault::WireOnWire,
                vec![
                    wire("1", "a", "b", &line(5.0, 50.0, 40.0, 50.0)).into(),
                    wire("2", "c", "d", &line(30.0, 50.1, 60.0, 50.1)).into(),
                ],
            ),
            (Fault::SmallText, vec![label("tiny", 10.0, 30.0, 1.9).into()]),
            (Fault::ClippedText, vec![label("cut sho…", 10.0, 30.0, 3.0).into()]),
            (Fault::BowUnderWire, vec![bow("1").into(), wire("2", "c", "d", &line(30.0, 20.0, 30.0, 50.0)).into()]),
            (Fault::OffSheet, vec![label("too far right", 90.0, 30.0, 3.0).into()]),
            (Fault::OffSheet, vec![wire("1", "a", "b", &line(5.0, -1.0, 40.0, -1.0)).into()]),
        ];
        for (fault, items) in cases {
            assert_eq!(found(items), [fault]);
        }
    }

    #[test]
    fn turned_and_mirrored_letters_are_measured_where_they_stand() {
        let up = ItemGroup::of(Tag::label("up"), [TextItem::new(Point::new(50.0, 40.0), "upwards", 3.0).up()]);
        let beside = wire("1", "a", "b", &[Point::new(51.2, 10.0), Point::new(51.2, 50.0)]);
        assert_eq!(found(vec![up.clone().into(), beside.into()]), []);
        let through = wire("1", "a", "b", &[Point::new(40.0, 35.0), Point::new(60.0, 35.0)]);
        assert_eq!(found(vec![up.into(), through.into()]), [Fault::TextOnLine]);
    }

    #[test]
    fn what_is_not_a_drawing_is_refused() {
        assert!(audit("<svg").is_err());
        assert!(audit("<svg xmlns='http://www.w3.org/2000/svg'/>").is_err());
    }
}
