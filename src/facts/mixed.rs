//! Where pictures, sound or data meet a feed, a ground, a trigger, a contact, or each other.

use super::branches::JOINT;
use super::connectivity::Connectivity;
use super::sound::{SoundFault, reversed_speakers};
use super::walk::Towards;
use graph::Nets;
use model::{Domain, ElementId, ElementKind, Model, PartId, PartKind, PinId, PinRole, WireId, is_signal, is_terminal};
use spec::WireMake;
use std::collections::VecDeque;

/// What a picture, sound or data meets. The worst comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Met {
    /// A feed.
    Feed,
    /// A ground.
    Ground,
    /// A trigger.
    Trigger,
    /// A contact, a fuse or a diode that nothing feeds.
    Contact,
    /// A signal of another kind.
    Signal(Domain),
}

/// A net on which kinds of signals meet, and the wire that joins them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MixedKinds {
    /// The wire that joins them; `None` where only mated cavities do.
    pub wire: Option<WireId>,
    /// The pin of the picture, the sound or the data.
    pub signal: PinId,
    /// The pin that it meets.
    pub other: PinId,
    /// What that pin is.
    pub met: Met,
    /// Every wire of the net.
    pub wires: Vec<WireId>,
}

/// Every net on which kinds of signals meet, in the order of the spec.
pub(super) fn mixed_kinds(connectivity: &Connectivity, nets: &Nets) -> Vec<MixedKinds> {
    // A loudspeaker the wrong way round has a finding of its own.
    let reversed = reversed_speakers(connectivity, nets);
    let plus = |fault: &SoundFault| match fault {
        SoundFault::Reversed { plus, .. } => Some(*plus),
        _ => None,
    };
    let reversed: Vec<PinId> = reversed.iter().filter_map(plus).collect();
    nets.iter().filter_map(|pins| Net { connectivity, pins, reversed: &reversed }.mixed()).collect()
}

/// The pins that wires and mated cavities join.
struct Net<'f> {
    connectivity: &'f Connectivity<'f>,
    pins: &'f [PinId],
    /// `plus` of each loudspeaker that is the wrong way round.
    reversed: &'f [PinId],
}

impl Net<'_> {
    fn model(&self) -> &Model {
        self.connectivity.model()
    }

    fn mixed(&self) -> Option<MixedKinds> {
        let model = self.model();
        let is_judged = |pin: &PinId| is_terminal(model, *pin) && !self.reversed.contains(pin);
        let ends = self.pins.iter().copied().filter(is_judged);
        let (signals, others): (Vec<PinId>, Vec<PinId>) = ends.partition(|pin| is_signal(model.pin(*pin).domain));
        let returns = |pin: &&PinId| model.pin(**pin).role == PinRole::Return;
        let first = *signals.iter().find(|pin| !returns(pin)).or(signals.first())?;
        let kind = |pin: &PinId| model.pin(*pin).domain;
        // The return of a loudspeaker goes to ground; a shield's pin too.
        let is_return = signals.iter().all(|pin| model.pin(*pin).role == PinRole::Return);
        let met = |pin: &PinId| {
            let met = self.met(*pin)?;
            let is_fine = match met {
                Met::Ground => is_return,
                Met::Contact => kind(&first) != Domain::Video,
                _ => false,
            };
            (!is_fine).then_some((met, *pin))
        };
        let worst = others.iter().filter_map(met).min();
        let alien = signals.iter().find(|pin| kind(pin) != kind(&first)).map(|pin| (Met::Signal(kind(pin)), *pin));
        let (met, other) = worst.or(alien)?;
        let is_other = |pin: PinId| match met {
            Met::Signal(domain) => is_terminal(model, pin) && model.pin(pin).domain == domain,
            _ => others.contains(&pin),
        };
        // On ground, only what is no return is wrong.
        let is_wrong = |pin: PinId| met != Met::Ground || model.pin(pin).role != PinRole::Return;
        let is_signal = |pin: PinId| signals.contains(&pin) && !is_other(pin) && is_wrong(pin);
        let wires = self.wires();
        let between = self.between(&wires, &is_signal, &is_other);
        let (wire, signal, other) = between.map_or((None, first, other), |(wire, signal, other)| {
            let met = |pin: PinId| self.met(pin) == Some(met) || matches!(met, Met::Signal(_));
            // A net may hold several feeds and grounds: name the nearest of the kind that was found.
            (
                Some(wire),
                signal,
                if met(other) {
                    other
                } else {
                    self.nearest(other, None, &|pin| is_other(pin) && met(pin)).unwrap_or(other)
                },
            )
        });
        Some(MixedKinds { wire, signal, other, met, wires })
    }

    /// What an electric pin is; `None` for a pin of a part that joins it to nothing.
    fn met(&self, pin: PinId) -> Option<Met> {
        let (model, connectivity) = (self.model(), self.connectivity);
        let (this, part) = (model.pin(pin), model.part(model.pin(pin).part));
        let passes_on = part.kind == PartKind::Device && this.role == PinRole::Through;
        match (part.kind, this.domain) {
            (_, domain) if is_signal(domain) => None,
            (PartKind::Ground, _) => Some(Met::Ground),
            (PartKind::Supply | PartKind::Feed, _) => Some(Met::Feed),
            _ if passes_on && connectivity.has_supply(&self.behind(pin, Towards::Supply)) => Some(Met::Feed),
            _ if passes_on && connectivity.has_ground(&self.behind(pin, Towards::Ground)) => Some(Met::Ground),
            _ if passes_on => connectivity.has_inside(pin).then_some(Met::Contact),
            (_, Domain::Trigger) => Some(Met::Trigger),
            (_, Domain::Ground) => Some(Met::Ground),
            _ => Some(Met::Feed),
        }
    }

    /// The pins behind one, but not those behind a loudspeaker.
    fn behind(&self, pin: PinId, towards: Towards) -> Vec<PinId> {
        let takes = |id: ElementId| matches!(self.model().element(id).kind, ElementKind::Resistor { resistance, .. } if resistance > JOINT);
        self.connectivity.reached_by(pin, towards, &|id, _| !takes(id))
    }

    fn wires(&self) -> Vec<WireId> {
        let mut wires: Vec<WireId> =
            self.pins.iter().flat_map(|pin| self.connectivity.wires_on(*pin)).copied().collect();
        wires.sort();
        wires.dedup();
        wires
    }

    /// The wire without which the two kinds would be apart, with the nearest pin of each. Of several, one whose make is
    /// wrong for its end: a plain wire on a picture's pin, a coaxial cable on a feed's.
    fn between(
        &self,
        wires: &[WireId],
        is_signal: &dyn Fn(PinId) -> bool,
        is_other: &dyn Fn(PinId) -> bool,
    ) -> Option<(WireId, PinId, PinId)> {
        let model = self.model();
        let candidates = wires.iter().filter_map(|&wire| {
            let sides = model.wire(wire).ends.map(|end| self.side(end, Some(wire)));
            let only = |side: &[PinId], one: &dyn Fn(PinId) -> bool, never: &dyn Fn(PinId) -> bool| {
                side.iter().any(|pin| one(*pin)) && !side.iter().any(|pin| never(*pin))
            };
            let is_first = only(&sides[0], is_signal, is_other) && only(&sides[1], is_other, is_signal);
            let is_second = only(&sides[1], is_signal, is_other) && only(&sides[0], is_other, is_signal);
            let ends = model.wire(wire).ends;
            let [signals, others] = match (is_first, is_second) {
                (true, _) => ends,
                (_, true) => [ends[1], ends[0]],
                _ => return None,
            };
            let signal = self.nearest(signals, Some(wire), is_signal)?;
            let other = self.nearest(others, Some(wire), is_other)?;
            let is_coax = model.wire(wire).make == WireMake::Coax;
            let is_wrong = if is_coax { other == others } else { signal == signals };
            Some((!is_wrong, wire, signal, other))
        });
        let found = candidates.min_by_key(|(is_right, wire, ..)| (*is_right, *wire));
        let found = found.map(|(_, wire, signal, other)| (wire, signal, other));
        // Two wires join them: the one on the picture's pin.
        found.or_else(|| {
            let signal = self.pins.iter().copied().find(|pin| is_signal(*pin))?;
            let wire = *self.connectivity.wires_on(signal).first()?;
            Some((wire, signal, self.nearest(signal, None, is_other)?))
        })
    }

    /// The pins that are joined to one, nearest first, without a wire.
    fn side(&self, start: PinId, without: Option<WireId>) -> Vec<PinId> {
        let (mut side, mut ahead) = (vec![start], VecDeque::from([start]));
        while let Some(pin) = ahead.pop_front() {
            let wires = self.connectivity.wires_on(pin).iter().filter(|wire| Some(**wire) != without);
            let far = wires.map(|wire| {
                let ends = self.model().wire(*wire).ends;
                ends[usize::from(ends[0] == pin)]
            });
            for next in far.chain(self.connectivity.mates(pin)) {
                if !side.contains(&next) {
                    side.push(next);
                    ahead.push_back(next);
                }
            }
        }
        side
    }

    fn nearest(&self, start: PinId, without: Option<WireId>, is: &dyn Fn(PinId) -> bool) -> Option<PinId> {
        self.side(start, without).into_iter().find(|pin| is(*pin))
    }
}

/// Where the wire that meets the wrong pin should end: a free pin of the same part that is made for what comes.
pub fn meant_pin(connectivity: &Connectivity, mixed: &MixedKinds) -> Option<PinId> {
    let model = connectivity.model();
    let free = |part: PartId, fits: &dyn Fn(PinId) -> bool| {
        let pins = model.part(part).pins.iter().copied();
        pins.filter(|pin| !connectivity.is_joined(*pin) && fits(*pin)).min_by_key(|pin| model.pin(*pin).optional)
    };
    let is_video = |pin: PinId| model.pin(pin).domain == model.pin(mixed.signal).domain;
    let wanted = |pin: PinId| match mixed.met {
        Met::Feed => model.pin(pin).role == PinRole::Feed,
        Met::Ground => model.pin(pin).role == PinRole::Return && !is_signal(model.pin(pin).domain),
        Met::Trigger => model.pin(pin).domain == Domain::Trigger,
        Met::Contact => false,
        Met::Signal(domain) => model.pin(pin).domain == domain,
    };
    let of = |pin: PinId| model.pin(pin).part;
    // An output of sound on the return of its loudspeaker: the loudspeaker's open input.
    let is_output = model.pin(mixed.signal).role == PinRole::Output && model.pin(mixed.signal).domain == Domain::Audio;
    let hears = |pin: PinId| is_video(pin) && model.pin(pin).role == PinRole::Input && !model.pin(pin).optional;
    let beside = || {
        let ends = mixed.wires.iter().flat_map(|wire| model.wire(*wire).ends);
        let mut parts = ends.filter(|pin| model.pin(*pin).domain == Domain::Audio).map(of);
        parts.find_map(|part| free(part, &hears))
    };
    let heard = if is_output { beside() } else { None };
    heard.or_else(|| free(of(mixed.signal), &wanted)).or_else(|| free(of(mixed.other), &is_video))
}

/// The current that a picture's or sound's pin takes, as an element of its part.
pub(super) fn port(model: &Model, pin: PinId) -> Option<ElementId> {
    let is_port = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Port { pin: of, .. } if of == pin);
    model.part(model.pin(pin).part).elements.iter().copied().find(is_port)
}
