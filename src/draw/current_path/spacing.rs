//! How much room things take down the sheet, in millimetres.

use super::forest::{Edge, Step, Top};

/// The smallest length of a wire: room for its label.
pub(super) const WIRE: f64 = 12.5;
/// The room that a wire's label takes, and that below it for the name of a bar.
pub(super) const LABEL: f64 = 8.5;
pub(super) const NAME: f64 = 3.6;
/// A symbol from port to port.
pub(super) const PIECE: f64 = super::box_sizes::SYMBOL;
/// How far above its lower end, or below its upper end, a change-over contact is left on its side.
pub(super) const SIDE: f64 = 2.5;
/// A connector crossed.
pub(super) const CROSSING: f64 = 7.5;
/// Below a bar, before the next wire starts.
pub(super) const BAR: f64 = 0.0;
/// A short step: the stretch between a terminal and the bar above it, the room of an open end.
pub(super) const SHORT: f64 = 5.0;
/// The stub and flag of something that stands on another path.
pub(super) const STUB: f64 = 17.5;
/// A flag at the end of a path, and the stub that it stands on below a symbol or a box.
pub(super) const FLAG: f64 = 8.5;

/// How far down the sheet one thing on a path reaches at least.
pub(super) fn height(edge: Edge) -> f64 {
    match edge {
        Edge::Wire(_) => WIRE,
        Edge::Joint(_) => CROSSING,
        Edge::Piece(_) => PIECE,
    }
}

/// How far below the rails what comes from above needs its pin to be.
pub(super) fn rise(top: &Top) -> f64 {
    match top {
        Top::Arrival => 0.0,
        Top::Rise { steps, .. } => steps.iter().map(|s| height(s.edge)).sum::<f64>() + below(steps),
        Top::Stub { whole: true, .. } => WIRE + STUB / 2.0,
        Top::Stub { .. } => STUB,
    }
}

/// Between the last symbol above a bar and the bar, so that the bar keeps off the name of the symbol's pin.
pub(super) fn below(steps: &[Step]) -> f64 {
    steps.last().map_or(0.0, |step| if matches!(step.edge, Edge::Piece(_)) { SHORT } else { 0.0 })
}
