//! Sets the build book on paper. In comes the page as XHTML, with the drawings beside it; out go [`kit::pdf::Pages`].
//!
//! The page stays the one source of what the book says: this room reads its headings, lists and tables and knows nothing
//! of harnesses. Lengths are millimetres.

mod blocks;
mod columns;
mod flow;
mod labels;
mod letters;
mod lines;
mod paint;
mod read;
mod rows;
mod set;

pub use letters::PAGE_COLOURS;

use flow::PageFlow;
use kit::pdf::Pages;
use kit::scene::{Scene, Size};
use set::Setter;

/// A drawing, and the paper that it goes on.
#[derive(Debug, Clone, Copy)]
pub struct Plate<'a> {
    /// The drawing.
    pub scene: &'a Scene,
    /// Its page; the drawing stands in the middle.
    pub page: Size,
}

/// What the pages carry besides the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// What the document is called.
    pub title: String,
    /// The foot of each page of text, on the left; the page number is on the right.
    pub foot: String,
    /// An upright page of text.
    pub paper: Size,
}

/// Sets the page. The n-th plate goes where the page has its n-th `div` of the class `leaf`.
///
/// # Errors
/// If the page is not well-formed XHTML.
pub fn set(xhtml: &str, plates: &[Plate], setup: &Setup) -> Result<Pages, String> {
    let blocks = read::page(xhtml)?;
    let flow = PageFlow::new(setup, plates);
    Ok(Setter::of(setup.paper).page(&blocks, flow))
}

#[cfg(test)]
mod tests;
