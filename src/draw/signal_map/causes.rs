//! What may switch a pin: every way from it back to a supply, an input's wire or a module's output, and the contacts and
//! switches on that way. Nothing is solved here; what is found is what the wiring allows.

use graph::Nets;
use model::{ElementKind, InputId, Model, PartId, PinId, SignalId, StateCondition};
use std::collections::{BTreeMap, BTreeSet};

/// Who switches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Origin {
    /// The driver or the vehicle.
    Input(InputId),
    /// A relay or a module.
    DiagramPart(PartId),
}

/// One thing that switches, and whether it does so by going off: over a rest contact, or a throw closed at rest.
pub(super) type Cause = (Origin, bool);

/// Most steps that are walked from one pin; a harness that people can read has some dozens.
const MOST_STEPS: usize = 20_000;

/// A step from a net towards where its voltage comes from.
#[derive(Debug, Clone)]
struct Step {
    /// The net it leads to; none where it ends at a supply, an input, an output or ground.
    to: Option<usize>,
    /// What has to be switched for it.
    gates: Vec<Cause>,
}

/// The steps out of every net.
pub(super) struct Ways<'a> {
    model: &'a Model,
    nets: Nets,
    steps: BTreeMap<usize, Vec<Step>>,
}

impl<'a> Ways<'a> {
    /// Finds the steps of a harness.
    pub fn new(model: &'a Model) -> Self {
        let mut ways = Self { model, nets: Nets::new(model), steps: BTreeMap::new() };
        for element in &model.elements {
            ways.add(&element.kind);
        }
        ways
    }

    fn put(&mut self, from: PinId, to: Option<PinId>, gates: Vec<Cause>) {
        let to = to.map(|pin| self.nets.of(pin));
        self.steps.entry(self.nets.of(from)).or_default().push(Step { to, gates });
    }

    fn put_both(&mut self, a: PinId, b: PinId, gates: Vec<Cause>) {
        self.put(a, Some(b), gates.clone());
        self.put(b, Some(a), gates);
    }

    fn add(&mut self, kind: &ElementKind) {
        match kind {
            ElementKind::Battery { plus, .. } => self.put(*plus, None, Vec::new()),
            ElementKind::Derived { pin, when, .. } => self.put(*pin, None, inputs_of(when)),
            ElementKind::Feed(feed) => self.put(feed.pin, None, vec![(Origin::Input(feed.input), false)]),
            ElementKind::GroundPoint { pin, .. } => self.put(*pin, None, Vec::new()),
            ElementKind::Resistor { between: [a, b], .. } | ElementKind::Fuse { between: [a, b], .. } => {
                self.put_both(*a, *b, Vec::new());
            }
            ElementKind::Diode { anode, cathode, .. } => self.put(*cathode, Some(*anode), Vec::new()),
            ElementKind::Contact { relay, common, made, rest, .. } => {
                let by = |off: bool| vec![(self.part_of(*relay), off)];
                let (on, off) = (by(false), by(true));
                made.iter().for_each(|&pin| self.put_both(*common, pin, on.clone()));
                rest.iter().for_each(|&pin| self.put_both(*common, pin, off.clone()));
            }
            ElementKind::Throw { when, common, throw, .. } => self.put_both(*common, *throw, inputs_of(when)),
            ElementKind::Output { pin, .. } => {
                let part = self.model.pin(*pin).part;
                self.put(*pin, None, vec![(Origin::DiagramPart(part), false)]);
            }
            ElementKind::Converter { input, output, .. } => self.put(*output, Some(*input), Vec::new()),
            ElementKind::Coil(_)
            | ElementKind::Load(_)
            | ElementKind::Sense { .. }
            | ElementKind::Passes { .. }
            | ElementKind::Source { .. } => {}
        }
    }

    fn part_of(&self, signal: SignalId) -> Origin {
        Origin::DiagramPart(self.model.signals[signal.0].part)
    }

    /// Everything that may switch these pins, each once.
    pub fn causes(&self, pins: &[PinId]) -> BTreeSet<Cause> {
        let mut found = BTreeSet::new();
        for &pin in pins {
            let mut walk =
                Walk { ways: self, on_way: Vec::new(), gates: Vec::new(), left: MOST_STEPS, found: &mut found };
            walk.from(self.nets.of(pin));
        }
        found
    }
}

/// A walk along one way at a time.
struct Walk<'a, 'm> {
    ways: &'a Ways<'m>,
    on_way: Vec<usize>,
    gates: Vec<Cause>,
    left: usize,
    found: &'a mut BTreeSet<Cause>,
}

impl Walk<'_, '_> {
    fn from(&mut self, net: usize) {
        self.on_way.push(net);
        for step in self.ways.steps.get(&net).map_or(&[][..], Vec::as_slice) {
            if self.left == 0 {
                break;
            }
            self.left -= 1;
            let before = self.gates.len();
            self.gates.extend(&step.gates);
            match step.to {
                None => self.found.extend(self.gates.iter().copied()),
                Some(next) if !self.on_way.contains(&next) => self.from(next),
                Some(_) => {}
            }
            self.gates.truncate(before);
        }
        self.on_way.pop();
    }
}

/// The inputs that a condition asks for, with whether it holds by their being at rest.
fn inputs_of(when: &StateCondition) -> Vec<Cause> {
    fn collect(when: &StateCondition, negated: bool, found: &mut Vec<Cause>) {
        match when {
            StateCondition::InputIs(input, position) => {
                let cause = (Origin::Input(*input), (*position == 0) != negated);
                if !found.iter().any(|(origin, _)| *origin == cause.0) {
                    found.push(cause);
                }
            }
            StateCondition::Not(inner) => collect(inner, !negated, found),
            StateCondition::All(terms) | StateCondition::Any(terms) => {
                terms.iter().for_each(|term| collect(term, negated, found))
            }
            StateCondition::Always(_) | StateCondition::Signal(_) => {}
        }
    }
    let mut found = Vec::new();
    collect(when, false, &mut found);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn not_at_rest_is_no_going_off() {
        let key_off = StateCondition::InputIs(InputId(0), 0);
        let origin = Origin::Input(InputId(0));
        assert_eq!(inputs_of(&key_off), [(origin, true)]);
        assert_eq!(inputs_of(&StateCondition::Not(Box::new(key_off.clone()))), [(origin, false)]);
        assert_eq!(
            inputs_of(&StateCondition::Any(vec![StateCondition::InputIs(InputId(0), 2), key_off])),
            [(origin, false)]
        );
    }
}
