//! Loads and converters that never work: wired to a feed and to ground, and without their least voltage in every state at
//! every corner.

use super::Context;
use super::stuck::can_leave_rest;
use super::walk::{Consumer, Way};
use super::worst::Peak;
use model::{ElementId, ElementKind, PinId};
use quantity::Volts;
use solve::USUAL_LEAST_SHARE;

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
    /// never works itself, that an input never leaves rest.
    pub fn never_works(&self, id: ElementId) -> Option<(Needs, &Peak<Volts>)> {
        let needs = self.needs(id)?;
        let highest = self.worst.highest(id).filter(|highest| highest.value < needs.least)?;
        let consumer = Consumer { feed: Some(needs.feed), ground: Some(needs.ground), either_way: false };
        let may = |element: ElementId, pins: [PinId; 2]| !self.is_shut(element, pins);
        let is_wired = self.gives_supply(&self.reached_by(needs.feed, Way::Up, &may))
            && self.has_ground(&self.reached_by(needs.ground, Way::Down, &may));
        (is_wired && !self.is_exchanged(&consumer)).then_some((needs, highest))
    }

    /// Whether one of these pins gives supply in some state.
    fn gives_supply(&self, pins: &[PinId]) -> bool {
        let is_stuck = |pin: PinId| self.feed_at(pin).is_some_and(|feed| !can_leave_rest(self.model, feed.input));
        let pins: Vec<PinId> = pins.iter().copied().filter(|pin| !is_stuck(*pin)).collect();
        self.has_supply(&pins)
    }

    /// Whether an element never lets anything pass between two pins for a reason that is told of its relay, its module or
    /// its input.
    fn is_shut(&self, id: ElementId, pins: [PinId; 2]) -> bool {
        let element = self.model.element(id);
        let works = |id: &ElementId| match &self.model.element(*id).kind {
            ElementKind::Load(load) => self.worst.is_ever_on(load.working),
            _ => true,
        };
        match &element.kind {
            ElementKind::Contact { relay, made, .. } => {
                made.is_some_and(|made| pins.contains(&made)) && !self.worst.is_ever_on(*relay)
            }
            ElementKind::Throw { input: Some(input), when, .. } => {
                !when.holds(&|_| 0, &|_| false) && !can_leave_rest(self.model, *input)
            }
            ElementKind::Converter { working, .. } => !self.worst.is_ever_on(*working),
            ElementKind::Output { .. } => !self.model.part(element.part).elements.iter().all(works),
            _ => false,
        }
    }
}
