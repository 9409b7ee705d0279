//! What lies between parts: runs, wires and plugged joints.

use super::{Domain, PinId, PlaceId, RunId};
use form::{Colour, Name, Place};
use quantity::{Gauge, Metres, Ohms};
use spec::{Covering, Surroundings, WireMake};

/// A stretch of harness.
#[derive(Debug, Clone)]
pub struct Run {
    /// Its ends.
    pub ends: [PlaceId; 2],
    /// Its length.
    pub length: Metres,
    /// How far off the length may be.
    pub tolerance: Metres,
    /// What it runs in.
    pub surroundings: Surroundings,
    /// What covers it.
    pub covering: Covering,
    /// Distance between clips.
    pub clips: Option<Metres>,
    /// Its place in the spec.
    pub place: Place,
}

/// A wire with two good ends. `G` is the type of its conductor size: see [`Model`](crate::Model).
#[derive(Debug, Clone)]
pub struct Wire<G = Gauge> {
    /// Number or name.
    pub id: Name,
    /// From and to.
    pub ends: [PinId; 2],
    /// Conductor size.
    pub gauge: G,
    /// Insulation colour.
    pub colour: Option<Colour>,
    /// Length between its ends; `None` where neither the spec nor the runs tell.
    pub length: Option<Metres>,
    /// The runs it goes through, from its first end to its second.
    pub path: Vec<RunId>,
    /// How it is made.
    pub make: WireMake,
    /// What it carries: the spec's words, else what its pins are.
    pub signal: Carried,
    /// The kind of signal.
    pub domain: Domain,
    /// Already in the vehicle.
    pub existing: bool,
    /// Note for the bench.
    pub note: Option<String>,
    /// The place of its id in the spec; where the program numbers it, that of its first end.
    pub place: Place,
    /// The places of its two ends in the spec.
    pub end_places: [Place; 2],
    /// Ends on a connector whose cavity the program chose.
    pub cavity_open: [bool; 2],
    /// Where the spec gives its gauge; `None` if sizing chooses it.
    pub gauge_place: Option<Place>,
    /// The place of its colour in the spec.
    pub colour_place: Option<Place>,
}

/// What a wire carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Carried {
    /// In the words of the spec.
    Words(String),
    /// What comes from a pin, the best source of its net.
    From(PinId),
    /// Nothing on its net has a name.
    Unnamed,
}

impl<G> Wire<G> {
    /// Whether the spec gives its conductor size.
    pub fn gauge_given(&self) -> bool {
        self.gauge_place.is_some()
    }

    /// Whether the spec gives its number.
    pub fn number_given(&self) -> bool {
        self.place != self.end_places[0]
    }

    /// The same wire with another conductor size.
    pub(crate) fn with_gauge<H>(self, gauge: H) -> Wire<H> {
        let Wire { id, ends, gauge: _, colour, length, path, make, signal, domain, .. } = self;
        let Wire { existing, note, place, end_places, cavity_open, gauge_place, colour_place, .. } = self;
        Wire {
            id,
            ends,
            gauge,
            colour,
            length,
            path,
            make,
            signal,
            domain,
            existing,
            note,
            place,
            end_places,
            cavity_open,
            gauge_place,
            colour_place,
        }
    }
}

impl Wire {
    /// Its size in words: `coax` for a coaxial cable, else its gauge.
    pub fn size(&self) -> String {
        match self.make {
            WireMake::Coax => "coax".into(),
            WireMake::Single | WireMake::Twisted | WireMake::Lead => self.gauge.to_string(),
        }
    }
}

/// Two pins that meet without a wire: mated cavities, or a cavity on a part's own pin.
#[derive(Debug, Clone)]
pub struct Joint {
    /// The pins.
    pub pins: [PinId; 2],
    /// Contact resistance.
    pub resistance: Ohms,
}
