//! Loads and converters that never work: wired to a feed and to ground, and without their least voltage in every state at
//! every corner.

use super::Context;
use super::walk::{Consumer, Way};
use super::worst::Peak;
use crate::catalogue::form::Acts;
use crate::model::{ElementId, ElementKind, PinId, SignalId, SignalKind};
use crate::quantity::Volts;
use crate::solve::USUAL_LEAST_SHARE;

/// Something that takes a supply, with what it needs.
#[derive(Debug, Clone, Copy)]
pub struct Needs {
    /// Where current goes in.
    pub feed: PinId,
    /// Where it comes out.
    pub ground: PinId,
    /// Its least working voltage.
    pub least: Volts,
}

impl Context<'_> {
    /// What a load or a converter needs; none of anything else.
    pub fn needs(&self, id: ElementId) -> Option<Needs> {
        match &self.model.element(id).kind {
            ElementKind::Load(load) => {
                // As the solver takes it where the kind doesn't say.
                let usual = self.model.job.nominal * USUAL_LEAST_SHARE;
                let least = if load.least.value() > 0.0 { load.least } else { usual };
                Some(Needs { feed: load.feed, ground: load.ground, least })
            }
            ElementKind::Converter { input, ground, least, .. } => {
                Some(Needs { feed: *input, ground: *ground, least: *least })
            }
            _ => None,
        }
    }

    /// The greatest voltage of a load or a converter that never has its least, unless it is told of what hinders it: that it
    /// lacks a feed or a ground, that a relay on its way never pulls in, that a module or converter which should feed it
    /// never works itself.
    pub fn never_works(&self, id: ElementId) -> Option<(Needs, &Peak<Volts>)> {
        let (needs, highest) = self.is_dark(id)?;
        let consumer = Consumer { feed: Some(needs.feed), ground: Some(needs.ground), either_way: false };
        let may = |element: ElementId, pins: [PinId; 2]| !self.is_shut(element, pins);
        let is_wired = self.has_supply(&self.reached_by(needs.feed, Way::Up, &may))
            && self.has_ground(&self.reached_by(needs.ground, Way::Down, &may));
        (is_wired && !self.is_exchanged(&consumer)).then_some((needs, highest))
    }

    fn is_dark(&self, id: ElementId) -> Option<(Needs, &Peak<Volts>)> {
        let needs = self.needs(id)?;
        let highest = self.worst.highest(id)?;
        (highest.value < needs.least).then_some((needs, highest))
    }

    /// Whether an element never lets anything pass between two pins for a reason that is told of its relay or its module.
    fn is_shut(&self, id: ElementId, pins: [PinId; 2]) -> bool {
        let element = self.model.element(id);
        match &element.kind {
            ElementKind::Contact { relay, made, .. } => {
                made.is_some_and(|made| pins.contains(&made)) && self.never_pulls_in(*relay)
            }
            ElementKind::Converter { .. } => self.is_dark(id).is_some(),
            ElementKind::Output { .. } => {
                self.model.part(element.part).elements.iter().any(|own| self.is_dark(*own).is_some())
            }
            _ => false,
        }
    }

    /// Whether no coil of a relay that should move its contacts ever has its pull-in voltage; also of one that chatters.
    fn never_pulls_in(&self, relay: SignalId) -> bool {
        let SignalKind::Relay { coils, .. } = &self.model.signals[relay.0].kind else { return false };
        let is_weak = |id: &ElementId| match &self.model.element(*id).kind {
            ElementKind::Coil(coil) if coil.acts != Acts::Resets => self.weak_coil(*id, coil).is_some(),
            _ => true,
        };
        self.is_chattering(relay) || coils.iter().all(is_weak)
    }
}
