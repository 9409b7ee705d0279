//! Conditions: when a branch is there, when an input may leave rest, what starts a timer.

use super::ids::{ActorId, InputId, Position};

/// A condition over positions of inputs and over actors.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Logic {
    /// Always true.
    #[default]
    Always,
    /// Never true.
    Never,
    /// The input is in this position, counted from 0, the one at rest.
    At(InputId, Position),
    /// The actor is on.
    On(ActorId),
    /// The opposite of a condition.
    Not(Box<Logic>),
    /// All of them.
    All(Vec<Logic>),
    /// At least one of them.
    Any(Vec<Logic>),
}

impl Logic {
    /// The opposite.
    pub fn negated(self) -> Logic {
        match self {
            Logic::Always => Logic::Never,
            Logic::Never => Logic::Always,
            Logic::Not(inner) => *inner,
            other => Logic::Not(Box::new(other)),
        }
    }

    /// Both conditions.
    pub fn and(self, other: Logic) -> Logic {
        match (self, other) {
            (Logic::Always, one) | (one, Logic::Always) => one,
            (Logic::Never, _) | (_, Logic::Never) => Logic::Never,
            (Logic::All(mut terms), one) => {
                terms.push(one);
                Logic::All(terms)
            }
            (one, two) => Logic::All(vec![one, two]),
        }
    }

    /// Whether it holds, given the position of each input and whether each actor is on.
    pub fn holds(&self, at: &impl Fn(InputId) -> Position, on: &impl Fn(ActorId) -> bool) -> bool {
        match self {
            Logic::Always => true,
            Logic::Never => false,
            Logic::At(input, position) => at(*input) == *position,
            Logic::On(actor) => on(*actor),
            Logic::Not(inner) => !inner.holds(at, on),
            Logic::All(terms) => terms.iter().all(|term| term.holds(at, on)),
            Logic::Any(terms) => terms.iter().any(|term| term.holds(at, on)),
        }
    }

    /// Calls `input` and `actor` for everything that it names.
    pub fn visit(&self, input: &mut impl FnMut(InputId), actor: &mut impl FnMut(ActorId)) {
        match self {
            Logic::Always | Logic::Never => {}
            Logic::At(id, _) => input(*id),
            Logic::On(id) => actor(*id),
            Logic::Not(inner) => inner.visit(input, actor),
            Logic::All(terms) | Logic::Any(terms) => terms.iter().for_each(|term| term.visit(input, actor)),
        }
    }
}
