//! Loads and converters that never work: wired to a feed and to ground, and below their lowest voltage in every state
//! at every corner.

use super::connectivity::Connectivity;
use super::consumers::Consumer;
use super::inputs::can_leave_rest;
use super::moment::Peak;
use super::walk::Towards;
use super::worst::WorstValues;
use circuit::USUAL_LEAST_SHARE;
use model::{ElementId, ElementKind, Model, PinId};
use quantity::Volts;

/// A consumer with its minimum voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Needs {
    /// Where current goes in.
    pub feed: PinId,
    /// Where it comes out.
    pub ground: PinId,
    /// Its lowest working voltage.
    pub least: Volts,
}

/// A load or converter that never works.
#[derive(Debug, Clone, PartialEq)]
pub struct NeverWorks {
    /// The load or converter.
    pub element: ElementId,
    /// What it needs.
    pub needs: Needs,
    /// The highest voltage that it gets, feed against ground.
    pub highest: Peak<Volts>,
}

/// Every load and converter that never works, in the order of the model. Left out are those whose cause is a fact of
/// its own: no feed or no ground, a relay on the way that never pulls in, a module or converter before it that never
/// works, an input that never leaves rest.
pub(super) fn never_works(connectivity: &Connectivity, worst: &WorstValues) -> Vec<NeverWorks> {
    let search = Search { model: connectivity.model(), connectivity, worst };
    (0..search.model.elements.len()).filter_map(|i| search.never_works(ElementId(i))).collect()
}

/// What a load or a converter needs; `None` for anything else.
pub fn needs(model: &Model, id: ElementId) -> Option<Needs> {
    match &model.element(id).kind {
        ElementKind::Load(load) => {
            // The solver assumes the same if the kind doesn't say.
            let usual = model.job.nominal * USUAL_LEAST_SHARE;
            let least = if load.least.value() > 0.0 { load.least } else { usual };
            Some(Needs { feed: load.feed, ground: load.ground, least })
        }
        ElementKind::Converter { input, ground, least, .. } => {
            Some(Needs { feed: *input, ground: *ground, least: *least })
        }
        _ => None,
    }
}

struct Search<'f> {
    model: &'f Model,
    connectivity: &'f Connectivity<'f>,
    worst: &'f WorstValues,
}

impl Search<'_> {
    fn never_works(&self, id: ElementId) -> Option<NeverWorks> {
        let needs = needs(self.model, id)?;
        let highest = self.worst.highest(id).filter(|highest| highest.value < needs.least)?;
        let consumer = Consumer { feed: Some(needs.feed), ground: Some(needs.ground), either_way: false };
        let may = |element: ElementId, pins: [PinId; 2]| !self.is_shut(element, pins);
        let reached = |pin, towards| self.connectivity.reached_by(pin, towards, &may);
        let is_wired = self.gives_supply(&reached(needs.feed, Towards::Supply))
            && self.connectivity.has_ground(&reached(needs.ground, Towards::Ground));
        let works_not = is_wired && !consumer.is_exchanged(self.connectivity);
        works_not.then(|| NeverWorks { element: id, needs, highest: highest.clone() })
    }

    /// Whether one of these pins gives supply in some state.
    fn gives_supply(&self, pins: &[PinId]) -> bool {
        let is_stuck =
            |pin: PinId| self.connectivity.feed_at(pin).is_some_and(|feed| !can_leave_rest(self.model, feed.input));
        let pins: Vec<PinId> = pins.iter().copied().filter(|pin| !is_stuck(*pin)).collect();
        self.connectivity.has_supply(&pins)
    }

    /// Whether an element never lets anything pass between two pins because of its relay, its module or its input.
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
