//! Inputs that can never be away from rest, whatever the others do.

use model::{InputId, Model, StateCondition};
use std::collections::BTreeSet;

/// Most combinations tried for one input. An input with more counts as free: it would take some thirty inputs that
/// name each other in their `needs`.
const MOST: u32 = 1 << 20;

/// Whether some combination that keeps every `needs` and `excludes` has an input away from rest. Only the inputs that
/// its `needs` name, and theirs, matter: all others may stay at rest, which nothing forbids.
pub fn can_leave_rest(model: &Model, id: InputId) -> bool {
    let inputs = named(model, id);
    let mut at = vec![0; model.inputs.len()];
    for _ in 0..MOST {
        if at[id.0] != 0 && inputs.iter().all(|input| may_be(model, *input, &at)) {
            return true;
        }
        if !count_on(model, &inputs, &mut at) {
            return false;
        }
    }
    true
}

/// The next combination of these inputs; false after the last.
fn count_on(model: &Model, inputs: &BTreeSet<InputId>, at: &mut [usize]) -> bool {
    for input in inputs {
        at[input.0] = (at[input.0] + 1) % model.inputs[input.0].positions.len();
        if at[input.0] != 0 {
            return true;
        }
    }
    false
}

fn may_be(model: &Model, id: InputId, at: &[usize]) -> bool {
    let input = &model.inputs[id.0];
    let holds = |needs: &StateCondition| needs.holds(&|other| at[other.0], &|_| false);
    at[id.0] == 0 || input.needs.as_ref().is_none_or(holds) && input.excludes.iter().all(|other| at[other.0] == 0)
}

/// An input, those that its `needs` name, those that theirs name, and so on.
fn named(model: &Model, id: InputId) -> BTreeSet<InputId> {
    let mut all = BTreeSet::from([id]);
    let mut next = vec![id];
    while let Some(id) = next.pop() {
        let Some(needs) = &model.inputs[id.0].needs else { continue };
        needs.leaves(&mut |leaf| {
            if let StateCondition::InputIs(other, _) = leaf
                && all.insert(*other)
            {
                next.push(*other);
            }
        });
    }
    all
}
