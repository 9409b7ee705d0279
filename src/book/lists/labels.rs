//! Labels: one for each end of each wire, and one for each part and connector.

use crate::address::BookAddress;
use crate::lists::csv::CellTable;
use crate::lists::pins::{PinTable, TableKind};
use crate::lists::wires::WireRow;
use serde::Serialize;

/// A label of two lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LabelRow {
    /// What it goes on: `wire 7 at K1.87`, `K1`.
    pub on: String,
    /// Where that is.
    pub place: String,
    /// First line: what it is.
    pub first: String,
    /// Second line: where it goes, or what it is in words.
    pub second: String,
    /// What a link leads to: a `wire` or a `part`, and its name.
    #[serde(skip)]
    pub leads_to: (&'static str, String),
}

/// Every label: wires in the order of the spec, first end first, then connectors and parts.
pub fn labels(wires: &[WireRow], tables: &[PinTable]) -> Vec<LabelRow> {
    let ends = wires.iter().filter(|wire| !wire.existing).flat_map(|wire| {
        [(&wire.from, &wire.to), (&wire.to, &wire.from)].map(|(here, there)| LabelRow {
            on: format!("wire {} at {}", wire.id, here.pin),
            place: here.place.clone(),
            first: format!("{}  {}", wire.id, here.pin),
            second: format!("to {}", there.pin),
            leads_to: ("wire", wire.id.clone()),
        })
    });
    let labelled = |t: &&PinTable| matches!(t.kind, TableKind::Connector | TableKind::Part);
    let parts = tables.iter().filter(labelled).map(|table| LabelRow {
        on: table.name.clone(),
        place: table.place.clone(),
        first: table.name.clone(),
        second: table.title.clone(),
        leads_to: ("part", table.name.clone()),
    });
    ends.chain(parts).collect()
}

/// The labels as CSV, as label printers take them; with the address of the book, each has its link.
pub fn cells(labels: &[LabelRow], address: Option<&BookAddress>) -> CellTable {
    let rows = labels.iter().map(|label| {
        let mut row = vec![label.first.clone(), label.second.clone(), label.on.clone(), label.place.clone()];
        row.extend(address.map(|address| label.link(address)));
        row
    });
    let headings = ["First line", "Second line", "On", "Place", "Link"];
    CellTable::new(if address.is_some() { &headings } else { &headings[..4] }, rows)
}

impl LabelRow {
    /// The link to what it is on, in the book at an address.
    pub fn link(&self, address: &BookAddress) -> String {
        address.of(self.leads_to.0, &self.leads_to.1)
    }
}
