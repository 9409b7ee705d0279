//! The documents of a job. In comes the solved harness, out goes a [`Book`]: the lists, the state table, the bench test
//! and the service sheets as typed rows, which the CSV files, the HTML build book and `job.json` are all written from.
//!
//! What must hold: the same spec gives the same bytes; nothing of a spec decides where a file goes, starts a formula in
//! a spreadsheet, or becomes markup.

pub mod bench;
pub mod corners;
pub mod folder;
pub mod lists;
pub mod page;
pub mod service;
mod way;

use graph::dot;
use lists::findings::Findings;
use lists::{labels, parts, pins, purpose, splices, states as state_list, wires};
use page::drawings::{self, Drawn};
use quantity::{Metres, Share, Volts};
use serde::Serialize;
use states::{Live, Solved};

/// Version of `job.json`. It changes when a reader of an older one could go wrong.
pub const JOB_VERSION: u32 = 1;

/// The cautions that every book opens with.
pub const CAUTIONS: [&str; 7] = [
    "Isolate the battery before you touch the vehicle's wiring, and wait as long as the vehicle maker asks.",
    "Leave airbag (SRS) wiring and data-bus wiring alone: don't tap it, don't splice it, don't measure on it.",
    "Fuse every feed at its source, before it leaves the place where it is taken.",
    "The factory's own rear view must work as before, whatever this harness does.",
    "Screens that the driver can see while moving are restricted in many places. Ask before you fit one.",
    "The figures are planning aids, worked out for this design and not measured on the vehicle.",
    "Local codes and the vehicle maker's body-builder instructions come first, and licensed work stays licensed work.",
];

/// Everything that the documents of a job say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Book {
    /// Version of this form.
    pub version: u32,
    /// What job it is.
    pub job: JobFacts,
    /// The cautions.
    pub cautions: Vec<&'static str>,
    /// What the checks found.
    pub findings: Findings,
    /// What it is for.
    pub purpose: purpose::Purpose,
    /// Every pin.
    pub pins: Vec<pins::PinTable>,
    /// Every wire.
    pub wires: Vec<wires::WireRow>,
    /// The wires by the reel that they are cut from.
    pub reels: Vec<wires::Reel>,
    /// Every splice.
    pub splices: Vec<splices::Splice>,
    /// What to order.
    pub order: Vec<parts::OrderLine>,
    /// Every label.
    pub labels: Vec<labels::Label>,
    /// The bench test.
    pub bench: bench::BenchTest,
    /// Every state.
    pub states: state_list::StateList,
    /// How to trace each view.
    pub service: Vec<service::ServiceSheet>,
}

/// What job it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JobFacts {
    /// Title.
    pub title: String,
    /// Revision; `—` where none is given.
    pub revision: String,
    /// Nominal voltage.
    pub nominal: Volts,
    /// A note for the first page.
    pub note: Option<String>,
    /// Added to each cut length.
    pub cut_allowance: Share,
    /// Added to each end of a wire.
    pub end_allowance: Metres,
}

/// A file of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// Its name inside the job's folder; never a path.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// Works out everything that the documents say.
pub fn book(solved: &Solved, findings: Findings) -> Book {
    let model = solved.model;
    let table = solved.table();
    let pins = pins::pin_list(model);
    let wires = wires::wire_list(model);
    let reels = wires::reels(&wires);
    let labels = labels::labels(&wires, &pins);
    let mut corners = corners::Corners::new(solved);
    Book {
        version: JOB_VERSION,
        job: JobFacts {
            title: model.job.title.clone(),
            revision: if model.job.revision == "-" { "—".to_string() } else { model.job.revision.clone() },
            nominal: model.job.nominal,
            note: model.job.note.clone(),
            cut_allowance: model.limits.cut_allowance,
            end_allowance: model.limits.end_allowance,
        },
        cautions: CAUTIONS.to_vec(),
        findings,
        purpose: purpose::purpose(model),
        splices: splices::splices(model, &pins),
        order: parts::order(model, &reels, &labels),
        labels,
        bench: bench::bench_test(solved, &table),
        states: state_list::state_list(solved, &table),
        service: service::service_sheets(solved, &table, &mut corners),
        pins,
        wires,
        reels,
    }
}

/// Every file of a job; with a state, the drawings that can show it in that state as well.
///
/// # Errors
/// Never for a released program; see [`page::html`].
pub fn documents(solved: &Solved, book: &Book, live: Option<&Live>) -> Result<Vec<Document>, String> {
    let drawings: Vec<Drawn> = drawings::drawings(solved, live);
    let document = |name: &str, bytes: Vec<u8>| Document { name: name.to_string(), bytes };
    let mut json = serde_json::to_vec_pretty(book).map_err(|e| format!("the job can't be written as JSON: {e}"))?;
    json.push(b'\n');
    let mut documents = vec![
        document("build-book.html", page::html(book, &drawings)?.into_bytes()),
        document("pin-list.csv", pins::as_csv(&book.pins)),
        document("wire-list.csv", wires::as_csv(&book.wires)),
        document("splices.csv", splices::as_csv(&book.splices)),
        document("parts.csv", parts::as_csv(&book.order)),
        document("labels.csv", labels::as_csv(&book.labels)),
        document("bench-test.csv", bench::as_csv(&book.bench)),
        document("states.csv", state_list::as_csv(&book.states)),
        document("service-sheet.csv", service::as_csv(&book.service)),
        document("signal-graph.dot", dot(solved.model, &solved.graph, None).into_bytes()),
    ];
    for sheet in drawings.iter().flat_map(|drawing| &drawing.sheets) {
        documents.push(document(&sheet.file, sheet.alone.clone().into_bytes()));
    }
    documents.push(document("job.json", json));
    Ok(documents)
}

#[cfg(test)]
mod tests;
