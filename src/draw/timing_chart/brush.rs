//! Paints one panel's lanes: names, times, waves, bands and hatching, at the moments of the axis.

use super::axis::Axis;
use super::lanes::{Band, BandLook, LaneLabel};
use kit::colour::{ALERT, FAINT, INK, PAPER, SOFT_INK, TINT};
use kit::font;
use kit::lines::{self, FINE, HEAVY, LABEL, SMALL, THIN};
use kit::scene::*;
use replay::Time;

/// Width of the names at the left.
pub const NAMES: f64 = 52.0;
/// Height of the row of times.
pub const TIMES: f64 = 8.0;
/// Height of a lane that is on or off.
pub const WAVE: f64 = 6.0;
/// From a lane's name to its title below it.
const BETWEEN_LINES: f64 = 3.6;
/// From a band's edge to its text.
pub const INSET: f64 = 0.9;
/// Distance of hatching lines.
const HATCH: f64 = 1.6;
/// A brush for one panel.
pub(super) struct Brush<'a> {
    pub axis: &'a Axis,
    pub clear: Vec<[f64; 2]>,
    /// From the endless axis to the panel.
    pub shift: f64,
    pub items: Vec<Item>,
    /// Boxes of all texts, which guides keep out of.
    pub texts: Vec<Rect>,
}

impl Brush<'_> {
    /// Where a moment stands in the panel; beyond its ends for one of another panel.
    pub fn x(&self, at: Time) -> f64 {
        self.axis.x(at) + self.shift
    }

    /// The part of a span that can be drawn, in the panel's millimetres.
    pub fn visible(&self, span: [Time; 2]) -> Vec<[f64; 2]> {
        let [from, to] = span.map(|at| self.axis.x(at));
        let parts = self.clear.iter().map(|[a, b]| [a.max(from) + self.shift, b.min(to) + self.shift]);
        parts.filter(|[a, b]| b - a > 1e-6).collect()
    }

    /// The panel's left and right end.
    pub fn ends(&self) -> [f64; 2] {
        [NAMES, NAMES + self.axis.width]
    }

    /// Whether a moment belongs into this panel; the last one of a panel belongs to it too.
    pub fn has(&self, at: Time) -> bool {
        let (x, [left, right]) = (self.x(at), self.ends());
        x > left - 1e-6 && x <= right + 1e-6
    }

    /// Adds a text that guides keep out of.
    pub fn text(&mut self, text: TextItem) {
        self.texts.push(text.bounds().inflate(0.4));
        self.items.push(text.into());
    }

    pub fn line(&mut self, from: Point, to: Point, stroke: Stroke) {
        self.items.push(Path::line(from, to).stroked(stroke).into());
    }

    pub fn name(&mut self, label: &LaneLabel, middle: f64) {
        let name = font::fitted(&label.name, NAMES - 3.0, LABEL, true);
        let wide = font::width(&name, LABEL, true);
        let room = NAMES - 3.0 - wide - 1.6;
        // A title that has no room beside the name stands below it.
        if !label.title.is_empty() && font::width(&label.title, SMALL, false) > room {
            let title = font::phrases(&label.title, NAMES - 3.0, (SMALL, false), 1).join(" ");
            self.text(TextItem::new(Point::new(0.0, 0.0), name, LABEL).bold().centred_on(middle - BETWEEN_LINES / 2.0));
            let text = TextItem::new(Point::new(0.0, 0.0), title, SMALL).coloured(SOFT_INK);
            return self.text(text.centred_on(middle + BETWEEN_LINES / 2.0));
        }
        self.text(TextItem::new(Point::new(0.0, 0.0), name, LABEL).bold().centred_on(middle));
        if !label.title.is_empty() {
            let text = TextItem::new(Point::new(wide + 1.6, 0.0), label.title.clone(), SMALL).coloured(SOFT_INK);
            self.text(text.centred_on(middle));
        }
    }

    /// The row of times: ticks, and seconds if there is room.
    pub fn times(&mut self) {
        let base = TIMES - 2.0;
        for [from, to] in self.clear.clone() {
            let (from, to) = (from + self.shift, to + self.shift);
            self.line(Point::new(from, base), Point::new(to, base), lines::symbol());
        }
        for gap in self.axis.gaps() {
            let [left, right] = gap.map(|x| x + self.shift);
            let [start, end] = self.ends();
            // The gap may end with the panel: then the other stroke stands where the next one begins.
            let strokes = break_sign(left, right, base)
                .into_iter()
                .zip([left > start && left < end, right >= start && right < end]);
            self.items.extend(strokes.filter(|(_, is_here)| *is_here).map(|(stroke, _)| Item::from(stroke)));
        }
        let mut free = NAMES - 4.0;
        for (x, at, named) in self.axis.ticks() {
            let inside = self.clear.iter().any(|[a, b]| x >= a - 1e-6 && x <= b + 1e-6);
            let x = x + self.shift;
            if !inside {
                continue;
            }
            let long = if named { 1.8 } else { 0.9 };
            self.line(Point::new(x, base), Point::new(x, base - long), lines::fine());
            let words = quantity::significant(at.seconds().value(), 6);
            let half = font::width(&words, SMALL, false) / 2.0;
            if named && x - half > free {
                let text = TextItem::new(Point::new(x, base - 2.5), words, SMALL).anchored(Anchor::Middle);
                self.text(text);
                free = x + half + 1.2;
            }
        }
        let unit = TextItem::new(Point::new(NAMES - 9.0, base - 2.5), "s", SMALL).coloured(SOFT_INK);
        self.text(unit);
    }

    /// Faint upright lines where somebody did something, clear of all texts.
    pub fn guides(&self, guides: &[Time], top: f64, bottom: f64) -> Item {
        let mut group = ItemGroup { tag: Tag::kind("guides"), items: vec![] };
        for &at in guides.iter().filter(|at| self.has(**at)) {
            self.upright(
                &mut group,
                self.x(at),
                top - 2.0,
                bottom,
                Stroke::dashed(SOFT_INK, THIN, Dash::even(1.0, 1.0)),
            );
        }
        group.into()
    }

    /// An upright line that leaves out all texts.
    pub fn upright(&self, group: &mut ItemGroup, x: f64, top: f64, bottom: f64, stroke: Stroke) {
        let mut blocks: Vec<&Rect> = self.texts.iter().filter(|r| r.left < x && r.right > x).collect();
        blocks.sort_by(|a, b| a.top.total_cmp(&b.top));
        let mut y = top;
        for (block_top, block_bottom) in blocks.iter().map(|r| (r.top, r.bottom)).chain([(bottom, bottom)]) {
            if block_top > y + 0.1 {
                group.push(Path::line(Point::new(x, y), Point::new(x, block_top.min(bottom))).stroked(stroke));
            }
            y = y.max(block_bottom);
        }
    }

    /// On or off: a line that is high while on, over a ground while a flasher's lever is on.
    pub fn wave(&mut self, on: &[[Time; 2]], lever: &[[Time; 2]], y: f64) {
        let (high, low) = (y + 0.8, y + WAVE - 0.8);
        let grounds: Vec<[f64; 2]> = lever.iter().flat_map(|span| self.visible(*span)).collect();
        for [from, to] in grounds {
            let area = Rect::new(Point::new(from, high), Point::new(to, low));
            self.items.push(Path::rect(&area).filled(TINT).into());
        }
        let spans: Vec<[f64; 2]> = on.iter().flat_map(|span| self.visible(*span)).collect();
        for &[from, to] in &spans {
            let area = Rect::new(Point::new(from, high), Point::new(to, low));
            self.items.push(Path::rect(&area).filled(FAINT).into());
        }
        for [from, to] in self.clear.clone() {
            let (from, to) = (from + self.shift, to + self.shift);
            let mut points = vec![];
            let mut is_on = spans.iter().any(|[a, b]| *a <= from + 1e-6 && *b > from);
            points.push(Point::new(from, if is_on { high } else { low }));
            let mut edges: Vec<f64> =
                spans.iter().flatten().copied().filter(|x| *x > from + 1e-6 && *x < to - 1e-6).collect();
            edges.sort_by(f64::total_cmp);
            for x in edges {
                points.push(Point::new(x, if is_on { high } else { low }));
                is_on = !is_on;
                points.push(Point::new(x, if is_on { high } else { low }));
            }
            points.push(Point::new(to, if is_on { high } else { low }));
            self.items.push(Path::polyline(&points).stroked(lines::symbol()).into());
        }
    }

    pub fn bands(&mut self, bands: &[Band], y: f64, height: f64) {
        let base = y + height;
        for [from, to] in self.clear.clone() {
            let (from, to) = (from + self.shift, to + self.shift);
            self.line(Point::new(from, base), Point::new(to, base), Stroke::solid(SOFT_INK, THIN));
        }
        for band in bands {
            let seen = self.visible(band.span);
            let widest = seen.iter().copied().max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
            for part in seen {
                // The widest part gets whatever words fit, the others their words in full if there is room.
                let words = self.words(band, part);
                let words =
                    words.filter(|(words, size)| Some(part) == widest || (*words == band.text && *size == LABEL));
                self.band(band, part, y, height, words);
            }
        }
    }

    /// The words that fit into a stretch of a band.
    pub fn words(&self, band: &Band, [from, to]: [f64; 2]) -> Option<(String, f64)> {
        let room = to - from - 2.0 * INSET;
        for (words, size) in [(&band.text, LABEL), (&band.text, SMALL), (&band.short, LABEL), (&band.short, SMALL)] {
            if !words.is_empty() && font::width(words, size, false) <= room {
                return Some((words.clone(), size));
            }
        }
        None
    }

    pub fn band(&mut self, band: &Band, [from, to]: [f64; 2], y: f64, height: f64, words: Option<(String, f64)>) {
        let area = Rect::new(Point::new(from, y + 0.4), Point::new(to, y + height));
        let (fill, edge, letters) = match band.look {
            BandLook::Tint(colour) => (Some(colour), Some(Stroke::solid(INK, FINE)), INK),
            BandLook::Plain => (Some(PAPER), Some(Stroke::solid(INK, FINE)), INK),
            BandLook::Hatched | BandLook::Upright => (Some(PAPER), Some(Stroke::solid(SOFT_INK, FINE)), INK),
            BandLook::Solid => (Some(INK), None, PAPER),
            BandLook::Dashed => (Some(PAPER), Some(Stroke::dashed(SOFT_INK, FINE, Dash::even(1.4, 1.0))), SOFT_INK),
            BandLook::Alert => (Some(PAPER), Some(Stroke::solid(ALERT, HEAVY)), ALERT),
        };
        let mut path = Path::rect(&area.inflate(-edge.map_or(0.0, |e| e.width / 2.0)));
        path.fill = fill;
        path.stroke = edge;
        self.items.push(ItemGroup::of(Tag::kind("band").with("look", band.look.words()), [path]).into());
        let text = words.map(|(words, size)| {
            let text = TextItem::new(Point::new((from + to) / 2.0, 0.0), words, size).anchored(Anchor::Middle);
            text.coloured(letters).centred_on((area.top + area.bottom) / 2.0)
        });
        if matches!(band.look, BandLook::Hatched | BandLook::Upright) {
            let inner = area.inflate(-0.3);
            let hole = text.as_ref().map(|t| t.bounds().inflate(0.5));
            let sides = match hole {
                Some(hole) => vec![[inner.left, hole.left], [hole.right, inner.right]],
                None => vec![[inner.left, inner.right]],
            };
            for [left, right] in sides {
                if right - left > 0.6 {
                    let side = Rect { left, right, ..inner };
                    self.hatch(&side, band.look == BandLook::Upright);
                }
            }
        }
        if let Some(text) = text {
            self.text(text);
        }
    }

    /// Hatching: slanted, or upright.
    pub fn hatch(&mut self, area: &Rect, upright: bool) {
        let lean = if upright { 0.0 } else { area.height() };
        let mut segs = vec![];
        let first = (area.left / HATCH).floor() as i64;
        let last = ((area.right + lean) / HATCH).ceil() as i64;
        for i in first..=last {
            // From the foot at `x − lean` to the top at `x`, cut at the sides.
            let x = i as f64 * HATCH;
            let (foot, top) = ((x - lean).max(area.left), x.min(area.right));
            if foot > area.right || top < area.left || (upright && (x <= area.left || x >= area.right)) {
                continue;
            }
            let y = |at: f64| if upright { area.bottom } else { area.bottom - (at - (x - lean)) };
            let ends = if upright {
                [Point::new(x, area.bottom), Point::new(x, area.top)]
            } else {
                [Point::new(foot, y(foot)), Point::new(top, y(top))]
            };
            if ends[0].distance(ends[1]) > 0.2 {
                segs.extend([Seg::Move(ends[0]), Seg::Line(ends[1])]);
            }
        }
        if !segs.is_empty() {
            self.items.push(Path::new(segs).stroked(Stroke::solid(SOFT_INK, THIN)).into());
        }
    }
}

/// The sign of a break: two slanted strokes, either side of a gap in all lines.
pub fn break_sign(left: f64, right: f64, y: f64) -> [Path; 2] {
    [left, right].map(|x| {
        let line = Path::line(Point::new(x - 0.5, y + 1.5), Point::new(x + 0.5, y - 1.5));
        line.stroked(lines::symbol())
    })
}
