//! What leads from one picture to another, in as few statements as say the same: moves with the same condition share it,
//! and two moves that both have to be made are said once.

use super::dimensions::{Dimensions, conditions};
use facts::PictureChange;
use facts::picture_changes::Cause;

/// A value for each dimension; `None` if it does not matter.
pub(super) type Condition = Vec<Option<usize>>;

/// Moves that lead to a picture under the same conditions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Statement {
    pub moves: Moves,
    /// Any of them is enough: one, or two that differ in two dimensions.
    pub conditions: Vec<Condition>,
}

/// Which moves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Moves {
    /// Any of them.
    Any(Vec<Cause>),
    /// Both, in either order: the picture changes with the last.
    Both([Cause; 2]),
}

/// All that leads from one picture to another.
pub(super) fn statements(dimensions: &Dimensions, change: &PictureChange) -> Vec<Statement> {
    let single = change.causes.iter().flat_map(|caused| {
        let with_cause = |condition| (caused.cause, condition);
        conditions(dimensions, caused).into_iter().map(with_cause).collect::<Vec<_>>()
    });
    with_pairs(sharing(in_either_order(single.collect())))
}

/// Finds the moves that are each other's condition.
fn in_either_order(single: Vec<(Cause, Condition)>) -> Vec<Statement> {
    let mut found: Vec<Statement> = Vec::new();
    let mut open: Vec<Option<(Cause, Condition)>> = single.into_iter().map(Some).collect();
    for first in 0..open.len() {
        let Some((cause, condition)) = open[first].take() else { continue };
        let last = open[first + 1..].iter_mut().find_map(|other| {
            let (last, _) = other.take_if(|(last, others)| is_last_of(&(cause, &condition), &(*last, others)))?;
            Some(last)
        });
        found.push(match last {
            Some(last) => {
                let mut rest = condition;
                rest[last.input.0] = None;
                Statement { moves: Moves::Both([cause, last]), conditions: vec![rest] }
            }
            None => Statement { moves: Moves::Any(vec![cause]), conditions: vec![condition] },
        });
    }
    found
}

/// Whether each of two moves asks for what the other does, and both for the same besides.
fn is_last_of((a, of_a): &(Cause, &Condition), (b, of_b): &(Cause, &Condition)) -> bool {
    let without = |condition: &Condition, cause: &Cause| {
        let mut rest = condition.clone();
        (rest[cause.input.0].take() == Some(cause.position)).then_some(rest)
    };
    let rest = without(of_a, b);
    a.input != b.input && a.timer.or(b.timer).is_none() && rest.is_some() && rest == without(of_b, a)
}

/// Puts single moves with the same condition together; a move that a timer follows stays alone.
fn sharing(all: Vec<Statement>) -> Vec<Statement> {
    let mut shared: Vec<Statement> = Vec::new();
    for statement in all {
        if let Moves::Any(moves) = &statement.moves
            && moves.iter().all(|cause| cause.timer.is_none())
            && let Some(known) = shared.iter_mut().find_map(|known| match &mut known.moves {
                Moves::Any(own) if known.conditions == statement.conditions => {
                    own.iter().all(|cause| cause.timer.is_none()).then_some(own)
                }
                _ => None,
            })
        {
            known.extend(moves);
        } else {
            shared.push(statement);
        }
    }
    shared
}

/// Puts two statements of the same moves together whose conditions agree but for two dimensions.
fn with_pairs(all: Vec<Statement>) -> Vec<Statement> {
    let mut found: Vec<Statement> = Vec::new();
    for statement in all {
        let is_pair = |known: &&mut Statement| {
            known.moves == statement.moves
                && known.conditions.len() == 1
                && differing(&known.conditions[0], &statement.conditions[0]).is_some()
        };
        match found.iter_mut().find(is_pair) {
            Some(known) => known.conditions.extend(statement.conditions),
            None => found.push(statement),
        }
    }
    found
}

/// The two dimensions in which two conditions have different values, where that is all that they differ in.
fn differing(a: &Condition, b: &Condition) -> Option<[usize; 2]> {
    let differ: Vec<usize> = (0..a.len()).filter(|&i| a[i] != b[i]).collect();
    let [i, j] = differ[..] else { return None };
    [a[i], a[j], b[i], b[j]].iter().all(Option::is_some).then_some([i, j])
}

impl Statement {
    /// In words: `key accessory or run, if left-turn and right-turn off`.
    pub fn words(&self, dimensions: &Dimensions) -> String {
        let moves = match &self.moves {
            Moves::Any(causes) => alternatives(dimensions, causes),
            Moves::Both(causes) => {
                let [a, b] = causes.map(|cause| dimensions.words(cause.input.0, cause.position));
                if a[1] == b[1] {
                    format!("both {} and {} {}", a[0], b[0], a[1])
                } else {
                    format!("both {} and {}", a.join(" "), b.join(" "))
                }
            }
        };
        match self.condition(dimensions) {
            condition if condition.is_empty() => moves,
            condition => format!("{moves}, if {condition}"),
        }
    }

    fn condition(&self, dimensions: &Dimensions) -> String {
        let [first, second] = match &self.conditions[..] {
            [first, second] => [first, second],
            [only] => return terms(dimensions, only).join(" and "),
            _ => return String::new(),
        };
        let Some(apart) = differing(first, second) else { return String::new() };
        let shared: Condition =
            first.iter().enumerate().map(|(i, value)| value.filter(|_| !apart.contains(&i))).collect();
        let mut all = terms(dimensions, &shared);
        let words = |condition: &Condition| apart.map(|i| dimensions.words(i, condition[i].unwrap_or_default()));
        let [[a, b], [c, d]] = [first, second].map(words);
        all.push(if a[1] == b[1] && c[1] == d[1] {
            format!("{} and {} both {} or both {}", a[0], b[0], a[1], c[1])
        } else {
            let [a, b, c, d] = [a, b, c, d].map(|words| words.join(" "));
            format!("either {a} and {b} or {c} and {d}")
        });
        all.join(" and ")
    }
}

/// What a condition asks for; what asks for the same value is named together.
fn terms(dimensions: &Dimensions, condition: &Condition) -> Vec<String> {
    let mut by_value: Vec<(Vec<String>, String)> = Vec::new();
    for (dimension, value) in condition.iter().enumerate() {
        let Some(value) = *value else { continue };
        let [name, value] = dimensions.words(dimension, value);
        match by_value.iter_mut().find(|(_, known)| *known == value) {
            Some((names, _)) => names.push(name),
            None => by_value.push((vec![name], value)),
        }
    }
    by_value.into_iter().map(|(names, value)| format!("{} {value}", listed(&names))).collect()
}

/// `a`, `a and b`, `a, b and c`.
fn listed(names: &[String]) -> String {
    match names {
        [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => names.concat(),
    }
}

/// Any of some moves; the positions of one input are named together.
fn alternatives(dimensions: &Dimensions, causes: &[Cause]) -> String {
    let mut by_input: Vec<(String, Vec<String>)> = Vec::new();
    for cause in causes {
        let [name, position] = dimensions.words(cause.input.0, cause.position);
        let position = match cause.timer {
            Some(timer) => {
                let part = dimensions.model.signals[timer.0].part;
                format!("{position}, when {} has run", dimensions.model.part(part).name)
            }
            None => position,
        };
        match by_input.iter_mut().find(|(known, _)| *known == name) {
            Some((_, positions)) => positions.push(position),
            None => by_input.push((name, vec![position])),
        }
    }
    let each: Vec<String> =
        by_input.into_iter().map(|(name, positions)| format!("{name} {}", positions.join(" or "))).collect();
    each.join(" or ")
}

#[cfg(test)]
impl Statement {
    /// The single moves with their conditions that the statement says.
    pub fn single(&self) -> Vec<(Cause, Condition)> {
        let each = |condition: &Condition| match &self.moves {
            Moves::Any(causes) => causes.iter().map(|cause| (*cause, condition.clone())).collect(),
            Moves::Both([a, b]) => [(a, b), (b, a)]
                .map(|(last, first)| {
                    let mut with_first = condition.clone();
                    with_first[first.input.0] = Some(first.position);
                    (*last, with_first)
                })
                .to_vec(),
        };
        self.conditions.iter().flat_map(each).collect::<Vec<(Cause, Condition)>>()
    }
}
