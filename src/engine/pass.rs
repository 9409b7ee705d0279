//! How freely branches may change their pieces in each pass of a solution.

/// A branch stays on a piece while its voltage is outside by no more than this, the rounding of a difference of two
/// supply voltages. The currents that this leaves open are small even compared with those of [`LEAK`](circuit::LEAK).
const PIECE_SLACK: f64 = 1e-14;

/// The same in the last half of [`SINGLE_PASSES`], so that rounding can't move a branch between two pieces endlessly.
const WIDE_PIECE_SLACK: f64 = 1e-9;

/// Passes in which every branch may change its piece.
const FREE_PASSES: usize = 40;

/// Passes after those, in which only the first branch that has to change does.
const SINGLE_PASSES: usize = 2000;

/// Passes in a row in which a constant-power load may move by the whole step; Newton's method needs some five.
const SWINGING_PASSES: usize = 15;

/// Most passes of a solution.
pub(crate) const MOST_PASSES: usize = FREE_PASSES + SINGLE_PASSES;

/// One pass.
pub(crate) struct Pass {
    /// Only the first branch that has to change does.
    pub single: bool,
    /// Constant-power loads move half the way.
    pub damped: bool,
    /// How far a voltage may be outside of a piece, in volts.
    pub slack: f64,
}

impl Pass {
    /// The pass of this number, after `swinging` passes in a row in which constant-power loads moved.
    pub(crate) fn new(number: usize, swinging: usize) -> Pass {
        Pass {
            single: number >= FREE_PASSES,
            damped: swinging > SWINGING_PASSES,
            slack: if number < FREE_PASSES + SINGLE_PASSES / 2 { PIECE_SLACK } else { WIDE_PIECE_SLACK },
        }
    }
}
