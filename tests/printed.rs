//! The build book on paper: printed by a browser, every drawing stands whole on a page of its own, at its true size.

mod judges;
mod paper;

use judges::{CHROMIUM, POPPLER, available};
use paper::{Rendered, pages, print};
use std::path::{Path, PathBuf};

/// How far a measure may be off, millimetres: a browser's pages are whole points, rendered dots a fifth of a millimetre.
const NEAR: f64 = 0.45;
/// How far from the middle of its page a drawing may stand, millimetres.
const OFF_CENTRE: f64 = 1.0;
/// From a sheet's edge to its frame (`draw/sheet.rs`).
const TO_FRAME: f64 = 8.0;
const A4: [f64; 2] = [210.0, 297.0];
const PAPERS: [[f64; 2]; 4] = [A4, [297.0, 210.0], [420.0, 297.0], [297.0, 420.0]];

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() < NEAR && (a[1] - b[1]).abs() < NEAR
}

/// The size of each drawing of a book, in order, as its SVG states it.
fn drawings(html: &str) -> Vec<[f64; 2]> {
    let tags = html.split("<svg ").skip(1).filter_map(|rest| rest.split('>').next());
    let number = |tag: &str, name: &str| {
        let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
        rest.split_once("mm\"")?.0.parse::<f64>().ok()
    };
    tags.map(|tag| ["width", "height"].map(|name| number(tag, name).expect("a drawing states its size"))).collect()
}

/// The pages that hold drawings follow each other; every one has its drawing's frame where the drawing stands in the
/// middle of the page, no larger and no smaller than it is.
fn assert_true_size(name: &str, html: &Path) {
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("book.pdf");
    print(html, &pdf);
    let (sizes, drawings) = (pages(&pdf), drawings(&std::fs::read_to_string(html).unwrap()));
    let holds = |page: &[f64; 2], drawing: &[f64; 2]| drawing[0] <= page[0] + 1e-6 && drawing[1] <= page[1] + 1e-6;
    let wanted: Vec<[f64; 2]> = drawings
        .iter()
        .map(|drawing| *PAPERS.iter().find(|page| holds(page, drawing)).expect("a drawing larger than A3"))
        .collect();
    let matches = |start: usize| wanted.iter().zip(&sizes[start..]).all(|(want, page)| near(*want, *page));
    let frame = |start: usize, i: usize| {
        let margin = [0, 1].map(|axis| (sizes[start + i][axis] - drawings[i][axis]) / 2.0 + TO_FRAME);
        let ink = Rendered::page(&pdf, start + i + 1).ink();
        let extent = [ink[2] - ink[0], ink[3] - ink[1]];
        let centred = (ink[0] - margin[0]).abs() < OFF_CENTRE && (ink[1] - margin[1]).abs() < OFF_CENTRE;
        (centred && near(extent, drawings[i].map(|side| side - 2.0 * TO_FRAME)), ink)
    };
    let starts = (0..sizes.len().saturating_sub(drawings.len())).filter(|&start| matches(start));
    let start = starts.into_iter().find(|&start| frame(start, 0).0);
    let start = start.unwrap_or_else(|| panic!("{name}: no page has the first drawing at its size: {sizes:?}"));
    for (i, drawing) in drawings.iter().enumerate() {
        let (right, ink) = frame(start, i);
        assert!(right, "{name}: drawing {} of {drawing:?} is inked from {ink:?}", i + 1);
    }
    // What is not a drawing is text on A4; only the wide table of states lies on its side.
    let text = sizes[..start].iter().chain(&sizes[start + drawings.len()..]);
    text.for_each(|page| assert!(near(*page, A4) || near([page[1], page[0]], A4), "{name}: a page of {page:?}"));
}

fn demo_books() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-builds");
    let mut books: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path().join("build-book.html")).collect();
    books.sort();
    books
}

#[test]
fn every_drawing_of_the_demos_prints_whole_and_at_its_size() {
    if !available(&[CHROMIUM, POPPLER]) {
        return;
    }
    let books = demo_books();
    assert!(books.len() > 3);
    for book in books {
        assert_true_size(&book.parent().unwrap().display().to_string(), &book);
    }
}

/// The measuring itself: a drawing that is shrunk to its page is found.
#[test]
fn a_drawing_that_is_shrunk_is_found() {
    if !available(&[CHROMIUM, POPPLER]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let html = folder.path().join("book.html");
    let page = |svg: &str, more: &str| {
        format!(
            "<html><head><style>@page {{ size: A4; margin: 0; }} body {{ margin: 0; }} svg {{ display: block; {more} }}</style></head>\
             <body><svg xmlns=\"http://www.w3.org/2000/svg\" {svg}>\
             <rect x=\"8\" y=\"8\" width=\"194\" height=\"281\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.25\"/></svg><p>text</p></body></html>"
        )
    };
    let svg = " width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\"";
    std::fs::write(&html, page(svg, "")).unwrap();
    assert_true_size("as it is", &html);
    std::fs::write(&html, page(svg, "width: 95%; height: auto;")).unwrap();
    assert!(std::panic::catch_unwind(|| assert_true_size("shrunk", &html)).is_err());
}
