//! One moment of a solved harness: a state at every corner, which chains of pins take their voltages from.

use facts::AtCorners;
use model::Model;
use states::Solved;

/// A state of a harness at every corner.
#[derive(Clone, Copy)]
pub(super) struct Moment<'a> {
    pub solved: &'a Solved<'a>,
    pub model: &'a Model,
    pub at: &'a AtCorners<'a>,
}
