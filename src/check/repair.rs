//! A harness with one fault repaired.

use catalogue::part_form::Acts;
use model::{
    Coil, Element, ElementId, ElementKind, GROUND_RESISTANCE, Model, Part, PartId, PartKind, Pin, PinId, SignalId,
    SignalKind, Wire, WireId,
};
use petgraph::unionfind::UnionFind;
use quantity::{Amps, Gauge, Metres, Ohms, Seconds, Volts};
use spec::WireMake;
use std::sync::Arc;

/// Forward voltage of a diode that a repair adds: that of a Schottky diode (common practice, no source).
const REPAIR_KNEE: Volts = Volts::new(0.3);

/// How the cause of a finding is repaired. The repaired harness shows what follows from the cause.
#[derive(Debug, Clone, PartialEq)]
pub enum Repair {
    /// What is connected to one pin goes to the other, and the reverse.
    Exchange(PinId, PinId),
    /// The relay has a coil for a voltage lower by this factor.
    Coil(ElementId, f64),
    /// The relay of the coil is a latching one, which each pulse moves.
    Latching(ElementId),
    /// The load draws this share of its current.
    Draws(ElementId, f64),
    /// The pin is connected to ground.
    Ground(PinId),
    /// The pin is connected to ground, and to nothing that feeds it.
    GroundOnly(PinId),
    /// A load that runs between its feed, the first pin, and a feed of the vehicle on its ground: the vehicle's feed goes
    /// to the first, and the second to ground.
    FedByGround(PinId, PinId),
    /// The consumers, each by its feed and its ground, in the order of the current through all of them, are no longer in
    /// series: each gets the feed of the first, and a ground of its own.
    InParallel(Vec<[PinId; 2]>),
    /// The converter gives up to this current.
    Gives(ElementId, Amps),
    /// The part is made for a voltage that is this many times its own.
    Rated(PartId, f64),
    /// Nothing is lost in these wires.
    NoLoss(Vec<WireId>),
    /// The timer has another time.
    Timed(SignalId, Seconds),
    /// The end of a wire goes from one pin to another.
    Moved(WireId, PinId, PinId),
    /// The ends of two wires go to each other's pins.
    Ends([(WireId, PinId); 2]),
    /// A wire joins the two pins.
    Joined(PinId, PinId),
    /// The vehicle's wire on this pin carries no pulses.
    Steady(PinId),
    /// These wires are not there.
    Without(Vec<WireId>),
    /// The ground point has the usual resistance.
    CleanGround(ElementId),
    /// A diode lets current only out of each of these supplies or wires of the vehicle.
    Diodes(Vec<PinId>),
    /// A diode in each of these wires, where they meet, lets current only flow to that pin.
    DiodesTo(PinId, Vec<WireId>),
}

impl Repair {
    /// Whether the finding itself shows what is wrong. The others are tried when these have been, and wires that may be
    /// swapped.
    pub(super) fn is_certain(&self) -> bool {
        let rewired = matches!(
            self,
            Repair::Exchange(..) | Repair::Ends(_) | Repair::Moved(..) | Repair::Joined(..) | Repair::Without(_)
        );
        let replaced = matches!(self, Repair::Coil(..) | Repair::Latching(_));
        rewired || replaced || matches!(self, Repair::CleanGround(_) | Repair::Steady(_))
    }

    /// The pin that it connects to ground, and whether a feed is on that now.
    pub(super) fn grounds(&self) -> Option<(PinId, bool)> {
        match self {
            Repair::Ground(pin) => Some((*pin, false)),
            Repair::GroundOnly(pin) | Repair::FedByGround(_, pin) => Some((*pin, true)),
            _ => None,
        }
    }

    /// The repaired harness. Every pin, part, wire and element keeps its id.
    pub(super) fn repaired(&self, model: &Model) -> Model {
        let mut model = model.clone();
        match self {
            Repair::Exchange(a, b) => {
                exchange(&mut model, *a, *b);
                // A shield goes over the cavity of a ground.
                model::found_again(&mut model);
            }
            Repair::Coil(id, factor) => {
                if let ElementKind::Coil(coil) = &mut model.elements[id.0].kind {
                    for_less_voltage(coil, *factor);
                }
            }
            Repair::Latching(id) => latching(&mut model, *id),
            Repair::Draws(id, share) => {
                if let ElementKind::Load(load) = &mut model.elements[id.0].kind {
                    load.draws = load.draws * *share;
                    load.inrush = load.inrush * *share;
                }
            }
            Repair::Gives(id, most) => {
                if let ElementKind::Converter { limit, .. } = &mut model.elements[id.0].kind {
                    *limit = *most;
                }
            }
            Repair::CleanGround(id) => {
                if let ElementKind::GroundPoint { resistance, .. } = &mut model.elements[id.0].kind {
                    *resistance = GROUND_RESISTANCE;
                }
            }
            Repair::Ground(pin) => ground(&mut model, *pin),
            Repair::GroundOnly(pin) => {
                detach_feeds(&mut model, *pin);
                ground(&mut model, *pin);
            }
            Repair::FedByGround(feed, ground_pin) => {
                exchange(&mut model, *feed, *ground_pin);
                detach_feeds(&mut model, *ground_pin);
                ground(&mut model, *ground_pin);
            }
            Repair::InParallel(all) => in_parallel(&mut model, all),
            Repair::Rated(part, factor) => for_more_voltage(&mut model, *part, *factor),
            Repair::NoLoss(wires) => {
                wires.iter().for_each(|wire| model.wires[wire.0].length = Some(Metres::new(0.01)));
            }
            Repair::Timed(id, shorter) => {
                if let SignalKind::Timer { time, .. } = &mut model.signals[id.0].kind {
                    *time = *shorter;
                }
            }
            Repair::Moved(wire, from, to) => {
                let ends = &mut model.wires[wire.0].ends;
                *ends = ends.map(|end| if end == *from { *to } else { end });
            }
            Repair::Ends([(one, a), (other, b)]) => {
                return Repair::Moved(*other, *b, *a).repaired(&Repair::Moved(*one, *a, *b).repaired(&model));
            }
            Repair::Joined(a, b) => short_wire(&mut model, [*a, *b]),
            Repair::Steady(pin) => steady(&mut model, *pin),
            Repair::Without(wires) => return model::without_wires(model, wires),
            Repair::Diodes(pins) => pins.iter().for_each(|pin| diode(&mut model, *pin)),
            Repair::DiodesTo(pin, wires) => wires.iter().for_each(|wire| diode_in(&mut model, *wire, *pin)),
        }
        model
    }
}

/// Moves the wires of two pins to each other, and what is plugged onto the pins of a device. A cavity stays on the cavity
/// that it mates with.
fn exchange(model: &mut Model, a: PinId, b: PinId) {
    let is_cavity = model.part(model.pin(a).part).kind == PartKind::Connector;
    let moved = |pin: PinId| match pin {
        _ if pin == a => b,
        _ if pin == b => a,
        _ => pin,
    };
    for wire in &mut model.wires {
        wire.ends = wire.ends.map(moved);
    }
    for joint in model.joints.iter_mut().filter(|_| !is_cavity) {
        joint.pins = joint.pins.map(moved);
    }
}

fn steady(model: &mut Model, pin: PinId) {
    for element in &mut model.elements {
        match &mut element.kind {
            ElementKind::Feed(feed) if feed.pin == pin => feed.pulsed = None,
            _ => {}
        }
    }
}

fn latching(model: &mut Model, id: ElementId) {
    let ElementKind::Coil(coil) = &mut model.elements[id.0].kind else { return };
    coil.acts = Acts::Toggles;
    if let SignalKind::Relay { latching, .. } = &mut model.signals[coil.relay.0].kind {
        *latching = true;
    }
}

/// The same coil wound for a voltage lower by a factor: its power stays.
fn for_less_voltage(coil: &mut Coil, factor: f64) {
    coil.resistance = coil.resistance * (1.0 / (factor * factor));
    coil.pull_in = coil.pull_in * (1.0 / factor);
    coil.drop_out = coil.drop_out * (1.0 / factor);
}

/// The same part made for another voltage: its power stays.
fn for_more_voltage(model: &mut Model, id: PartId, factor: f64) {
    for element in model.parts[id.0].elements.clone() {
        match &mut model.elements[element.0].kind {
            ElementKind::Load(load) => {
                load.draws = load.draws * (1.0 / factor);
                load.standby = load.standby * (1.0 / factor);
                load.inrush = load.inrush * (1.0 / factor);
                load.nominal = load.nominal * factor;
                load.least = load.least * factor;
            }
            ElementKind::Coil(coil) => for_less_voltage(coil, 1.0 / factor),
            _ => {}
        }
    }
    for signal in model.signals.iter_mut().filter(|signal| signal.part == id) {
        match &mut signal.kind {
            SignalKind::Working { least, .. } => *least = *least * factor,
            // A trigger of a part for more voltage works at less too.
            SignalKind::Sense { on_above, off_below, .. } if factor < 1.0 => {
                *on_above = *on_above * factor;
                *off_below = *off_below * factor;
            }
            _ => {}
        }
    }
    let mut form = (*model.parts[id.0].form).clone();
    form.nominal = form.nominal.map(|volts| volts * factor);
    form.highest = form.highest.map(|volts| volts * factor);
    model.parts[id.0].form = Arc::new(form);
}

/// Feeds each consumer of a series from the feed of the first, and grounds it.
fn in_parallel(model: &mut Model, all: &[[PinId; 2]]) {
    let Some([first, _]) = all.first().copied() else { return };
    for [_, return_pin] in &all[..all.len() - 1] {
        let to_next = detach(model, *return_pin);
        short_wire(model, [to_next, first]);
        ground(model, *return_pin);
    }
}

/// A new pin of the same part, without a wire.
fn new_pin(model: &mut Model, like: PinId) -> PinId {
    let like = model.pin(like).clone();
    model.pins.push(Pin { limit: None, optional: true, ..like });
    PinId(model.pins.len() - 1)
}

/// Moves everything on a pin to a new pin of the same part, and returns that.
fn detach(model: &mut Model, pin: PinId) -> PinId {
    let new = new_pin(model, pin);
    exchange(model, pin, new);
    new
}

fn add(model: &mut Model, part: PartId, kind: ElementKind) {
    model.parts[part.0].elements.push(ElementId(model.elements.len()));
    model.elements.push(Element { part, kind });
}

/// Moves to a new pin whatever feeds a pin: wires and mated cavities that lead to a supply without passing anything that
/// takes current.
fn detach_feeds(model: &mut Model, pin: PinId) {
    let mut joined: UnionFind<usize> = UnionFind::new(model.pins.len());
    let links = model.wires.iter().map(|wire| wire.ends).chain(model.joints.iter().map(|joint| joint.pins));
    let links: Vec<[PinId; 2]> = links.collect();
    links.iter().filter(|ends| !ends.contains(&pin)).for_each(|[a, b]| {
        joined.union(a.0, b.0);
    });
    let mut supplies = Vec::new();
    for element in &model.elements {
        match &element.kind {
            ElementKind::Battery { plus: pin, .. } | ElementKind::Derived { pin, .. } => supplies.push(*pin),
            ElementKind::Feed(feed) => supplies.push(feed.pin),
            _ => {}
        }
        element.metal_paths().for_each(|[a, b]| {
            joined.union(a.0, b.0);
        });
    }
    let is_fed = |ends: &[PinId; 2]| {
        let far = ends[usize::from(ends[0] == pin)];
        ends.contains(&pin) && supplies.iter().any(|supply| joined.equiv(supply.0, far.0))
    };
    let feeds: Vec<bool> = links.iter().map(is_fed).collect();
    // Both ends of a wire come off, so that it is no load on what it was connected to.
    let [near, far] = [new_pin(model, pin), new_pin(model, pin)];
    let wires = model.wires.iter_mut().zip(&feeds).filter(|(_, feeds)| **feeds);
    wires.for_each(|(wire, _)| wire.ends = [near, far]);
    let wires = model.wires.len();
    let joints = model.joints.iter_mut().zip(&feeds[wires..]).filter(|(_, feeds)| **feeds);
    joints.for_each(|(joint, _)| joint.pins = joint.pins.map(|end| if end == pin { near } else { end }));
}

/// Runs a short wire from a pin to the first ground point.
fn ground(model: &mut Model, pin: PinId) {
    let grounds = model.elements.iter().find_map(|element| match element.kind {
        ElementKind::GroundPoint { pin, .. } => Some(pin),
        _ => None,
    });
    if let Some(point) = grounds {
        short_wire(model, [pin, point]);
    }
}

fn short_wire(model: &mut Model, ends: [PinId; 2]) {
    let Some(like) = model.wires.first() else { return };
    let wire = Wire {
        ends,
        gauge: Gauge::Metric(16.0),
        length: Some(Metres::new(0.1)),
        path: Vec::new(),
        make: WireMake::Single,
        existing: true,
        ..like.clone()
    };
    model.wires.push(wire);
}

/// Puts a diode between a supply's pin and everything on it.
fn diode(model: &mut Model, pin: PinId) {
    let cathode = detach(model, pin);
    let anode = new_pin(model, pin);
    short_wire(model, [pin, anode]);
    add_diode(model, anode, cathode);
}

/// Puts a diode of its own between the end of a wire and the pin on which it ends, cathode to the pin.
fn diode_in(model: &mut Model, wire: WireId, pin: PinId) {
    let part = PartId(model.parts.len());
    let like = model.part(model.pin(pin).part).clone();
    model.parts.push(Part { kind: PartKind::Device, pins: Vec::new(), elements: Vec::new(), ..like });
    let [anode, cathode] = [0, 1].map(|_| {
        let new = new_pin(model, pin);
        model.pins[new.0].part = part;
        model.parts[part.0].pins.push(new);
        new
    });
    let ends = &mut model.wires[wire.0].ends;
    *ends = ends.map(|end| if end == pin { anode } else { end });
    short_wire(model, [cathode, pin]);
    add_diode(model, anode, cathode);
}

fn add_diode(model: &mut Model, anode: PinId, cathode: PinId) {
    let kind = ElementKind::Diode {
        anode,
        cathode,
        knee: REPAIR_KNEE,
        resistance: Ohms::new(0.001),
        blocks: None,
        limit: None,
    };
    add(model, model.pin(cathode).part, kind);
}
