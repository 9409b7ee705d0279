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

/// A branch that has changed its piece this often in one solution goes round with others.
const MOST_TURNS: u8 = 5;

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
    pub(crate) fn new(number: usize, swinging: usize, turns: &Turns) -> Pass {
        Pass {
            single: number >= FREE_PASSES || turns.most > MOST_TURNS,
            damped: swinging > SWINGING_PASSES,
            slack: if number < FREE_PASSES + SINGLE_PASSES / 2 { PIECE_SLACK } else { WIDE_PIECE_SLACK },
        }
    }
}

/// How often each of several things has turned in one solution.
#[derive(Debug)]
pub(crate) struct Turns {
    each: Vec<u8>,
    most: u8,
}

impl Turns {
    pub(crate) fn new(count: usize) -> Turns {
        Turns { each: vec![0; count], most: 0 }
    }

    /// Begins a solution.
    pub(crate) fn begin(&mut self) {
        if self.most > 0 {
            self.each.fill(0);
            self.most = 0;
        }
    }

    /// Counts a turn, and returns how many this thing has made.
    pub(crate) fn count(&mut self, at: usize) -> u8 {
        self.each[at] = self.each[at].saturating_add(1);
        self.most = self.most.max(self.each[at]);
        self.each[at]
    }
}
