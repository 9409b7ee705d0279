//! The documents of a small job, as snapshots, and what must hold of any.

mod hostile;
mod lists;
mod pages;
mod readings;
mod signal_names;

use super::lists::findings::findings;
use super::{Book, Document, book, documents};
use check::check_facts;
use facts::Facts;
use model::Model;
use states::Solved;
use std::sync::LazyLock;

/// One of each thing that a list must show.
const SPREADER: &str = include_str!("spreader.yaml");

/// The model of a spec's text.
fn model(text: &str) -> Model {
    sample::of_text("jobs/spreader.yaml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// What the documents of a model say, and the documents.
fn written(model: &Model) -> (Book, Vec<Document>) {
    let solved = Solved::new(model);
    let facts = Facts::new(&solved);
    let book = book(&facts, findings(model, &check_facts(&facts, &explore::unwatched).unwrap()));
    let documents = documents(
        &facts,
        &book,
        &crate::drawings(&facts, None, kit::sheet::Papers::Iso),
        kit::sheet::Papers::Iso,
        None,
    )
    .unwrap();
    (book, documents)
}

/// The build of the small job, made once for all tests.
fn spreader() -> &'static (Book, Vec<Document>) {
    static SMALL: LazyLock<(Book, Vec<Document>)> = LazyLock::new(|| written(&model(SPREADER)));
    &SMALL
}

/// A document as text.
fn text(documents: &[Document], name: &str) -> String {
    let found = documents.iter().find(|d| d.name == name).unwrap_or_else(|| panic!("no {name}"));
    String::from_utf8(found.bytes.clone()).unwrap()
}
