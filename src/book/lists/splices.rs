//! Splices: which wires meet in each, and whether they fit.

use crate::lists::csv::{CellTable, plain};
use crate::lists::pins::{PinTable, PinWire, TableKind};
use model::tails::splice_spots;
use model::{Model, PartId};
use quantity::Gauge;
use serde::Serialize;

/// One splice.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Splice {
    /// Its name.
    pub name: String,
    /// Its kind, in words.
    pub what: String,
    /// Where it is.
    pub place: String,
    /// Where it lies along a run, from the breakout of its place to its middle: `40 mm towards dash`; `at the breakout`
    /// if it lies on none.
    pub position: String,
    /// The wires that it joins.
    pub wires: Vec<PinWire>,
    /// Their copper together.
    pub copper: Gauge,
    /// How much copper its kind takes.
    pub takes: Option<String>,
    /// Note for the bench.
    pub notes: Vec<String>,
}

/// Every splice, in the order of the spec. `tables` is the pin list of the same model.
pub fn splices(model: &Model, tables: &[PinTable]) -> Vec<Splice> {
    let spots = splice_spots(model);
    let position = |splice: PartId| {
        let Some(spot) = spots.iter().find(|spot| spot.splice == splice) else { return "at the breakout".to_string() };
        let far = model.runs[spot.run.0].ends.into_iter().find(|end| *end != spot.from).unwrap_or(spot.from);
        format!("{:.0} mm towards {}", spot.along.value() * 1000.0, model.places[far.0])
    };
    let splice = |table: &PinTable| {
        let id = model.part_named(&table.name)?;
        let part = model.part(id);
        let wires: Vec<PinWire> = table.rows.iter().filter_map(|row| row.wire.clone()).collect();
        Some(Splice {
            name: table.name.clone(),
            what: part.form.title.0.clone(),
            place: table.place.clone(),
            position: position(id),
            copper: Gauge::Metric(wires.iter().filter_map(|w| w.gauge).map(Gauge::area).sum()),
            takes: part.form.holds.map(|holds| holds.0.to_string()),
            wires,
            notes: table.notes.clone(),
        })
    };
    tables.iter().filter(|t| t.kind == TableKind::Splice).filter_map(splice).collect()
}

/// The splices as CSV, one row for each wire at a splice.
pub fn cells(splices: &[Splice]) -> CellTable {
    let headings = [
        "Splice",
        "Kind",
        "Place",
        "Position",
        "Wire",
        "Colour",
        "Size",
        "Goes to",
        "Place of other end",
        "Total size",
        "Splice takes",
    ];
    let rows = splices.iter().flat_map(|splice| {
        splice.wires.iter().map(move |wire| {
            vec![
                splice.name.clone(),
                splice.what.clone(),
                splice.place.clone(),
                splice.position.clone(),
                wire.id.clone(),
                wire.colour.map(|c| c.to_string()).unwrap_or_default(),
                wire.gauge.map(plain).unwrap_or_default(),
                wire.to.clone(),
                wire.to_place.clone(),
                plain(splice.copper),
                splice.takes.as_ref().map(plain).unwrap_or_default(),
            ]
        })
    });
    CellTable::new(&headings, rows)
}
