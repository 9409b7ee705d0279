//! What a harness consists of, by names: what the bench has in its hands.

use book::lists::amount::CutLength;
use book::lists::wires::{WireRow, wire_list};
use form::Colour;
use model::{Model, PartId, PartKind};
use quantity::{Amps, Gauge};
use serde::Serialize;
use spec::WireMake;

/// The parts and wires of a harness.
#[derive(Debug, Clone, PartialEq)]
pub struct Inventory {
    /// The parts, in the order of the spec.
    pub parts: Vec<Fitted>,
    /// The wires, in the order of the spec.
    pub wires: Vec<Strand>,
}

/// A part as it is fitted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fitted {
    /// Its name.
    pub name: String,
    /// What sort of thing it is.
    pub what: What,
    /// Its kind in the catalogue.
    pub kind: String,
    /// Where it is; empty if the spec does not say.
    pub place: String,
    /// Rating of a fuse or breaker.
    pub rating: Option<Amps>,
    /// The parts that plug into it or that it plugs into, by name.
    pub plugged: Vec<String>,
    /// Already in the vehicle.
    pub existing: bool,
}

/// What sort of thing a part is to the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// Bought and mounted.
    Part,
    /// A connector half.
    Connector,
    /// A splice.
    Splice,
    /// A ground point.
    Ground,
    /// A supply or a wire of the vehicle.
    Vehicle,
}

/// A wire.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Strand {
    /// Its number.
    pub id: String,
    /// The pins at its ends, such as `K1.86`.
    pub ends: [NamedPin; 2],
    /// Colour of its insulation.
    pub colour: Option<Colour>,
    /// Conductor size.
    pub gauge: Option<Gauge>,
    /// How it is made.
    pub make: WireMake,
    /// The places that it goes by.
    pub way: Vec<String>,
    /// Length to cut.
    pub cut: Option<CutLength>,
    /// Already in the vehicle.
    pub existing: bool,
}

/// A pin by the name of its part and its own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NamedPin {
    /// The part.
    pub part: String,
    /// The pin; empty where wires name the part alone.
    pub pin: String,
}

impl std::fmt::Display for NamedPin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.pin.as_str() {
            "" => f.pad(&self.part),
            pin => f.pad(&format!("{}.{pin}", self.part)),
        }
    }
}

impl Serialize for NamedPin {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Inventory {
    /// The inventory of a harness.
    pub fn of(model: &Model) -> Inventory {
        let parts = model.part_ids().map(|id| (id, model.part(id))).map(|(id, part)| Fitted {
            name: part.name.to_string(),
            plugged: plugged(model, id),
            what: match part.kind {
                PartKind::Device => What::Part,
                PartKind::Connector => What::Connector,
                PartKind::Splice => What::Splice,
                PartKind::Ground => What::Ground,
                PartKind::Supply | PartKind::Feed => What::Vehicle,
            },
            kind: part.use_name.clone(),
            place: part.at.map(|_| model.place_name(part.at).to_string()).unwrap_or_default(),
            rating: part.rating,
            existing: part.existing,
        });
        let pin = |id: model::PinId| {
            let (pin, part) = (model.pin(id), model.part(model.pin(id).part));
            let name = if part.kind.one_pin() { String::new() } else { pin.name.to_string() };
            NamedPin { part: part.name.to_string(), pin: name }
        };
        let rows: Vec<WireRow> = wire_list(model);
        let wires = model.wire_ids().zip(rows).map(|(id, row)| Strand {
            ends: model.wire(id).ends.map(pin),
            id: row.id,
            colour: row.colour,
            gauge: row.gauge,
            make: row.make,
            way: row.way,
            cut: row.cut,
            existing: row.existing,
        });
        Inventory { parts: parts.collect(), wires: wires.collect() }
    }

    /// Whether two inventories hold the same, in whatever order, whichever end of a wire comes first.
    pub fn is_same(&self, other: &Inventory) -> bool {
        let parts = |inventory: &Inventory| {
            let mut parts = inventory.parts.clone();
            parts.sort_by(|a, b| a.name.cmp(&b.name));
            parts
        };
        let wires = |inventory: &Inventory| {
            let mut wires: Vec<Strand> = inventory.wires.iter().map(Strand::turned).collect();
            wires.sort_by(|a, b| a.id.cmp(&b.id));
            wires
        };
        parts(self) == parts(other) && wires(self) == wires(other)
    }
}

/// The parts whose cavities meet those of a part, in the order of their names.
fn plugged(model: &Model, id: PartId) -> Vec<String> {
    let of = |pin: model::PinId| model.pin(pin).part;
    let met = model.joints.iter().flat_map(|joint| {
        let [a, b] = joint.pins.map(of);
        [(a, b), (b, a)]
    });
    let mut names: Vec<String> =
        met.filter(|(part, _)| *part == id).map(|(_, other)| model.part(other).name.to_string()).collect();
    names.sort();
    names.dedup();
    names
}

impl Fitted {
    /// The same part with other names.
    pub(crate) fn named(&self, new_name: &dyn Fn(&str) -> String) -> Fitted {
        let mut plugged: Vec<String> = self.plugged.iter().map(|name| new_name(name)).collect();
        plugged.sort();
        Fitted { name: new_name(&self.name), plugged, ..self.clone() }
    }
}

impl Strand {
    /// The same wire with the lesser end first.
    fn turned(&self) -> Strand {
        let mut wire = self.clone();
        if wire.ends[0] > wire.ends[1] {
            wire.ends.reverse();
            wire.way.reverse();
        }
        wire
    }

    /// Whether two wires are cut from the same reel.
    pub(crate) fn is_alike(&self, other: &Strand) -> bool {
        (self.colour, self.gauge, self.make, self.existing) == (other.colour, other.gauge, other.make, other.existing)
    }

    /// Whether two wires join the same pins.
    pub(crate) fn joins_same(&self, other: &Strand) -> bool {
        let [a, b] = &other.ends;
        self.ends == other.ends || (&self.ends[0], &self.ends[1]) == (b, a)
    }

    /// The way in the direction of another wire that joins the same pins.
    pub(crate) fn way_as(&self, other: &Strand) -> Vec<String> {
        let mut way = self.way.clone();
        if self.ends != other.ends {
            way.reverse();
        }
        way
    }
}
