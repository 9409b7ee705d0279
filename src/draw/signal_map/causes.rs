//! What may switch a pin: every way from it back to a supply, an input's wire or a module's output, and the contacts
//! and switches on that way. Nothing is solved here; what is found is what the wiring allows.

use graph::Nets;
use model::{Element, ElementKind, InputId, Model, PartId, Passage, PinId, StateCondition};
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
    /// The net it leads to; `None` if it ends at a supply, an input, an output or ground.
    to: Option<usize>,
    /// What must be switched for it.
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
            ways.add(element);
        }
        ways
    }

    fn put(&mut self, from: PinId, to: Option<PinId>, gates: Vec<Cause>) {
        let to = to.map(|pin| self.nets.of(pin));
        self.steps.entry(self.nets.of(from)).or_default().push(Step { to, gates });
    }

    fn add(&mut self, element: &Element) {
        match &element.kind {
            // A way ends here: what is behind it is the vehicle's or the module's own.
            ElementKind::Battery { plus: pin, .. } | ElementKind::GroundPoint { pin, .. } => {
                self.put(*pin, None, Vec::new());
            }
            ElementKind::Derived { pin, when, .. } => self.put(*pin, None, self.gates_of(when)),
            ElementKind::Feed(feed) => self.put(feed.pin, None, vec![(Origin::Input(feed.input), false)]),
            ElementKind::Output { pin, .. } => {
                let part = self.model.pin(*pin).part;
                self.put(*pin, None, vec![(Origin::DiagramPart(part), false)]);
            }
            _ => {
                for path in element.paths().filter(|path| !matches!(path.passage, Passage::Load | Passage::Signal)) {
                    let Some([from, to]) = path.pins() else { continue };
                    let gates = if path.passage == Passage::Switched { self.gates_of(&path.when) } else { Vec::new() };
                    if path.both_ways() {
                        self.put(from, Some(to), gates.clone());
                    }
                    self.put(to, Some(from), gates);
                }
            }
        }
    }

    /// What a condition asks for, with whether it holds by that being at rest.
    fn gates_of(&self, when: &StateCondition) -> Vec<Cause> {
        let mut found: Vec<Cause> = Vec::new();
        self.collect(when, false, &mut found);
        found
    }

    fn collect(&self, when: &StateCondition, negated: bool, found: &mut Vec<Cause>) {
        let (origin, at_rest) = match when {
            StateCondition::InputIs(input, position) => (Origin::Input(*input), *position == 0),
            StateCondition::Signal(signal) => (Origin::DiagramPart(self.model.signals[signal.0].part), false),
            StateCondition::Not(inner) => return self.collect(inner, !negated, found),
            StateCondition::All(terms) | StateCondition::Any(terms) => {
                return terms.iter().for_each(|term| self.collect(term, negated, found));
            }
            StateCondition::Always(_) => return,
        };
        if !found.iter().any(|(known, _)| *known == origin) {
            found.push((origin, at_rest != negated));
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn not_at_rest_is_no_going_off() {
        let model = sample::demo("first-harness");
        let gates_of = |when: &StateCondition| Ways::new(&model).gates_of(when);
        let key_off = StateCondition::InputIs(InputId(0), 0);
        let origin = Origin::Input(InputId(0));
        assert_eq!(gates_of(&key_off), [(origin, true)]);
        assert_eq!(gates_of(&StateCondition::Not(Box::new(key_off.clone()))), [(origin, false)]);
        assert_eq!(
            gates_of(&StateCondition::Any(vec![StateCondition::InputIs(InputId(0), 2), key_off])),
            [(origin, false)]
        );
    }
}
