//! Puts strips on pages, from top to bottom, in one column or two.

use crate::letters::{BODY, CELL, DEEP, Letters};
use crate::paint::{line, rule, text};
use crate::{Plate, Setup};
use kit::colour::SOFT_INK;
use kit::font;
use kit::pdf::{Bookmark, PageLink, PageTarget, Pages};
use kit::scene::{Item, ItemGroup, Point, Rect, Scene, Size, Tag};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Edges of the text on a page, millimetres.
const LEFT: f64 = 12.0;
const TOP: f64 = 13.0;
const FOOT: f64 = 16.0;
/// Between two columns.
const GUTTER: f64 = 8.0;

/// A heading in the bookmarks.
#[derive(Debug, Clone, PartialEq)]
pub struct HeadingMark {
    /// Level of the heading: 2 for sections, 3 below them.
    pub level: usize,
    /// What it says.
    pub title: String,
    /// Its name, for links.
    pub id: Option<String>,
}

/// What stands across a column and is not broken. Its top left corner is the origin.
#[derive(Debug, Clone, Default)]
pub struct PageStrip {
    /// What is on it.
    pub items: Vec<Item>,
    /// How high it is.
    pub height: f64,
    /// The gap above it, which is left out at the head of a column.
    pub above: f64,
    /// Whether the next strip has to stand in the same column.
    pub keep: bool,
    /// Strips of one group stand in one column if it holds them.
    pub group: Option<usize>,
    /// What is repeated above it where it begins a column.
    pub head: Option<Rc<PageStrip>>,
    /// Its bookmark.
    pub mark: Option<HeadingMark>,
    /// The areas that lead elsewhere.
    pub links: Vec<(Rect, String)>,
    /// Where the page number of a place stands: the right end of its base line.
    pub numbers: Vec<(Point, String)>,
}

impl PageStrip {
    /// The strip with its content moved right by `dx` and down by `dy`; its height grows by `dy`.
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        self.items.iter_mut().for_each(|item| item.shift(dx, dy));
        self.links.iter_mut().for_each(|(area, _)| *area = area.by(dx, dy));
        self.numbers.iter_mut().for_each(|(at, _)| *at = at.by(dx, dy));
        self.height += dy;
        self
    }
}

/// Width of the text on a page of this size.
pub fn text_width(page: Size) -> f64 {
    page.width - 2.0 * LEFT
}

/// Height of the text on a page of this size.
pub fn text_height(page: Size) -> f64 {
    page.height - TOP - FOOT
}

/// Width of one of two columns.
pub fn half(width: f64) -> f64 {
    (width - GUTTER) / 2.0
}

/// The pages so far; the last one is being filled.
pub struct PageFlow<'a> {
    setup: &'a Setup,
    plates: std::slice::Iter<'a, Plate<'a>>,
    pages: Vec<Scene>,
    paper: Size,
    /// Columns, and which of them is being filled.
    columns: usize,
    column: usize,
    /// Where columns begin on this page, how far this one is filled, how far any is.
    begin: f64,
    y: f64,
    deepest: f64,
    marks: Vec<(HeadingMark, PageTarget)>,
    links: Vec<(usize, Rect, String)>,
    numbers: Vec<(usize, Point, String)>,
}

impl<'a> PageFlow<'a> {
    /// Nothing yet.
    pub fn new(setup: &'a Setup, plates: &'a [Plate<'a>]) -> Self {
        let mut flow = Self {
            setup,
            plates: plates.iter(),
            pages: Vec::new(),
            paper: setup.paper,
            columns: 1,
            column: 0,
            begin: TOP,
            y: TOP,
            deepest: TOP,
            marks: Vec::new(),
            links: Vec::new(),
            numbers: Vec::new(),
        };
        flow.page();
        flow
    }

    fn page(&mut self) {
        self.pages.push(Scene::new(self.paper, self.setup.title.clone(), ""));
        (self.column, self.begin, self.y, self.deepest) = (0, TOP, TOP, TOP);
    }

    fn is_empty(&self) -> bool {
        self.pages.last().is_none_or(|page| page.items.is_empty())
    }

    /// Goes on at the head of a page, upright or on its long side.
    pub fn new_page(&mut self, lying: bool) {
        let size = self.setup.paper;
        self.paper = if lying { Size::new(size.height, size.width) } else { size };
        if self.is_empty() {
            self.pages.pop();
        }
        self.columns = 1;
        self.page();
    }

    /// Goes on in this many columns, below all that is on the page.
    pub fn columns(&mut self, columns: usize) {
        (self.columns, self.column) = (columns, 0);
        self.y = self.deepest;
        self.begin = if columns > 1 { self.y } else { TOP };
    }

    /// The next drawing, on a page of its own.
    pub fn plate(&mut self, id: Option<String>) {
        let Some(Plate { scene, page }) = self.plates.next() else { return };
        if self.is_empty() {
            self.pages.pop();
        }
        let (dx, dy) = ((page.width - scene.size.width) / 2.0, (page.height - scene.size.height) / 2.0);
        let mut whole = Scene::new(*page, scene.title.clone(), scene.description.clone());
        whole.items = scene.items.iter().map(|item| item.clone().moved(dx, dy)).collect();
        self.pages.push(whole);
        let to = PageTarget { page: self.pages.len() - 1, y: 0.0 };
        self.marks.push((HeadingMark { level: 3, title: scene.title.clone(), id }, to));
        // What follows begins a page.
        self.y = f64::INFINITY;
        self.deepest = self.y;
    }

    fn foot(&self) -> f64 {
        self.paper.height - FOOT
    }

    /// Whether a new column would give no more room.
    fn at_head(&self) -> bool {
        self.y <= TOP
    }

    fn next_column(&mut self) {
        if self.column + 1 < self.columns {
            self.column += 1;
            self.y = self.begin;
        } else {
            self.page();
        }
    }

    /// Puts strips below the last ones.
    pub fn put(&mut self, strips: &[PageStrip]) {
        for (i, strip) in strips.iter().enumerate() {
            let room = self.foot() - self.y;
            let [group, least] = needed(&strips[i..]);
            // A group that was begun stays as it is: only its first strip asks for all of it.
            let begins = i == 0 || strips[i - 1].group != strip.group;
            let wanted = if begins && group <= text_height(self.paper) { group.max(least) } else { least };
            let kept_before = i > 0 && strips[i - 1].keep;
            let too_high = if kept_before { strip.height } else { wanted };
            if too_high > room + 1e-6 && !self.at_head() {
                self.next_column();
            }
            if let (Some(head), true) = (&strip.head, self.at_head()) {
                self.place(head);
            }
            self.place(strip);
        }
    }

    fn place(&mut self, strip: &PageStrip) {
        if self.y > self.begin {
            self.y += strip.above;
        }
        let wide = if self.columns > 1 { half(text_width(self.paper)) + GUTTER } else { 0.0 };
        let (dx, dy, page) = (LEFT + wide * self.column as f64, self.y, self.pages.len() - 1);
        if let Some(scene) = self.pages.last_mut() {
            let items = strip.items.iter().map(|item| item.clone().moved(dx, dy));
            scene.push(ItemGroup::of(Tag::default(), items));
        }
        if let Some(mark) = &strip.mark {
            self.marks.push((mark.clone(), PageTarget { page, y: (dy - 3.0).max(0.0) }));
        }
        self.links.extend(strip.links.iter().map(|(area, to)| (page, area.by(dx, dy), to.clone())));
        self.numbers.extend(strip.numbers.iter().map(|(at, to)| (page, at.by(dx, dy), to.clone())));
        self.y += strip.height;
        self.deepest = self.deepest.max(self.y);
    }

    /// The document.
    pub fn finish(mut self) -> Pages {
        let places: BTreeMap<String, PageTarget> =
            self.marks.iter().filter_map(|(mark, to)| Some((mark.id.clone()?, *to))).collect();
        for (page, at, id) in std::mem::take(&mut self.numbers) {
            if let Some(to) = places.get(&id) {
                let words = format!("{}", to.page + 1);
                let x = at.x - font::width(&words, BODY.size, false);
                let number = text(words, Point::new(x, at.y), BODY.coloured(SOFT_INK));
                self.pages[page].push(number);
            }
        }
        let links = self
            .links
            .iter()
            .filter_map(|(page, area, id)| Some(PageLink { page: *page, area: *area, to: *places.get(id)? }));
        let links = links.collect();
        let outline = outline(&self.marks);
        let count = self.pages.len();
        for (i, page) in self.pages.iter_mut().enumerate() {
            // A drawing has its own title strip.
            if page.title == self.setup.title {
                feet(page, &self.setup.foot, i + 1, count);
            }
        }
        Pages { title: self.setup.title.clone(), scenes: self.pages, outline, links }
    }
}

/// The height of the first strip's group, and of the first strip with those that it keeps.
fn needed(strips: &[PageStrip]) -> [f64; 2] {
    let Some(first) = strips.first() else { return [0.0; 2] };
    let sum = |strips: &[PageStrip]| -> f64 {
        strips.iter().enumerate().map(|(i, s)| s.height + if i > 0 { s.above } else { 0.0 }).sum::<f64>() + first.above
    };
    let together = strips.iter().take_while(|s| first.group.is_some() && s.group == first.group).count();
    let kept = strips.iter().take_while(|s| s.keep).count();
    [sum(&strips[..together]), sum(&strips[..(kept + 1).min(strips.len())])]
}

/// The bookmarks: sections, and what is in them.
fn outline(marks: &[(HeadingMark, PageTarget)]) -> Vec<Bookmark> {
    let mut outline: Vec<Bookmark> = Vec::new();
    for (mark, to) in marks.iter().filter(|(mark, _)| mark.level == 2 || mark.level == 3) {
        let bookmark = Bookmark { title: mark.title.clone(), to: *to, under: Vec::new() };
        match outline.last_mut() {
            Some(section) if mark.level == 3 => section.under.push(bookmark),
            _ => outline.push(bookmark),
        }
    }
    outline
}

fn feet(page: &mut Scene, foot: &str, number: usize, of: usize) {
    let letters: Letters = CELL.coloured(SOFT_INK);
    let (left, right, y) = (LEFT, page.size.width - LEFT, page.size.height - FOOT + 5.0);
    let count = format!("page {number} of {of}");
    let wide = font::width(&count, letters.size, false);
    let foot = font::fitted(foot, right - left - wide - 5.0, letters.size, false);
    page.push(rule(left, right, y - 1.5, DEEP, 0.18));
    page.push(text(foot, Point::new(left, y), letters));
    page.push(text(count, Point::new(right - wide, y), letters));
    debug_assert!(y + line(letters) < page.size.height);
}
