//! Labels: one for each end of each wire, and one for each part and connector.

use crate::lists::csv::csv;
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
}

/// Every label: wires in the order of the spec, first end first, then connectors and parts.
pub fn labels(wires: &[WireRow], tables: &[PinTable]) -> Vec<LabelRow> {
    let ends = wires.iter().filter(|wire| !wire.existing).flat_map(|wire| {
        [(&wire.from, &wire.to), (&wire.to, &wire.from)].map(|(here, there)| LabelRow {
            on: format!("wire {} at {}", wire.id, here.pin),
            place: here.place.clone(),
            first: format!("{}  {}", wire.id, here.pin),
            second: format!("to {}", there.pin),
        })
    });
    let labelled = |t: &&PinTable| matches!(t.kind, TableKind::Connector | TableKind::Part);
    let parts = tables.iter().filter(labelled).map(|table| LabelRow {
        on: table.name.clone(),
        place: table.place.clone(),
        first: table.name.clone(),
        second: table.title.clone(),
    });
    ends.chain(parts).collect()
}

/// The labels as CSV, as label printers take them.
pub fn as_csv(labels: &[LabelRow]) -> Vec<u8> {
    let rows = labels.iter().map(|l| vec![l.first.clone(), l.second.clone(), l.on.clone(), l.place.clone()]);
    csv(&["First line", "Second line", "On", "Place"], rows)
}
