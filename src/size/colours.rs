//! Chooses the colour of every wire whose spec gives none, by its function: no two wires of different nets in a connector
//! get the same colour.

use form::Colour;
use graph::Nets;
use model::{Domain, ElementKind, Model, PartKind, PinId, WireId};
use spec::WireMake;
use std::collections::BTreeMap;

/// Colours of wires to ground (IEC 60757; which ones: common practice, no source).
pub const GROUNDS: [&str; 4] = ["BK", "BK/WH", "BK/YE", "BK/GN"];

/// Colours of feeds, in the order of use (IEC 60757; red: common practice, no source).
pub const FEEDS: [&str; 8] = ["RD", "RD/YE", "RD/BU", "RD/GN", "RD/WH", "RD/BK", "RD/GY", "RD/VT"];

/// Colours of everything else, in the order of use (IEC 60757).
pub const SIGNALS: [&str; 24] = [
    "GN", "BU", "VT", "OG", "WH", "GY", "PK", "BN", "TQ", "GN/WH", "BU/WH", "VT/WH", "OG/WH", "GY/WH", "PK/WH",
    "BN/WH", "TQ/WH", "GN/BK", "BU/RD", "VT/BK", "OG/BK", "WH/BK", "GY/BK", "PK/BK",
];

/// What the wires of a net carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Carries {
    Ground,
    Feed,
    Signal,
}

/// Chooses every colour that the spec leaves open. A net keeps the colour of its first wire where a connector allows it; nets
/// take the colours of their kind in turn.
pub(crate) fn choose(model: &mut Model) {
    let open: Vec<WireId> = model.wire_ids().filter(|id| is_open(model, *id)).collect();
    if open.is_empty() {
        return;
    }
    let nets = Nets::new(model);
    let net_of = |model: &Model, id: WireId| nets.of(model.wire(id).ends[0]);
    let mut of_net: BTreeMap<usize, Colour> = BTreeMap::new();
    for id in model.wire_ids() {
        if let Some(colour) = model.wire(id).colour {
            of_net.entry(net_of(model, id)).or_insert(colour);
        }
    }
    for id in open {
        let net = net_of(model, id);
        let palette = palette(carries(model, nets.with(model.wire(id).ends[0])));
        let taken: Vec<Colour> = of_net.iter().filter(|(other, _)| **other != net).map(|(_, colour)| *colour).collect();
        let is_free = |colour: &Colour| !is_met(model, &nets, id, *colour);
        let own = of_net.get(&net).copied().into_iter();
        let fresh = palette.iter().copied().filter(|colour| !taken.contains(colour));
        let choice = own.chain(fresh).chain(palette.iter().copied()).find(is_free);
        let Some(colour) = choice else { continue };
        of_net.entry(net).or_insert(colour);
        model.wires[id.0].colour = Some(colour);
    }
}

/// Whether the program chooses a wire's colour: it is cut from a reel here.
fn is_open(model: &Model, id: WireId) -> bool {
    let wire = model.wire(id);
    let is_cut = matches!(wire.make, WireMake::Single | WireMake::Twisted) && !wire.existing;
    wire.colour.is_none() && is_cut && wire.domain != Domain::Video
}

/// Whether a wire of another net has this colour in a connector at one of the ends.
fn is_met(model: &Model, nets: &Nets, id: WireId, colour: Colour) -> bool {
    let wire = model.wire(id);
    let net = nets.of(wire.ends[0]);
    let connectors = wire.ends.into_iter().map(|end| model.pin(end).part);
    let mut pins =
        connectors.filter(|part| model.part(*part).kind == PartKind::Connector).flat_map(|part| &model.part(part).pins);
    pins.any(|pin| nets.of(*pin) != net && model.wires_on(*pin).any(|other| model.wire(other).colour == Some(colour)))
}

fn palette(carries: Carries) -> Vec<Colour> {
    let codes: &[&str] = match carries {
        Carries::Ground => &GROUNDS,
        Carries::Feed => &FEEDS,
        Carries::Signal => &SIGNALS,
    };
    codes.iter().filter_map(|code| Colour::parse(code)).collect()
}

/// A net with a ground point is a ground; one with a supply or a fuse is a feed.
fn carries(model: &Model, pins: &[PinId]) -> Carries {
    let has = |is: &dyn Fn(PinId) -> bool| pins.iter().any(|pin| is(*pin));
    let is_fuse = |pin: PinId| {
        let elements = &model.part(model.pin(pin).part).elements;
        elements.iter().any(|id| matches!(model.element(*id).kind, ElementKind::Fuse { .. }))
    };
    if has(&|pin| model.part(model.pin(pin).part).kind == PartKind::Ground) {
        Carries::Ground
    } else if has(&|pin| model.part(model.pin(pin).part).kind == PartKind::Supply || is_fuse(pin)) {
        Carries::Feed
    } else {
        Carries::Signal
    }
}
