//! A drawing as placed items, which layouts pass to writers.
//!
//! All coordinates and sizes are millimetres on paper, x to the right and y **down**. Items are painted in order, later
//! ones on top. A scene holds no references to anything outside it, so it can be measured (overlaps, sheet bounds),
//! moved and written without knowing what it shows.
//!
//! ```
//! use kit::scene::*;
//! use kit::colour::INK;
//! let mut scene = Scene::new(Size::new(40.0, 20.0), "One wire", "A wire from left to right");
//! scene.push(ItemGroup::of(Tag::wire("7"), [Path::line(Point::new(5.0, 10.0), Point::new(35.0, 10.0)).stroked(Stroke::solid(INK, 0.5))]));
//! scene.push(ItemGroup::of(Tag::label("wire 7"), [TextItem::new(Point::new(20.0, 8.0), "7", 2.5).anchored(Anchor::Middle)]));
//! assert!(scene.bounds().is_some_and(|b| scene.sheet().contains_rect(&b)));
//! ```

pub use super::geometry::{Point, Rect, Seg, Size, around};
use super::geometry::{moved, scaled};
pub use super::path::{Dash, Path, Stroke};
pub use super::tag::{LabelOf, Tag};
pub use super::text::{Anchor, TextItem, Turn};

/// Items that belong together, and what they show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ItemGroup {
    /// What they show.
    pub tag: Tag,
    /// The items, in painting order.
    pub items: Vec<Item>,
}

impl ItemGroup {
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
    Group(ItemGroup),
    /// A line or an area.
    Path(Path),
    /// A line of text.
    Text(TextItem),
}

impl From<ItemGroup> for Item {
    fn from(group: ItemGroup) -> Self {
        Self::Group(group)
    }
}
impl From<Path> for Item {
    fn from(path: Path) -> Self {
        Self::Path(path)
    }
}
impl From<TextItem> for Item {
    fn from(text: TextItem) -> Self {
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
    /// The content in a sentence, for readers who can't see it.
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
    fn a_moved_item_keeps_its_shape() {
        let item: Item = ItemGroup::of(Tag::part("K1"), [Path::circle(Point::new(5.0, 5.0), 2.0)]).into();
        let (before, after) = (item.bounds().unwrap(), item.clone().moved(3.0, -1.0).bounds().unwrap());
        assert!((after.left - before.left - 3.0).abs() < 1e-9 && (after.height() - before.height()).abs() < 1e-9);
    }

    #[test]
    fn a_moved_group_takes_its_pin_and_outline_along() {
        let body = Rect::sized(Point::new(0.0, 0.0), Size::new(4.0, 4.0));
        let group = ItemGroup { tag: Tag::pin_at("K1.86", Point::new(4.0, 2.0)).outlined(body), items: Vec::new() };
        let Item::Group(moved) = Item::from(group).moved(10.0, 5.0) else { unreachable!() };
        assert_eq!((moved.tag.at, moved.tag.outline), (Some(Point::new(14.0, 7.0)), Some(body.by(10.0, 5.0))));
    }

    #[test]
    fn upright_text_takes_a_tall_box() {
        let level = TextItem::new(Point::new(50.0, 50.0), "Reverse 12", 3.0).anchored(Anchor::Middle);
        let up = level.clone().up();
        assert!((level.bounds().width() - up.bounds().height()).abs() < 1e-9);
        assert!(up.bounds().contains(Point::new(49.0, 50.0)));
    }
}
