//! Problems of inputs that have words of their own.

use catalogue::part_form::MOST_POSITIONS;
use form::{Name, Place, Problem};
use spec::InputForm;

/// The problem of a button that says how it acts without a part.
pub(super) fn only_in_a_wish(place: Place) -> Problem {
    Problem::at(place, "`acts` is for a wish, where a button has no part yet")
        .hint("let `loomwright plan` choose the part, or name it with `part` and remove `acts`")
}

/// The problem of an input with more positions than the form allows: at the first one too many, or, where a switch part
/// brings them, at the name of that part.
pub(super) fn too_many_positions(name: &Name, input: &InputForm, count: usize) -> Option<Problem> {
    if count <= MOST_POSITIONS {
        return None;
    }
    let first_beyond = input.positions.get(MOST_POSITIONS).map(|position| position.place);
    let place = first_beyond.or(input.part.as_ref().map(|part| part.place))?;
    let message = format!("`{name}` has {count} positions; an input has at most {MOST_POSITIONS}");
    Some(Problem::at(place, message).hint("remove positions that switch nothing, or split the input into several"))
}
