//! Bookmarks and links of a PDF document.

use super::font;
use super::number::rounded;
use super::pdf_refs::{POINTS_PER_MM, Refs};
use super::scene::{Rect, Scene};
use pdf_writer::types::{ActionType, AnnotationType};
use pdf_writer::{Finish, Pdf, Ref, TextStr};

/// A place in a document.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageTarget {
    /// Number of its page, from 0.
    pub page: usize,
    /// How far below the top edge of the page, millimetres.
    pub y: f64,
}

/// A bookmark, with those below it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bookmark {
    /// What it says.
    pub title: String,
    /// Where it leads.
    pub to: PageTarget,
    /// The bookmarks below it; a reader shows them folded.
    pub under: Vec<Bookmark>,
}

/// An area of a page that leads elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct PageLink {
    /// Number of the page that it is on, from 0.
    pub page: usize,
    /// The area, millimetres from the top left corner of the page.
    pub area: Rect,
    /// Where it leads.
    pub to: PageTarget,
}

/// The pages as they are numbered in the file.
pub(super) struct Numbered<'a> {
    pub scenes: &'a [Scene],
    pub ids: &'a [Ref],
}

impl Numbered<'_> {
    /// Page and height in points from its foot; a target beyond the last page leads to the last page.
    fn place(&self, to: PageTarget) -> Option<(Ref, f32)> {
        let at = to.page.min(self.ids.len().checked_sub(1)?);
        Some((self.ids[at], self.up(at, to.y)))
    }

    fn up(&self, page: usize, y: f64) -> f32 {
        rounded((self.scenes[page].size.height - y) * POINTS_PER_MM)
    }
}

/// Writes the bookmarks under `root`.
pub(super) fn bookmarks(pdf: &mut Pdf, refs: &mut Refs, root: Ref, marks: &[Bookmark], pages: &Numbered) {
    let ids: Vec<Ref> = marks.iter().map(|_| refs.next()).collect();
    if let (Some(first), Some(last)) = (ids.first(), ids.last()) {
        pdf.outline(root).first(*first).last(*last).count(ids.len() as i32);
    }
    level(pdf, refs, root, (marks, &ids), pages);
}

fn level(pdf: &mut Pdf, refs: &mut Refs, parent: Ref, (marks, ids): (&[Bookmark], &[Ref]), pages: &Numbered) {
    for (i, mark) in marks.iter().enumerate() {
        let under: Vec<Ref> = mark.under.iter().map(|_| refs.next()).collect();
        let mut item = pdf.outline_item(ids[i]);
        let title: String = font::printable(&mark.title).collect();
        item.title(TextStr(&title)).parent(parent);
        if i > 0 {
            item.prev(ids[i - 1]);
        }
        if let Some(next) = ids.get(i + 1) {
            item.next(*next);
        }
        if let (Some(first), Some(last)) = (under.first(), under.last()) {
            // A negative count: folded (PDF 32000-1, table 153).
            item.first(*first).last(*last).count(-(under.len() as i32));
        }
        if let Some((page, up)) = pages.place(mark.to) {
            item.dest().page(page).xyz(0.0, up, None);
        }
        item.finish();
        level(pdf, refs, ids[i], (&mark.under, &under), pages);
    }
}

/// Writes a link, with its own number.
pub(super) fn link(pdf: &mut Pdf, id: Ref, link: &PageLink, pages: &Numbered) {
    let across = |x: f64| rounded(x * POINTS_PER_MM);
    let (low, high) = (pages.up(link.page, link.area.bottom), pages.up(link.page, link.area.top));
    let mut note = pdf.annotation(id);
    note.subtype(AnnotationType::Link);
    note.rect(pdf_writer::Rect::new(across(link.area.left), low, across(link.area.right), high));
    note.border(0.0, 0.0, 0.0, None);
    if let Some((page, up)) = pages.place(link.to) {
        note.action().action_type(ActionType::GoTo).destination().page(page).xyz(0.0, up, None);
    }
}
