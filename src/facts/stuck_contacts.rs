//! Contacts that do not follow their relay, as changes of the circuit.

use circuit::{Assembly, BranchId, Change};
use model::{ElementId, ElementKind, Model, SignalId};

/// A contact that stays as at rest, or as with its coil energised.
pub fn stuck(model: &Model, assembly: &Assembly, contact: ElementId, is_made: bool) -> Vec<Change> {
    let ElementKind::Contact { made, rest, .. } = &model.element(contact).kind else { return Vec::new() };
    let sides = [(made.is_some(), is_made), (rest.is_some(), !is_made)];
    let closes = sides.into_iter().filter(|(is_there, _)| *is_there).map(|(_, closes)| closes);
    let change = |(branch, closes): (&BranchId, bool)| match closes {
        true => Change::Closed(*branch),
        false => Change::Open(*branch),
    };
    assembly.element(contact).iter().zip(closes).map(change).collect()
}

/// Every contact of a relay stays as at rest.
pub fn relay_at_rest(model: &Model, assembly: &Assembly, of: SignalId) -> Vec<Change> {
    let is_mine = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Contact { relay, .. } if relay == of);
    let contacts = (0..model.elements.len()).map(ElementId).filter(is_mine);
    contacts.flat_map(|contact| stuck(model, assembly, contact, false)).collect()
}
