//! A drawing as placed items, the one thing layouts hand to writers.
//!
//! All coordinates and sizes are millimetres on paper, x to the right and y **down**. Items are painted in order, later
//! ones on top. A scene holds no references to anything outside it, so it can be measured (overlaps, sheet bounds),
//! moved and written without knowing what it shows.
//!
//! ```
//! use kit::scene::*;
//! use kit::colour::INK;
//! let mut scene = Scene::new(Size::new(40.0, 20.0), "One wire", "A wire from left to right");
//! scene.push(Group::of(Tag::wire("7"), [Path::line(Point::new(5.0, 10.0), Point::new(35.0, 10.0)).stroked(Stroke::solid(INK, 0.5))]));
//! scene.push(Group::of(Tag::label("wire 7"), [Text::new(Point::new(20.0, 8.0), "7", 2.5).anchored(Anchor::Middle)]));
//! assert!(scene.bounds().is_some_and(|b| scene.sheet().contains_rect(&b)));
//! ```

use super::colour::Colour;
pub use super::geometry::{Point, Rect, Seg, Size, around};
use super::geometry::{cubics, moved, scaled};
pub use super::tag::Tag;
pub use super::text::{Anchor, Text, Turn};

/// Dashes of a stroke: lengths of ink and gap in turn (ink, gap, ink, gap), and how far into them the line begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dash {
    /// Ink, gap, ink, gap, in millimetres.
    pub pattern: [f64; 4],
    /// Where in the pattern the line begins.
    pub offset: f64,
}

impl Dash {
    /// Equal dashes: `ink` long with `gap` between.
    pub const fn even(ink: f64, gap: f64) -> Self {
        Self { pattern: [ink, gap, ink, gap], offset: 0.0 }
    }
    /// Long and short in turn: the boundary of an assembly.
    pub const fn chain(long: f64, gap: f64, short: f64) -> Self {
        Self { pattern: [long, gap, short, gap], offset: 0.0 }
    }
}

/// How a path is drawn. Ends are cut square and corners rounded, in every writer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Colour of the line.
    pub colour: Colour,
    /// Line width, millimetres.
    pub width: f64,
    /// Dashes, or none for a full line.
    pub dash: Option<Dash>,
}

impl Stroke {
    /// A full line.
    pub const fn solid(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: None }
    }
    /// A dashed line.
    pub const fn dashed(colour: Colour, width: f64, dash: Dash) -> Self {
        Self { colour, width, dash: Some(dash) }
    }
}

/// A line or an area.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// Its steps.
    pub segs: Vec<Seg>,
    /// How its line is drawn, if at all.
    pub stroke: Option<Stroke>,
    /// What it is filled with (non-zero rule), if at all.
    pub fill: Option<Colour>,
}

impl Path {
    /// From its steps, neither stroked nor filled yet.
    pub fn new(segs: impl Into<Vec<Seg>>) -> Self {
        Self { segs: segs.into(), stroke: None, fill: None }
    }
    /// A straight line.
    pub fn line(from: Point, to: Point) -> Self {
        Self::new([Seg::Move(from), Seg::Line(to)])
    }
    /// A line through all points.
    pub fn polyline(points: &[Point]) -> Self {
        let steps = points.iter().enumerate();
        Self::new(steps.map(|(i, &p)| if i == 0 { Seg::Move(p) } else { Seg::Line(p) }).collect::<Vec<_>>())
    }
    /// A closed figure through all points.
    pub fn polygon(points: &[Point]) -> Self {
        let mut path = Self::polyline(points);
        path.segs.push(Seg::Close);
        path
    }
    /// A rectangle.
    pub fn rect(r: &Rect) -> Self {
        let corner = Point::new;
        Self::polygon(&[
            corner(r.left, r.top),
            corner(r.right, r.top),
            corner(r.right, r.bottom),
            corner(r.left, r.bottom),
        ])
    }
    /// A rectangle with round corners.
    pub fn rounded(r: &Rect, radius: f64) -> Self {
        let k = radius.clamp(0.0, r.width().min(r.height()) / 2.0);
        let turn = |x, y| Seg::Arc { radius: k, large: false, clockwise: true, to: Point::new(x, y) };
        let line = |x, y| Seg::Line(Point::new(x, y));
        Self::new([
            Seg::Move(Point::new(r.left + k, r.top)),
            line(r.right - k, r.top),
            turn(r.right, r.top + k),
            line(r.right, r.bottom - k),
            turn(r.right - k, r.bottom),
            line(r.left + k, r.bottom),
            turn(r.left, r.bottom - k),
            line(r.left, r.top + k),
            turn(r.left + k, r.top),
            Seg::Close,
        ])
    }
    /// A circle.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let half = |x| Seg::Arc { radius, large: false, clockwise: true, to: Point::new(x, centre.y) };
        Self::new([Seg::Move(centre.by(-radius, 0.0)), half(centre.x + radius), half(centre.x - radius), Seg::Close])
    }
    /// The same with its line drawn.
    pub fn stroked(mut self, stroke: Stroke) -> Self {
        self.stroke = Some(stroke);
        self
    }
    /// The same with its area filled.
    pub fn filled(mut self, colour: Colour) -> Self {
        self.fill = Some(colour);
        self
    }
    /// The rectangle around its ink, half the line width included. Curves count by their control points, arcs by
    /// their true extent.
    pub fn bounds(&self) -> Option<Rect> {
        let margin = self.stroke.map_or(0.0, |s| s.width / 2.0);
        let points = cubics(&self.segs).into_iter().flat_map(|seg| match seg {
            Seg::Move(p) | Seg::Line(p) => vec![p],
            Seg::Cubic(a, b, c) => vec![a, b, c],
            Seg::Arc { to, .. } => vec![to],
            Seg::Close => vec![],
        });
        around(points.map(|p| Rect::new(p, p))).map(|r| r.inflate(margin))
    }
}

/// Items that belong together, and what they show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Group {
    /// What they show.
    pub tag: Tag,
    /// The items, in painting order.
    pub items: Vec<Item>,
}

impl Group {
    /// From a tag and its items.
    pub fn of<I: Into<Item>>(tag: Tag, items: impl IntoIterator<Item = I>) -> Self {
        Self { tag, items: items.into_iter().map(Into::into).collect() }
    }
    /// Adds an item on top.
    pub fn push(&mut self, item: impl Into<Item>) {
        self.items.push(item.into());
    }
}

/// One placed thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// Several, with what they show.
    Group(Group),
    /// A line or an area.
    Path(Path),
    /// A line of text.
    Text(Text),
}

impl From<Group> for Item {
    fn from(group: Group) -> Self {
        Self::Group(group)
    }
}
impl From<Path> for Item {
    fn from(path: Path) -> Self {
        Self::Path(path)
    }
}
impl From<Text> for Item {
    fn from(text: Text) -> Self {
        Self::Text(text)
    }
}

impl Item {
    /// The rectangle around its ink and texts, none for an empty group.
    pub fn bounds(&self) -> Option<Rect> {
        match self {
            Item::Group(group) => around(group.items.iter().filter_map(Item::bounds)),
            Item::Path(path) => path.bounds(),
            Item::Text(text) => Some(text.bounds()),
        }
    }
    /// The same moved right by `dx` and down by `dy`.
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        self.shift(dx, dy);
        self
    }
    /// Moves it right by `dx` and down by `dy`.
    pub fn shift(&mut self, dx: f64, dy: f64) {
        match self {
            Item::Group(group) => {
                group.tag.outline = group.tag.outline.map(|r| r.by(dx, dy));
                group.tag.at = group.tag.at.map(|p| p.by(dx, dy));
                group.items.iter_mut().for_each(|item| item.shift(dx, dy));
            }
            Item::Path(path) => path.segs.iter_mut().for_each(|seg| *seg = moved(*seg, dx, dy)),
            Item::Text(text) => text.at = text.at.by(dx, dy),
        }
    }
    /// The same in another size, about the sheet's top left corner.
    pub fn scaled(mut self, factor: f64) -> Self {
        self.scale(factor);
        self
    }
    fn scale(&mut self, factor: f64) {
        match self {
            Item::Group(group) => {
                group.tag.outline = group.tag.outline.map(|r| r.scaled(factor));
                group.tag.at = group.tag.at.map(|p| p.scaled(factor));
                group.items.iter_mut().for_each(|item| item.scale(factor));
            }
            Item::Path(path) => {
                path.segs.iter_mut().for_each(|seg| *seg = scaled(*seg, factor));
                if let Some(stroke) = &mut path.stroke {
                    stroke.width *= factor;
                    if let Some(dash) = &mut stroke.dash {
                        dash.pattern = dash.pattern.map(|length| length * factor);
                        dash.offset *= factor;
                    }
                }
            }
            Item::Text(text) => {
                text.at = text.at.scaled(factor);
                text.height *= factor;
            }
        }
    }
    /// Calls `visit` on every text and path, outermost group first.
    pub fn walk<'a>(&'a self, visit: &mut impl FnMut(&'a Item)) {
        visit(self);
        if let Item::Group(group) = self {
            group.items.iter().for_each(|item| item.walk(visit));
        }
    }
}

/// One finished drawing sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// Size of the sheet.
    pub size: Size,
    /// Title, for readers and screen readers.
    pub title: String,
    /// What is to be seen, in a sentence, for those who can't see it.
    pub description: String,
    /// The items in painting order.
    pub items: Vec<Item>,
}

impl Scene {
    /// An empty sheet.
    pub fn new(size: Size, title: impl Into<String>, description: impl Into<String>) -> Self {
        Self { size, title: title.into(), description: description.into(), items: Vec::new() }
    }
    /// Adds an item on top.
    pub fn push(&mut self, item: impl Into<Item>) {
        self.items.push(item.into());
    }
    /// The whole sheet.
    pub fn sheet(&self) -> Rect {
        Rect::sized(Point::default(), self.size)
    }
    /// The rectangle around all ink, none on an empty sheet.
    pub fn bounds(&self) -> Option<Rect> {
        around(self.items.iter().filter_map(Item::bounds))
    }
    /// Calls `visit` on every item, groups before what is in them.
    pub fn walk<'a>(&'a self, mut visit: impl FnMut(&'a Item)) {
        self.items.iter().for_each(|item| item.walk(&mut visit));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_is_as_wide_as_it_is_high() {
        let circle = Path::circle(Point::new(10.0, 10.0), 5.0).bounds().unwrap();
        assert!((circle.left - 5.0).abs() < 1e-9 && (circle.bottom - 15.0).abs() < 1e-9);
    }

    #[test]
    fn a_moved_item_keeps_its_shape() {
        let item: Item = Group::of(Tag::part("K1"), [Path::circle(Point::new(5.0, 5.0), 2.0)]).into();
        let (before, after) = (item.bounds().unwrap(), item.clone().moved(3.0, -1.0).bounds().unwrap());
        assert!((after.left - before.left - 3.0).abs() < 1e-9 && (after.height() - before.height()).abs() < 1e-9);
    }

    #[test]
    fn a_moved_group_takes_its_pin_and_outline_along() {
        let body = Rect::sized(Point::new(0.0, 0.0), Size::new(4.0, 4.0));
        let group = Group { tag: Tag::pin_at("K1.86", Point::new(4.0, 2.0)).outlined(body), items: Vec::new() };
        let Item::Group(moved) = Item::from(group).moved(10.0, 5.0) else { unreachable!() };
        assert_eq!((moved.tag.at, moved.tag.outline), (Some(Point::new(14.0, 7.0)), Some(body.by(10.0, 5.0))));
    }

    #[test]
    fn upright_text_takes_a_tall_box() {
        let level = Text::new(Point::new(50.0, 50.0), "Reverse 12", 3.0).anchored(Anchor::Middle);
        let up = level.clone().up();
        assert!((level.bounds().width() - up.bounds().height()).abs() < 1e-9);
        assert!(up.bounds().contains(Point::new(49.0, 50.0)));
    }
}
