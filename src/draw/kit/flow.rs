//! Strips from top to bottom, over as many sheets as they take, with marks where a sheet continues.

use super::colour::{INK, SOFT_INK};
use super::lines::LABEL;
use super::scene::*;

/// Kept free at the foot of a sheet for the mark of the next one, millimetres.
const MARK: f64 = 6.0;

/// What has been placed so far; the last sheet is being filled.
pub struct SheetFlow {
    room: f64,
    y: f64,
    sheets: Vec<(Vec<Item>, Size)>,
}

impl SheetFlow {
    /// On sheets of this height.
    pub fn new(room: f64) -> Self {
        Self { room, y: 0.0, sheets: vec![(Vec::new(), Size::default())] }
    }

    /// Whether a strip of this height still fits on this sheet.
    pub fn fits(&self, height: f64) -> bool {
        self.y + height <= self.room - MARK
    }

    /// Whether it would on a sheet of its own.
    pub fn would_fit(&self, height: f64) -> bool {
        height <= self.room - 2.0 * MARK
    }

    /// How many lines of this height still fit on this sheet.
    pub fn lines(&self, height: f64) -> usize {
        ((self.room - MARK - self.y) / height).max(0.0) as usize
    }

    /// Puts a strip below the last one: its items have their top left corner at the origin.
    pub fn put(&mut self, items: impl IntoIterator<Item = Item>, size: Size) {
        let y = self.y;
        if let Some((all, whole)) = self.sheets.last_mut() {
            all.extend(items.into_iter().map(|item| item.moved(0.0, y)));
            *whole = Size::new(whole.width.max(size.width), y + size.height);
        }
        self.y += size.height;
    }

    /// Leaves a gap, unless the sheet is empty.
    pub fn gap(&mut self, height: f64) {
        if self.y > 0.0 {
            self.y += height;
        }
    }

    /// Continues on a new sheet, with marks on both; an empty sheet is used as it is.
    pub fn next(&mut self) {
        if self.y == 0.0 {
            return;
        }
        let (here, after) = (self.sheets.len(), self.sheets.len() + 1);
        self.put([mark(1.0, after)], Size::new(0.0, MARK));
        self.sheets.push((Vec::new(), Size::default()));
        self.y = 0.0;
        self.put([mark(-1.0, here)], Size::new(0.0, MARK));
    }

    /// The sheets, each with its extent.
    pub fn finish(self) -> Vec<(Vec<Item>, Size)> {
        self.sheets
    }
}

/// An arrow down to the next sheet or up to the one before.
fn mark(way: f64, sheet: usize) -> Item {
    let at = Point::new(3.2, MARK / 2.0 + way * 1.3);
    let head = Path::polygon(&[at, at.by(-1.2, -2.6 * way), at.by(1.2, -2.6 * way)]).filled(INK);
    let words = if way > 0.0 { format!("continued on sheet {sheet}") } else { format!("from sheet {sheet}") };
    let text = TextItem::new(Point::new(6.0, 0.0), words, LABEL).centred_on(MARK / 2.0).coloured(SOFT_INK);
    let tag = Tag::kind("continuation").with("sheet", sheet.to_string());
    ItemGroup::of(tag, [Item::from(head), ItemGroup::of(Tag::label("continuation"), [text]).into()]).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_goes_on_with_marks_on_both_sheets() {
        let mut flow = SheetFlow::new(100.0);
        for _ in 0..5 {
            if !flow.fits(40.0) {
                flow.next();
            }
            flow.put([], Size::new(50.0, 40.0));
        }
        let sheets = flow.finish();
        assert_eq!(sheets.len(), 3);
        assert!(sheets.iter().all(|(_, size)| size.height <= 100.0 && size.width == 50.0));
        assert_eq!(sheets.iter().map(|(items, _)| items.len()).collect::<Vec<_>>(), [1, 2, 1]);
    }
}
