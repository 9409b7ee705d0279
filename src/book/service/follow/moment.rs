//! One moment of a solved harness: a state at every corner, which chains of pins take their voltages from.

use crate::corners::{AllCorners, Corners};
use model::Model;
use states::Solved;

/// A state of a harness at every corner.
#[derive(Clone, Copy)]
pub(super) struct Moment<'a> {
    pub solved: &'a Solved<'a>,
    pub model: &'a Model,
    pub corners: &'a Corners<'a>,
    pub at: &'a AllCorners,
}
