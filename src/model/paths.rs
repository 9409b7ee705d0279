//! Which pins an element joins, in which direction, and when: the one answer for every room that walks a harness.
//!
//! Listed are the paths that a part is built for. What a part also has beside them (leakage, the body diode of an
//! output, the diode across a coil, the pull-up of a trigger input, the vehicle's own lamps) is in the circuit alone.

use super::{Element, ElementKind, PinId, StateCondition};
use std::borrow::Cow;

/// How something passes along a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passage {
    /// Current, either way: through a fuse, a resistor, a battery, the body.
    Plain,
    /// Current, either way while the condition holds: through a contact, a switch, the vehicle's wiring.
    Switched,
    /// Current, in one direction while the condition holds: through a diode, a semiconductor output, a converter.
    OneWay,
    /// Current that is used up, from feed to ground: in a load, a coil, a trigger input.
    Load,
    /// A picture, sound or data, in one direction while the condition holds.
    Signal,
}

/// One path through an element.
#[derive(Debug, Clone, PartialEq)]
pub struct ElementPath<'m> {
    /// Where it begins; `None` for the battery's negative.
    pub from: Option<PinId>,
    /// Where it ends; `None` for the battery's negative.
    pub to: Option<PinId>,
    /// How it passes.
    pub passage: Passage,
    /// While this holds; of a load, while it draws more than its standby current.
    pub when: Cow<'m, StateCondition>,
}

impl ElementPath<'_> {
    /// Both ends; `None` if one of them is the battery's negative.
    pub fn pins(&self) -> Option<[PinId; 2]> {
        Some([self.from?, self.to?])
    }

    /// Whether current may take it from either end.
    pub fn both_ways(&self) -> bool {
        matches!(self.passage, Passage::Plain | Passage::Switched)
    }
}

impl Element {
    /// The pins that a fuse, a switch or a contact joins while it is closed.
    pub fn metal_paths(&self) -> impl Iterator<Item = [PinId; 2]> {
        let is_metal =
            matches!(self.kind, ElementKind::Fuse { .. } | ElementKind::Throw { .. } | ElementKind::Contact { .. });
        self.paths().filter(move |_| is_metal).filter_map(|path| path.pins())
    }

    /// The paths through an element: at most two. The source of a picture has none, since it joins nothing.
    pub fn paths(&self) -> impl Iterator<Item = ElementPath<'_>> {
        let [first, second] = match &self.kind {
            ElementKind::Battery { plus, .. } => [always(None, Some(*plus), Passage::Plain), None],
            ElementKind::Derived { from, pin, when, .. } => [switched(*from, *pin, when), None],
            ElementKind::Feed(feed) => {
                let (from, to) = match feed.from {
                    Some(from) => (Some(from), Some(feed.pin)),
                    None => (Some(feed.pin), None),
                };
                [path(from, to, Passage::Switched, Cow::Borrowed(&feed.when)), None]
            }
            ElementKind::GroundPoint { pin, .. } => [always(Some(*pin), None, Passage::Plain), None],
            ElementKind::Resistor { between: [a, b], .. } | ElementKind::Fuse { between: [a, b], .. } => {
                [always(Some(*a), Some(*b), Passage::Plain), None]
            }
            ElementKind::Coil(coil) => [always(Some(coil.feed), Some(coil.ground), Passage::Load), None],
            ElementKind::Contact { relay, common, made, rest, .. } => {
                let on = StateCondition::Signal(*relay);
                let off = StateCondition::Not(Box::new(on.clone()));
                let to = |pin: Option<PinId>, when| {
                    pin.and_then(|pin| path(Some(*common), Some(pin), Passage::Switched, Cow::Owned(when)))
                };
                [to(*made, on), to(*rest, off)]
            }
            ElementKind::Diode { anode, cathode, .. } => [always(Some(*anode), Some(*cathode), Passage::OneWay), None],
            ElementKind::Load(load) => {
                let when = Cow::Borrowed(&load.when);
                [path(Some(load.feed), Some(load.ground), Passage::Load, when), None]
            }
            ElementKind::Sense { pin, ground, .. } => [always(Some(*pin), Some(*ground), Passage::Load), None],
            ElementKind::Port { pin, ground, .. } => [always(Some(*pin), Some(*ground), Passage::Load), None],
            ElementKind::Throw { when, common, throw, .. } => [switched(*common, *throw, when), None],
            ElementKind::Output { pin, other, high_side, when, .. } => {
                let (from, to) = if *high_side { (other, pin) } else { (pin, other) };
                [path(Some(*from), Some(*to), Passage::OneWay, Cow::Borrowed(when)), None]
            }
            ElementKind::Converter { input, output, ground, working, when, .. } => {
                let works = match when {
                    StateCondition::Always(true) => StateCondition::Signal(*working),
                    when => StateCondition::All(vec![StateCondition::Signal(*working), when.clone()]),
                };
                let to = |pin: PinId, passage| path(Some(*input), Some(pin), passage, Cow::Owned(works.clone()));
                [to(*output, Passage::OneWay), to(*ground, Passage::Load)]
            }
            ElementKind::Passes { from, to, when } => {
                [path(Some(*from), Some(*to), Passage::Signal, Cow::Borrowed(when)), None]
            }
            ElementKind::Source { .. } => [None, None],
        };
        first.into_iter().chain(second)
    }
}

fn path<'m>(
    from: Option<PinId>,
    to: Option<PinId>,
    passage: Passage,
    when: Cow<'m, StateCondition>,
) -> Option<ElementPath<'m>> {
    Some(ElementPath { from, to, passage, when })
}

fn always<'m>(from: Option<PinId>, to: Option<PinId>, passage: Passage) -> Option<ElementPath<'m>> {
    path(from, to, passage, Cow::Owned(StateCondition::Always(true)))
}

fn switched<'m>(from: PinId, to: PinId, when: &'m StateCondition) -> Option<ElementPath<'m>> {
    path(Some(from), Some(to), Passage::Switched, Cow::Borrowed(when))
}
