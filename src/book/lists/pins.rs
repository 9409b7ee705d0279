//! The pin list: every cavity of every connector and every pin of every part, and what goes there.

use crate::lists::connections::{self, Connections, screen_at};
use crate::lists::csv::{CellTable, plain};
use crate::lists::settings::settings;
use crate::lists::terminals;
use form::Colour;
use model::{Domain, Model, Part, PartId, PartKind, PinId, WireId};
use quantity::Gauge;
use serde::Serialize;
use spec::WireMake;

/// Most rings on one stud (ABYC E-11, from memory).
const MOST_RINGS: usize = 4;

/// One connector, part or point with its pins.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PinTable {
    /// Its name in the spec.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// Its kind as it is ordered, with its rating; empty if the words above are that already.
    pub what: String,
    /// What it is to the harness.
    pub kind: TableKind,
    /// Where it is.
    pub place: String,
    /// What its cavities meet: `mates with X1S`, `plugs into REAR`.
    pub meets: Vec<String>,
    /// What goes on each of its wires.
    pub terminal: Option<String>,
    /// The part brings that along.
    pub supplied: bool,
    /// The seal on each of its wires.
    pub seal: Option<String>,
    /// Already in the vehicle.
    pub existing: bool,
    /// Notes for the bench.
    pub notes: Vec<String>,
    /// Its pins in their order; one row for each wire, and one for each pin without.
    pub rows: Vec<PinRow>,
}

/// What a part is to the harness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TableKind {
    /// A connector half.
    Connector,
    /// A part that wires end at.
    Part,
    /// A supply or a tapped wire of the vehicle.
    Tap,
    /// A ground point.
    Ground,
    /// A splice.
    Splice,
}

/// A pin with one of its wires, or without any.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PinRow {
    /// Name of the pin or number of the cavity.
    pub pin: String,
    /// What the pin is for; empty if its name says it all.
    pub function: String,
    /// The wire, if there is one.
    pub wire: Option<PinWire>,
    /// Without a wire: what goes there instead, in words.
    pub instead: Option<String>,
}

/// A wire at a pin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PinWire {
    /// Its number.
    pub id: String,
    /// Colour code of its insulation.
    pub colour: Option<Colour>,
    /// Conductor size; none for a lead or a coaxial cable whose spec gives none.
    pub gauge: Option<Gauge>,
    /// How it is made.
    pub make: WireMake,
    /// What it carries.
    pub signal: String,
    /// The kind of signal.
    pub domain: Domain,
    /// Its other end.
    pub to: String,
    /// Where that is.
    pub to_place: String,
    /// Where it goes on to from there, through splices and mated cavities.
    pub beyond: Vec<String>,
    /// Already in the vehicle.
    pub existing: bool,
    /// The wires that sit with it in one terminal, in words; empty if it sits alone.
    pub shares: String,
    /// Note for the bench.
    pub note: Option<String>,
}

/// The pin list: connectors first, then parts, taps, grounds and splices, each in the order of the spec.
pub fn pin_list(model: &Model) -> Vec<PinTable> {
    let wiring = Connections::new(model);
    let mut tables: Vec<PinTable> = model.part_ids().map(|id| table(model, &wiring, id)).collect();
    tables.sort_by_key(|table| table.kind);
    tables
}

fn table(model: &Model, wiring: &Connections, id: PartId) -> PinTable {
    let part = model.part(id);
    let terminal = part.form.terminal.as_ref();
    let (words, supplied) = terminals::terminal(model, id).unzip();
    let kind = match part.kind {
        PartKind::Connector => TableKind::Connector,
        PartKind::Device => TableKind::Part,
        PartKind::Supply | PartKind::Feed => TableKind::Tap,
        PartKind::Ground => TableKind::Ground,
        PartKind::Splice => TableKind::Splice,
    };
    PinTable {
        name: part.name.to_string(),
        title: part.title.clone(),
        what: what(part),
        kind,
        place: model.place_name(part.at).to_string(),
        meets: meets(model, wiring, id),
        terminal: words,
        supplied: supplied.unwrap_or(false),
        seal: terminal.and_then(|t| t.seal.as_ref()).map(|s| s.0.clone()),
        existing: part.existing,
        notes: notes(model, id),
        rows: part.pins.iter().flat_map(|pin| rows(model, wiring, *pin)).collect(),
    }
}

/// Notes of the spec and of the kind of part, settings, and how shields of coaxial cables are connected.
fn notes(model: &Model, id: PartId) -> Vec<String> {
    let part = model.part(id);
    let mut notes: Vec<String> = part.note.iter().cloned().chain(part.form.note.iter().map(|n| n.0.clone())).collect();
    notes.extend(settings(model, id).into_iter().map(|(what, to)| format!("set the {what} to {to}")));
    if let Some(half) = model::half(model, id) {
        notes.push(half.words().to_string());
    }
    let rings =
        model.wires.iter().filter(|w| !w.existing && w.ends.iter().any(|end| model.pin(*end).part == id)).count();
    if part.kind == PartKind::Ground && rings >= MOST_RINGS {
        notes.push(format!(
            "{rings} rings on one stud, where {MOST_RINGS} are the most (ABYC E-11){}",
            if rings > MOST_RINGS { ": use several studs or a bus bar" } else { "" }
        ));
    }
    for pin in part.pins.iter().filter(|_| part.kind == PartKind::Connector) {
        for wire in model.wires_on(*pin).filter(|id| model.wire(*id).make == WireMake::Coax) {
            notes.push(format!(
                "wire {} is coaxial: centre in cavity {}, shield carried on {} (common practice, no source)",
                model.wire(wire).id,
                model.pin(*pin).name,
                screen_at(model, *pin)
            ));
        }
    }
    notes
}

fn what(part: &Part) -> String {
    let kind = (part.title != part.form.title.0).then(|| part.form.title.0.clone());
    kind.into_iter().chain(part.rating.map(|rating| rating.to_string())).collect::<Vec<_>>().join(", ")
}

/// The parts that a part's pins meet without a wire.
fn meets(model: &Model, wiring: &Connections, id: PartId) -> Vec<String> {
    let this = model.part(id);
    let mut others: Vec<PartId> = Vec::new();
    for other in this.pins.iter().flat_map(|pin| wiring.mated(*pin)).map(|pin| model.pin(*pin).part) {
        if !others.contains(&other) {
            others.push(other);
        }
    }
    let words = |other: &PartId| {
        let other = model.part(*other);
        let both = this.kind == PartKind::Connector && other.kind == PartKind::Connector;
        let verb = match this.kind {
            _ if both => "mates with",
            PartKind::Connector => "plugs into",
            _ => "takes",
        };
        format!("{verb} {} ({})", other.name, other.title)
    };
    others.iter().map(words).collect()
}

fn rows(model: &Model, wiring: &Connections, pin: PinId) -> Vec<PinRow> {
    let this = model.pin(pin);
    let function = if this.title == this.name.as_str() { String::new() } else { this.title.clone() };
    let row = |wire: Option<PinWire>, instead: Option<String>| PinRow {
        pin: this.name.to_string(),
        function: function.clone(),
        wire,
        instead,
    };
    let wires = wiring.wires_on(pin);
    if wires.is_empty() {
        return vec![row(None, Some(instead(model, wiring, pin)))];
    }
    wires.iter().map(|wire| row(Some(pin_wire(model, wiring, *wire, pin)), None)).collect()
}

/// What goes to a pin that has no wire.
fn instead(model: &Model, wiring: &Connections, pin: PinId) -> String {
    let (this, part) = (model.pin(pin), model.part(model.pin(pin).part));
    if part.kind == PartKind::Connector {
        if let Some(screens) = connections::screens_words(model, pin) {
            return screens;
        }
        let plug = part.form.terminal.as_ref().and_then(|t| t.plug.as_ref());
        return plug.map_or_else(|| "stays empty".to_string(), |plug| plug.0.clone());
    }
    let mated: Vec<String> = wiring.mated(pin).iter().map(|other| model.pin_name(*other)).collect();
    match (mated.is_empty(), this.optional) {
        (false, _) => format!("through {}", mated.join(", ")),
        (true, true) => "not used".to_string(),
        (true, false) => "no wire".to_string(),
    }
}

fn pin_wire(model: &Model, wiring: &Connections, id: WireId, pin: PinId) -> PinWire {
    let wire = model.wire(id);
    let leads = wiring.leads(id, pin);
    PinWire {
        id: wire.id.to_string(),
        colour: wire.colour,
        gauge: printed_gauge(model, id),
        make: wire.make,
        signal: wiring.carries(id),
        domain: wire.domain,
        to: model.pin_name(leads.far),
        to_place: model.place_name(model.part(model.pin(leads.far).part).at).to_string(),
        beyond: leads.beyond_names(model),
        existing: wire.existing,
        shares: terminals::shares_words(model, id, pin),
        note: noted(wire.note.clone(), connections::screens_words(model, pin)),
    }
}

fn noted(note: Option<String>, more: Option<String>) -> Option<String> {
    let both: Vec<String> = note.into_iter().chain(more).collect();
    (!both.is_empty()).then(|| both.join("; "))
}

/// The conductor size to print: a lead or coaxial cable has one only if the spec says so.
pub fn printed_gauge(model: &Model, id: WireId) -> Option<Gauge> {
    let wire = model.wire(id);
    let own = matches!(wire.make, WireMake::Single | WireMake::Twisted);
    (own || wire.gauge_given()).then_some(wire.gauge)
}

/// The list as CSV: one row for each wire at a pin, and for each pin without.
pub fn cells(tables: &[PinTable]) -> CellTable {
    let headings = [
        "Connector or part",
        "Type",
        "Description",
        "Part kind",
        "Place",
        "Mates with",
        "Pin",
        "Function",
        "Wire",
        "Colour",
        "Size",
        "Wire type",
        "Terminal",
        "Seal",
        "Signal",
        "Signal type",
        "Goes to",
        "Place of other end",
        "Continues to",
        "If no wire",
        "Note",
        "Part note",
    ];
    let rows = tables.iter().flat_map(|table| {
        table.rows.iter().map(move |row| {
            let wire = |of: fn(&PinWire) -> String| row.wire.as_ref().map(of).unwrap_or_default();
            vec![
                table.name.clone(),
                table.kind.word().to_string(),
                table.title.clone(),
                plain(&table.what),
                table.place.clone(),
                table.meets.join("; "),
                row.pin.clone(),
                row.function.clone(),
                wire(|w| w.id.clone()),
                wire(|w| w.colour.map(|c| c.to_string()).unwrap_or_default()),
                wire(|w| w.gauge.map(plain).unwrap_or_default()),
                wire(|w| w.make.to_string()),
                row.wire.as_ref().and_then(|w| Some(table.terminal_of(w)? + &w.shares)).unwrap_or_default(),
                row.wire.as_ref().and(table.seal.clone()).unwrap_or_default(),
                wire(|w| w.signal.clone()),
                wire(|w| w.domain.to_string()),
                wire(|w| w.to.clone()),
                wire(|w| w.to_place.clone()),
                wire(|w| w.beyond.join(" ")),
                row.instead.clone().unwrap_or_default(),
                wire(|w| w.note.clone().unwrap_or_default()),
                table.notes.join("; "),
            ]
        })
    });
    CellTable::new(&headings, rows)
}

impl PinTable {
    /// What goes on a wire here. Where an existing wire meets the vehicle, nothing is left to be made.
    fn terminal_of(&self, wire: &PinWire) -> Option<String> {
        let made = !(wire.existing && matches!(self.kind, TableKind::Tap | TableKind::Ground));
        self.terminal.clone().filter(|_| made)
    }
}

impl TableKind {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            TableKind::Connector => "connector",
            TableKind::Part => "part",
            TableKind::Tap => "tap",
            TableKind::Ground => "ground",
            TableKind::Splice => "splice",
        }
    }
}
