//! The sheet every drawing stands on: frame, zone marks, title strip and caution line.
//!
//! A layout asks for a [`Sheet`] (a paper size, or one as big as it needs for the screen), places its items inside
//! [`Sheet::field`], and hands them to [`Sheet::scene`].

use super::colour::{ALERT, INK, Rgb, SOFT_INK};
use super::font;
use super::lines::{self, HEAVY, LABEL, SMALL};
use super::scene::*;

/// Paper sizes, millimetres (ISO 216; ANSI/ASME Y14.1 for the inch sizes).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Paper {
    /// 210 × 297.
    A4,
    /// 297 × 420.
    A3,
    /// 8.5 × 11 in.
    Letter,
    /// 11 × 17 in.
    Tabloid,
}

impl Paper {
    /// Every size.
    pub const ALL: [Self; 4] = [Self::A4, Self::A3, Self::Letter, Self::Tabloid];

    /// Its name in a drawing's number.
    pub const fn name(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
            Paper::Letter => "L",
            Paper::Tabloid => "T",
        }
    }

    /// Its name in full.
    pub const fn title(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
            Paper::Letter => "Letter",
            Paper::Tabloid => "Tabloid",
        }
    }

    /// The upright sheet.
    pub const fn upright(self) -> Size {
        match self {
            Paper::A4 => Size::new(210.0, 297.0),
            Paper::A3 => Size::new(297.0, 420.0),
            Paper::Letter => Size::new(215.9, 279.4),
            Paper::Tabloid => Size::new(279.4, 431.8),
        }
    }
    /// The sheet on its long side.
    pub const fn lying(self) -> Size {
        let size = self.upright();
        Size::new(size.height, size.width)
    }
}

/// The papers that a shop prints on: a small one and a large one of twice its area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Papers {
    /// A4 and A3.
    #[default]
    Iso,
    /// Letter and Tabloid.
    Inch,
}

impl Papers {
    /// Both kinds.
    pub const ALL: [Self; 2] = [Self::Iso, Self::Inch];

    /// The small one.
    pub const fn small(self) -> Paper {
        match self {
            Self::Iso => Paper::A4,
            Self::Inch => Paper::Letter,
        }
    }

    /// The large one.
    pub const fn large(self) -> Paper {
        match self {
            Self::Iso => Paper::A3,
            Self::Inch => Paper::Tabloid,
        }
    }
}

/// What the title strip says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Strip {
    /// Title of the job.
    pub job: String,
    /// What kind of drawing it is: `Current-path diagram`.
    pub drawing: String,
    /// Revision of the job.
    pub revision: String,
    /// Number of this sheet, from 1.
    pub sheet: usize,
    /// How many sheets there are.
    pub sheets: usize,
    /// `1:5`, or `not to scale`.
    pub scale: String,
    /// Distinguishes this drawing from others of its kind in the job: the paper of a build board, the drive of a timing
    /// chart. Part of its number.
    pub variant: String,
    /// Units of figures without a unit.
    pub units: &'static str,
}

impl Strip {
    /// A sheet of a drawing that is not to scale, with wire sizes in mm².
    pub fn of(job: &str, revision: &str, drawing: impl Into<String>, [sheet, sheets]: [usize; 2]) -> Self {
        let (job, revision, drawing) = (job.to_string(), revision.to_string(), drawing.into());
        let (scale, variant) = ("not to scale".into(), String::new());
        Self { job, drawing, revision, sheet, sheets, scale, variant, units: "mm²" }
    }
    /// The same at a scale.
    pub fn scaled(self, scale: impl Into<String>) -> Self {
        Self { scale: scale.into(), ..self }
    }
    /// The same with figures in other units.
    pub fn units(self, units: &'static str) -> Self {
        Self { units, ..self }
    }
    /// The same as one of several drawings of its kind.
    pub fn variant(self, variant: impl Into<String>) -> Self {
        Self { variant: variant.into(), ..self }
    }

    /// The drawing's number within the job: the initials of its kind, its variant, its sheet.
    pub fn number(&self) -> String {
        let kind = self.drawing.split([':', ',']).next().unwrap_or_default();
        let firsts = kind.split([' ', '-']).filter_map(|word| word.chars().next()).take(3);
        let initials: String = firsts.flat_map(char::to_uppercase).collect();
        let variant = if self.variant.is_empty() { String::new() } else { format!("-{}", self.variant) };
        format!("{initials}{variant}-{}", self.sheet)
    }
}

/// The caution every drawing carries.
pub const CAUTION: &str = "Caution: isolate the battery before work. Leave airbag (SRS) and data-bus wiring alone. Fuse \
    every feed at its source. Figures are planning aids: local codes and the vehicle maker's instructions come first.";

/// Edge of the paper to the frame.
const MARGIN: f64 = 8.0;
/// Frame to the inner border; zone marks stand in between.
const ZONE: f64 = 4.5;
/// Length of a zone (ISO 5457).
const ZONE_STEP: f64 = 50.0;
/// Height of the title strip.
const STRIP: f64 = 12.0;
/// From one line of the caution to the next.
const CAUTION_LINE: f64 = 3.6;
/// Inner border to the drawing.
const INSET: f64 = 3.0;
/// The smallest width at which the title strip can be read.
const LEAST_WIDTH: f64 = 190.0;

/// A sheet's measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The whole sheet.
    pub size: Size,
    /// Where the drawing goes.
    pub field: Rect,
    border: Rect,
    /// Lines above the title strip: a note, then the caution.
    words: Vec<(String, Rgb)>,
}

impl Sheet {
    /// A sheet of a given size: `Sheet::of(Paper::A3.lying())`.
    pub fn of(size: Size) -> Self {
        Self::noted(size, "")
    }

    /// The same with a note above the caution.
    pub fn noted(size: Size, note: &str) -> Self {
        let edge = MARGIN + ZONE;
        let whole = Rect::sized(Point::default(), size);
        let border = Rect { left: edge, top: edge, right: whole.right - edge, bottom: whole.bottom - edge };
        let wrapped = |text: &str| font::wrapped(text, border.width() - 4.0, SMALL, false);
        let lines = |text, colour| wrapped(text).into_iter().map(move |line| (line, colour));
        let words: Vec<(String, Rgb)> = lines(note, INK).chain(lines(CAUTION, ALERT)).collect();
        let foot = STRIP + words.len() as f64 * CAUTION_LINE + 1.6;
        let field = Rect { bottom: border.bottom - foot, ..border }.inflate(-INSET);
        Self { size, field, border, words }
    }

    /// A sheet just big enough for a drawing, for screens and pages that scroll.
    pub fn around(drawing: Size) -> Self {
        Self::around_noted(drawing, "")
    }

    /// The same with a note above the caution.
    pub fn around_noted(drawing: Size, note: &str) -> Self {
        let width = (drawing.width + 2.0 * (MARGIN + ZONE + INSET)).max(LEAST_WIDTH);
        let bare = Self::noted(Size::new(width, 500.0), note);
        Self::noted(Size::new(width, drawing.height + 500.0 - bare.field.height()), note)
    }

    /// A sheet of the same paper, cut down to what a drawing needs.
    pub fn trimmed(&self, drawing: Size) -> Self {
        let own = Self::around(drawing);
        // On a narrow sheet the caution takes more lines: the whole paper may have room where that one has not.
        let within = own.size.width <= self.size.width + 1e-6 && own.size.height <= self.size.height + 1e-6;
        let holds = drawing.width <= self.field.width() + 1e-6 && drawing.height <= self.field.height() + 1e-6;
        if within || !holds { own } else { self.clone() }
    }

    /// How many zones the sheet has across and down.
    fn zones(&self) -> [usize; 2] {
        [self.border.width(), self.border.height()].map(|side| (side / ZONE_STEP).round().max(1.0) as usize)
    }

    /// The zone of a point within the frame: its row's letter, then its column's number, as `B4` (ISO 5457).
    pub fn zone(&self, at: Point) -> String {
        let [columns, rows] = self.zones();
        let index = |along: f64, count: usize| ((along * count as f64).max(0.0) as usize).min(count - 1);
        let column = index((at.x - self.border.left) / self.border.width(), columns);
        let row = index((at.y - self.border.top) / self.border.height(), rows);
        format!("{}{}", zone_letter(row), column + 1)
    }

    /// The finished drawing: frame and strip, then the items.
    pub fn scene(&self, strip: &Strip, description: &str, items: Vec<Item>) -> Scene {
        let title = format!("{}: {}, sheet {} of {}", strip.job, strip.drawing, strip.sheet, strip.sheets);
        let mut scene = Scene::new(self.size, title, description);
        scene.push(self.frame());
        scene.push(self.foot(strip));
        scene.items.extend(items);
        scene
    }

    /// Border lines and zone marks: figures along the top and foot, letters along the sides.
    fn frame(&self) -> ItemGroup {
        let mut group = ItemGroup { tag: Tag::kind("frame"), items: Vec::new() };
        let outer = self.border.inflate(ZONE);
        group.push(Path::rect(&outer).stroked(lines::fine()));
        group.push(Path::rect(&self.border).stroked(Stroke::solid(INK, HEAVY)));
        let [columns, rows] = self.zones();
        let mark = |text: String, x: f64, y: f64| {
            let text = TextItem::new(Point::new(x, y), text, SMALL).anchored(Anchor::Middle).coloured(SOFT_INK);
            text.centred_on(y)
        };
        for column in 0..columns {
            let x = |i: f64| self.border.left + self.border.width() * i / columns as f64;
            for (a, b) in [(outer.top, self.border.top), (self.border.bottom, outer.bottom)] {
                group.push(mark((column + 1).to_string(), x(column as f64 + 0.5), (a + b) / 2.0));
                if column > 0 {
                    let line = Path::line(Point::new(x(column as f64), a), Point::new(x(column as f64), b));
                    group.push(line.stroked(lines::fine()));
                }
            }
        }
        for row in 0..rows {
            let y = |i: f64| self.border.top + self.border.height() * i / rows as f64;
            for (a, b) in [(outer.left, self.border.left), (self.border.right, outer.right)] {
                group.push(mark(zone_letter(row), (a + b) / 2.0, y(row as f64 + 0.5)));
                if row > 0 {
                    let line = Path::line(Point::new(a, y(row as f64)), Point::new(b, y(row as f64)));
                    group.push(line.stroked(lines::fine()));
                }
            }
        }
        group
    }

    /// Caution line and title strip.
    fn foot(&self, strip: &Strip) -> ItemGroup {
        let mut group = ItemGroup { tag: Tag::kind("title-strip"), items: Vec::new() };
        let Rect { left, right, bottom, .. } = self.border;
        let top = bottom - STRIP;
        let rule =
            |y: f64| Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, lines::SYMBOL));
        let first = top - self.words.len() as f64 * CAUTION_LINE;
        for (i, (line, colour)) in self.words.iter().enumerate() {
            let at = Point::new(left + 2.0, first + 1.9 + i as f64 * CAUTION_LINE);
            group.push(TextItem::new(at, line.clone(), SMALL).coloured(*colour));
        }
        group.push(rule(first - 1.6));
        group.push(rule(top));
        let width = right - left;
        let sheet = format!("{} of {}", strip.sheet, strip.sheets);
        let (number, units) = (strip.number(), strip.units.to_string());
        // Nothing here reads a clock: the date is written in by hand.
        let date = String::new();
        let cells = [
            ("Job", &strip.job, 0.27),
            ("Drawing", &strip.drawing, 0.22),
            ("Number", &number, 0.09),
            ("Revision", &strip.revision, 0.09),
            ("Date", &date, 0.09),
            ("Scale", &strip.scale, 0.08),
            ("Units", &units, 0.08),
            ("Sheet", &sheet, 0.08),
        ];
        let mut from = 0.0;
        for (name, value, share) in cells {
            let x = left + width * from;
            if from > 0.0 {
                group.push(Path::line(Point::new(x, top), Point::new(x, bottom)).stroked(lines::fine()));
            }
            group.push(TextItem::new(Point::new(x + 2.0, top + 3.4), name, SMALL).coloured(SOFT_INK));
            for (text, height, up) in cell(value, width * share - 3.0) {
                group.push(TextItem::new(Point::new(x + 2.0, bottom - up), text, height).bold());
            }
            from += share;
        }
        group
    }
}

/// The lines of a cell of the title strip, each with its height and how far it stands above the foot: one as large as
/// the room allows, else two small ones.
fn cell(value: &str, room: f64) -> Vec<(String, f64, f64)> {
    if value.is_empty() {
        return Vec::new();
    }
    for height in [3.5, LABEL] {
        if font::width(value, height, true) <= room {
            return vec![(value.to_string(), height, 2.6)];
        }
    }
    let mut lines = font::wrapped(value, room, SMALL, true);
    let Some(first) = (lines.len() > 1).then(|| lines.remove(0)) else {
        return vec![(font::fitted(value, room, SMALL, true), SMALL, 2.6)];
    };
    vec![(first, SMALL, 4.7), (font::fitted(&lines.join(" "), room, SMALL, true), SMALL, 1.5)]
}

/// Letters of the zones, I and O left out (ISO 5457); after Z come two letters.
fn zone_letter(row: usize) -> String {
    const LETTERS: &[u8] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
    let letter = |i: usize| char::from(LETTERS[i % LETTERS.len()]).to_string();
    match row / LETTERS.len() {
        0 => letter(row),
        n => letter(n - 1) + &letter(row),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip() -> Strip {
        let job = "Orchard sprayer pickup with a very long name that can't fit into its cell at any size";
        Strip::of(job, "A", "Current-path diagram", [1, 3]).variant("LIVE").units("mm, mm²")
    }

    #[test]
    fn nothing_of_the_frame_leaves_the_sheet_or_enters_the_field() {
        for paper in Paper::ALL {
            for size in [paper.lying(), paper.upright()] {
                let sheet = Sheet::of(size);
                let scene = sheet.scene(&strip(), "", Vec::new());
                assert!(scene.sheet().contains_rect(&scene.bounds().unwrap()));
                scene.walk(|item| {
                    if let Item::Text(text) = item {
                        assert!(!text.bounds().overlaps(&sheet.field), "{} in {paper:?}", text.text);
                        assert!(text.height >= lines::LEAST_TEXT);
                    }
                });
                assert!(sheet.field.width() > 150.0 && sheet.field.height() > 150.0);
            }
        }
    }

    #[test]
    fn a_sheet_as_big_as_needed_has_the_field_asked_for() {
        for (w, h) in [(400.0, 250.0), (20.0, 20.0), (1500.0, 90.0)] {
            let sheet = Sheet::around(Size::new(w, h));
            assert!((sheet.field.height() - h).abs() < 1e-6 && sheet.field.width() >= w - 1e-6, "{w} {h} {sheet:?}");
        }
    }

    #[test]
    fn zones_have_letters_without_end() {
        assert_eq!([0, 8, 23, 24, 48].map(zone_letter), ["A", "J", "Z", "AA", "BA"]);
    }
}
