//! The fuse chart: where each fuse is, what to put in, what it protects, and what stops when it opens.

use crate::lists::csv::{CellTable, plain};
use crate::lists::states::printed;
use facts::Facts;
use facts::protection::Guard;
use model::{ElementId, ElementKind, PartKind, PinId};
use quantity::Amps;
use serde::Serialize;
use std::collections::BTreeSet;

/// One fuse or breaker.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FuseRow {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub title: String,
    /// Where it is.
    pub place: String,
    /// Its kind, in words.
    pub what: String,
    /// Its rating.
    pub rating: Amps,
    /// The colour of its body, by its standard.
    pub colour: Option<String>,
    /// The most that it carries in any state, at nominal supply.
    pub most: Amps,
    /// The wires that it protects.
    pub wires: Vec<String>,
    /// The parts on these wires: they stop when it opens.
    pub feeds: Vec<String>,
}

/// Every fuse, in the order of the spec.
pub fn fuse_chart(facts: &Facts) -> Vec<FuseRow> {
    let model = facts.model;
    let row = |(i, element): (usize, &model::Element)| {
        let ElementKind::Fuse { rating, .. } = element.kind else { return None };
        let (id, part) = (ElementId(i), model.part(element.part));
        let wires: Vec<model::WireId> = model
            .wire_ids()
            .filter(|wire| matches!(facts.protection().of(*wire), Guard::Element(guard, _) if guard == id))
            .collect();
        let of_part = |pin: PinId| model.pin(pin).part;
        // A part that is plugged in is on the wire of the cavity that it meets.
        let plugged = |pin: PinId| {
            let joints = model.joints.iter().filter(move |joint| joint.pins.contains(&pin));
            joints.flat_map(|joint| joint.pins).chain([pin])
        };
        let ends: BTreeSet<_> =
            wires.iter().flat_map(|wire| model.wire(*wire).ends).flat_map(plugged).map(of_part).collect();
        let feeds = ends.into_iter().filter(|end| *end != element.part).map(|end| model.part(end));
        let carried = facts.table().rows.iter().filter_map(|row| {
            let (_, amps) = row.fuses.iter().find(|(fuse, _)| *fuse == id)?;
            Some(amps.abs())
        });
        let at = part.form.ratings.iter().position(|known| *known == rating);
        Some(FuseRow {
            name: part.name.to_string(),
            title: part.title.clone(),
            place: model.place_name(part.at).to_string(),
            what: part.form.title.0.clone(),
            rating,
            colour: at.and_then(|at| part.form.colours.get(at)).map(|colour| colour.0.clone()),
            most: printed(carried.reduce(Amps::max).unwrap_or_default()),
            wires: wires.iter().map(|wire| model.wire(*wire).id.to_string()).collect(),
            feeds: feeds
                .filter(|part| {
                    !matches!(
                        part.kind,
                        PartKind::Splice | PartKind::Connector | PartKind::Ground | PartKind::Supply | PartKind::Feed
                    )
                })
                .map(|part| part.name.to_string())
                .collect(),
        })
    };
    model.elements.iter().enumerate().filter_map(row).collect()
}

/// The chart as CSV, a row for each fuse.
pub fn cells(fuses: &[FuseRow]) -> CellTable {
    let headings =
        ["Fuse", "For", "Place", "Kind", "Rating", "Body colour", "Most in any state", "Protects wires", "Feeds"];
    let rows = fuses.iter().map(|fuse| {
        vec![
            fuse.name.clone(),
            fuse.title.clone(),
            fuse.place.clone(),
            fuse.what.clone(),
            plain(fuse.rating),
            fuse.colour.clone().unwrap_or_default(),
            plain(fuse.most),
            fuse.wires.join(", "),
            fuse.feeds.join(", "),
        ]
    });
    CellTable::new(&headings, rows)
}
