//! The documents of a small job, as snapshots, and what must hold of any.

mod hostile;
mod lists;
mod pages;
mod readings;

use super::lists::findings::findings;
use super::{Book, Document, book, documents};
use catalogue::Catalogue;
use check::check;
use form::{Form, Reader, Sources, node};
use model::{self, Model};
use spec::{SpecForm, SpecRead};
use states::Solved;
use std::sync::LazyLock;

/// One of each thing that a list must show.
const SPREADER: &str = include_str!("spreader.yaml");

/// The model of a spec's text.
fn model(text: &str) -> Model {
    let mut sources = Sources::default();
    let file = sources.add(std::path::Path::new("jobs/spreader.yaml"), text.to_string());
    let mut reader = Reader::default();
    let form = SpecForm::read(&node::parse(file, text).unwrap(), &mut reader);
    let read = SpecRead { form, sources, problems: reader.problems, ..SpecRead::default() };
    size::model_of(read, &Catalogue::builtin().unwrap()).map_err(|unreadable| unreadable.problems).unwrap()
}

/// What the documents of a model say, and the documents.
fn written(model: &Model) -> (Book, Vec<Document>) {
    let solved = Solved::new(model);
    let book = book(&solved, findings(model, &check(&solved)));
    let documents = documents(&solved, &book, None).unwrap();
    (book, documents)
}

/// The same of the small job, once for all tests.
fn spreader() -> &'static (Book, Vec<Document>) {
    static SMALL: LazyLock<(Book, Vec<Document>)> = LazyLock::new(|| written(&model(SPREADER)));
    &SMALL
}

/// A document as text.
fn text(documents: &[Document], name: &str) -> String {
    let found = documents.iter().find(|d| d.name == name).unwrap_or_else(|| panic!("no {name}"));
    String::from_utf8(found.bytes.clone()).unwrap()
}
