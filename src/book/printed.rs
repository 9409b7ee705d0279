//! The build book as PDF: the page, set on paper, with every drawing at its true size.

use crate::Book;
use crate::page::drawings::Drawn;
use crate::page::papers::Leaf;
use kit::pdf;
use kit::sheet::Papers;
use typeset::{Plate, Setup};

/// The page as PDF.
///
/// # Errors
/// Never for a released program: if the page is not well-formed.
pub fn pdf(book: &Book, drawings: &[Drawn], html: &str, papers: Papers) -> Result<Vec<u8>, String> {
    let sheets = drawings.iter().flat_map(|drawing| &drawing.sheets);
    let plates: Vec<Plate> =
        sheets.map(|sheet| Plate { scene: &sheet.scene, page: Leaf::page(sheet.scene.size, papers) }).collect();
    let heading = book.job.heading();
    let setup = Setup { title: format!("{heading} – build book"), foot: heading, paper: papers.small().upright() };
    Ok(pdf::write_pages(&typeset::set(html, &plates, &setup)?))
}
