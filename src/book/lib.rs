//! The documents of a job. In comes the solved harness, out goes a [`Book`]: the lists, the state table, the bench test
//! and the service sheets as typed rows, which the CSV files, the build book and `job.json` are all written from.
//!
//! Invariants: the same spec gives the same bytes; no text of a spec chooses a file's path, starts a formula in a
//! spreadsheet, or becomes markup.

mod address;
pub mod bench;
mod contents;
pub mod folder;
pub mod lists;
pub mod meter;
pub mod page;
mod printed;
pub mod service;
mod steps;
mod workbook;
mod zip;

pub use address::BookAddress;
pub use contents::{Book, CAUTIONS, JOB_SCHEMA, JOB_VERSION, JobFacts, book};
use facts::Facts;
use graph::dot;
use kit::sheet::Papers;
use lists::{fuses, labels, parts, pins, splices, states as state_list, wires};
pub use page::drawings::{Drawn, drawings};
use workbook::NamedList;

/// A file of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// Its name inside the job's folder; never a path.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// Every file of a job. With the address of the book, each label has a link to what it is on, as a QR code.
///
/// # Errors
/// Never for a released program; see [`page::html`].
pub fn documents(
    facts: &Facts,
    book: &Book,
    drawings: &[Drawn],
    papers: Papers,
    address: Option<&BookAddress>,
) -> Result<Vec<Document>, String> {
    let pages = || {
        let html = page::html(book, drawings, papers, address)?;
        let pdf = printed::pdf(book, drawings, &html, papers)?;
        Ok::<_, String>((page::column_classes::shared(&html), pdf))
    };
    let (pages, others) = threads::both(pages, || beside_the_page(facts, book, drawings, address));
    let (html, pdf) = pages?;
    let mut documents = vec![document("build-book.html", html.into_bytes()), document("build-book.pdf", pdf)];
    documents.extend(others?);
    Ok(documents)
}

fn document(name: &str, bytes: Vec<u8>) -> Document {
    Document { name: name.to_string(), bytes }
}

/// Every file of a job but the build book.
fn beside_the_page(
    facts: &Facts,
    book: &Book,
    drawings: &[Drawn],
    address: Option<&BookAddress>,
) -> Result<Vec<Document>, String> {
    let mut json = serde_json::to_vec_pretty(book).map_err(|e| format!("the job can't be written as JSON: {e}"))?;
    json.push(b'\n');
    let lists = lists(book, address);
    let mut documents: Vec<Document> = lists.iter().map(|list| document(list.file, list.cells.csv())).collect();
    documents.push(document("signal-graph.dot", dot(facts.model, &facts.solved.graph, None).into_bytes()));
    documents.push(document("lists.xlsx", workbook::workbook(&lists)));
    for sheet in drawings.iter().flat_map(|drawing| &drawing.sheets) {
        documents.push(document(&sheet.file, sheet.alone.clone().into_bytes()));
    }
    documents.push(document("job.json", json));
    Ok(documents)
}

/// Every list of a job, in the order of the workbook.
fn lists(book: &Book, address: Option<&BookAddress>) -> [NamedList; 10] {
    let list = |sheet, file, cells| NamedList { sheet, file, cells };
    [
        list("Wires", "wire-list.csv", wires::cells(&book.wires)),
        list("Pins", "pin-list.csv", pins::cells(&book.pins)),
        list("Parts", "parts.csv", parts::cells(&book.order)),
        list("Labels", "labels.csv", labels::cells(&book.labels, address)),
        list("Splices", "splices.csv", splices::cells(&book.splices)),
        list("Fuses", "fuses.csv", fuses::cells(&book.fuses)),
        list("Bench test", "bench-test.csv", bench::cells(&book.bench)),
        list("Bench coverage", "bench-coverage.csv", book.bench.coverage.cells()),
        list("States", "states.csv", state_list::cells(&book.states)),
        list("Service", "service-sheet.csv", service::cells(&book.service)),
    ]
}

#[cfg(test)]
mod tests;
