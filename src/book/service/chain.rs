//! Chains of pins, as service sheets print them.

use crate::meter::Expected;
use form::Colour;
use model::PinId;
use quantity::Gauge;
use serde::Serialize;

/// A chain of pins.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chain {
    /// What it makes happen: `Coil of K1`.
    pub title: String,
    /// What to look for along it.
    pub kind: ChainKind,
    /// How to test it, where the meter on each pin is not enough; else empty.
    pub how: String,
    /// The pins, in the direction of the current or of the picture.
    pub links: Vec<ChainLink>,
}

/// What a chain is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChainKind {
    /// A voltage that must be there.
    Live,
    /// A voltage that must not be there.
    Dead,
    /// A picture.
    Picture,
}

/// One pin of a chain, and what leads to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChainLink {
    /// What leads here from the pin before; empty for the first.
    pub through: String,
    /// The wire, where a wire does.
    pub wire: Option<ChainWire>,
    /// The pin.
    pub pin: String,
    /// The connector's cavity in which a part's pin is reached; empty if the pin itself is.
    pub probe: String,
    /// Where it is.
    pub place: String,
    /// What to expect there.
    pub volts: Option<Expected>,
    /// On the path from the part to ground: if it reads wrong, the fault lies after it.
    pub returns: bool,
    /// The first of those.
    pub turns: bool,
    /// The limits, against the chain's first pin or, towards ground, against zero; otherwise empty.
    pub passes: String,
    /// What must hold at this step.
    pub look: String,
    /// The pin itself; none for the battery's negative.
    #[serde(skip)]
    pub id: Option<PinId>,
    /// Its voltage is regenerated here, by a converter.
    #[serde(skip)]
    pub made_anew: bool,
}

/// A wire of a chain.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChainWire {
    /// Its number.
    pub id: String,
    /// Colour code.
    pub colour: Option<Colour>,
    /// Conductor size.
    pub gauge: Option<Gauge>,
}

impl ChainKind {
    /// What a meter must find, in a word.
    pub fn word(self) -> &'static str {
        match self {
            ChainKind::Live => "live",
            ChainKind::Dead => "dead",
            ChainKind::Picture => "picture",
        }
    }
}
