//! The wire list with cut lengths, and the same wires sorted for the cutting bench, reel by reel.

use crate::lists::amount::{Amount, CutLength};
use crate::lists::csv::{CellTable, plain};
use crate::lists::pins::printed_gauge;
use crate::lists::signal_names::SignalNames;
use crate::lists::strip::strip;
use crate::lists::terminals;
use form::Colour;
use model::{Domain, Model, PartKind, PinId, WireId};
use quantity::{Gauge, Metres};
use serde::Serialize;
use spec::WireMake;

/// One wire.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WireRow {
    /// Its number.
    pub id: String,
    /// One end.
    pub from: WireEnd,
    /// The other.
    pub to: WireEnd,
    /// Colour code of its insulation.
    pub colour: Option<Colour>,
    /// Conductor size; none for a lead or a coaxial cable whose spec gives none.
    pub gauge: Option<Gauge>,
    /// The program chose the size.
    pub gauge_chosen: bool,
    /// How it is made.
    pub make: WireMake,
    /// The places that it goes by, from its first end to its second.
    pub way: Vec<String>,
    /// Length between its ends.
    pub length: Option<Metres>,
    /// Length to cut; none for a wire that isn't cut: already in the vehicle, a bought lead, or of unknown length.
    pub cut: Option<CutLength>,
    /// What it carries.
    pub signal: String,
    /// The kind of signal.
    pub domain: Domain,
    /// Already in the vehicle.
    pub existing: bool,
    /// Note for the bench.
    pub note: Option<String>,
}

/// One end of a wire.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WireEnd {
    /// The pin.
    pub pin: String,
    /// Where it is.
    pub place: String,
    /// What goes on the wire.
    pub terminal: Option<String>,
    /// The part brings that along.
    pub supplied: bool,
    /// The seal on it.
    pub seal: Option<String>,
    /// Insulation to strip.
    pub strip: Option<Metres>,
}

/// Wires cut from one reel, the longest first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reel {
    /// How it is made.
    pub make: WireMake,
    /// Conductor size.
    pub gauge: Option<Gauge>,
    /// Colour code.
    pub colour: Option<Colour>,
    /// What is cut from it.
    pub pieces: Vec<CutPiece>,
    /// All of it together.
    pub total: Amount,
}

/// A piece to cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutPiece {
    /// Number of the wire.
    pub wire: String,
    /// How long.
    pub cut: CutLength,
    /// One end.
    pub from: WireEnd,
    /// The other.
    pub to: WireEnd,
}

/// Every wire, in the order of the spec.
pub fn wire_list(model: &Model) -> Vec<WireRow> {
    let signals = SignalNames::new(model);
    model.wire_ids().map(|id| row(model, &signals, id)).collect()
}

fn row(model: &Model, signals: &SignalNames, id: WireId) -> WireRow {
    let wire = model.wire(id);
    let cut_here = !wire.existing && wire.make != WireMake::Lead;
    WireRow {
        id: wire.id.to_string(),
        from: end(model, id, wire.ends[0]),
        to: end(model, id, wire.ends[1]),
        colour: wire.colour,
        gauge: printed_gauge(model, id),
        gauge_chosen: !wire.gauge_given() && printed_gauge(model, id).is_some(),
        make: wire.make,
        way: way(model, id),
        length: wire.length,
        cut: wire.length.filter(|_| cut_here).map(|length| CutLength::of(length, &model.limits)),
        signal: signals.of(id),
        domain: wire.domain,
        existing: wire.existing,
        note: wire.note.clone(),
    }
}

fn end(model: &Model, wire: WireId, pin: PinId) -> WireEnd {
    let part = model.part(model.pin(pin).part);
    // Where an existing wire meets the vehicle, nothing is left to be made.
    let made =
        !(model.wire(wire).existing && matches!(part.kind, PartKind::Supply | PartKind::Feed | PartKind::Ground));
    let (words, supplied) = terminals::terminal(model, model.pin(pin).part).filter(|_| made).unzip();
    WireEnd {
        pin: model.pin_name(pin),
        place: model.place_name(part.at).to_string(),
        terminal: words.map(|words| words + &terminals::shares_words(model, wire, pin)),
        supplied: supplied.unwrap_or(false),
        seal: part.form.terminal.as_ref().and_then(|t| t.seal.as_ref()).map(|s| s.0.clone()),
        strip: strip(model, wire, pin),
    }
}

/// The places along a wire's runs, its ends' own included.
fn way(model: &Model, id: WireId) -> Vec<String> {
    let wire = model.wire(id);
    let Some(mut at) = model.part(model.pin(wire.ends[0]).part).at else { return Vec::new() };
    let mut places = vec![model.places[at.0].to_string()];
    for run in &wire.path {
        let [a, b] = model.runs[run.0].ends;
        at = if a == at { b } else { a };
        places.push(model.places[at.0].to_string());
    }
    places
}

/// The wires to cut, by reel: cables apart from single wire, thick before thin, then by colour.
pub fn reels(wires: &[WireRow]) -> Vec<Reel> {
    let mut reels: Vec<Reel> = Vec::new();
    for wire in wires {
        let Some(cut) = wire.cut else { continue };
        let piece = CutPiece { wire: wire.id.clone(), cut, from: wire.from.clone(), to: wire.to.clone() };
        let same = |r: &&mut Reel| (r.make, r.gauge, r.colour) == (wire.make, wire.gauge, wire.colour);
        match reels.iter_mut().find(same) {
            Some(reel) => reel.pieces.push(piece),
            None => reels.push(Reel {
                make: wire.make,
                gauge: wire.gauge,
                colour: wire.colour,
                pieces: vec![piece],
                total: Amount::Length(CutLength::default()),
            }),
        }
    }
    for reel in &mut reels {
        reel.pieces.sort_by_key(|piece| std::cmp::Reverse(piece.cut));
        reel.total = Amount::Length(reel.pieces.iter().map(|piece| piece.cut).sum());
    }
    let area = |reel: &Reel| reel.gauge.map_or(0.0, Gauge::area);
    reels.sort_by(|a, b| a.make.cmp(&b.make).then(area(b).total_cmp(&area(a))).then_with(|| a.colour.cmp(&b.colour)));
    reels
}

fn millimetres(length: Metres) -> String {
    format!("{:.0}", length.value() * 1000.0)
}

/// The wire list as cells.
pub fn cells(wires: &[WireRow]) -> CellTable {
    let headings = [
        "Wire",
        "Colour",
        "Size",
        "Size chosen by",
        "Wire type",
        "From",
        "From place",
        "Terminal at from",
        "Seal at from",
        "Strip at from (mm)",
        "To",
        "To place",
        "Terminal at to",
        "Seal at to",
        "Strip at to (mm)",
        "Route",
        "Length (mm)",
        "Cut length (mm)",
        "Signal",
        "Signal type",
        "Already in the vehicle",
        "Note",
    ];
    let rows = wires.iter().map(|wire| {
        let chosen = match wire.gauge {
            None => "",
            Some(_) if wire.gauge_chosen => "program",
            Some(_) => "spec",
        };
        vec![
            wire.id.clone(),
            wire.colour.map(|c| c.to_string()).unwrap_or_default(),
            wire.gauge.map(plain).unwrap_or_default(),
            chosen.to_string(),
            wire.make.to_string(),
            wire.from.pin.clone(),
            wire.from.place.clone(),
            wire.from.terminal.clone().unwrap_or_default(),
            wire.from.seal.clone().unwrap_or_default(),
            wire.from.strip.map(millimetres).unwrap_or_default(),
            wire.to.pin.clone(),
            wire.to.place.clone(),
            wire.to.terminal.clone().unwrap_or_default(),
            wire.to.seal.clone().unwrap_or_default(),
            wire.to.strip.map(millimetres).unwrap_or_default(),
            wire.way.join(" > "),
            wire.length.map(millimetres).unwrap_or_default(),
            wire.cut.map(|c| c.millimetres().to_string()).unwrap_or_default(),
            wire.signal.clone(),
            wire.domain.to_string(),
            if wire.existing { "yes" } else { "" }.to_string(),
            wire.note.clone().unwrap_or_default(),
        ]
    });
    CellTable::new(&headings, rows)
}
