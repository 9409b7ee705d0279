//! Branches whose law is not straight, each on one piece of its law.

use circuit::LinePiece;

/// A branch whose law is not straight, and the piece it is on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Curved {
    branch: u32,
    /// Columns, the last one being the battery's negative.
    ends: [u32; 2],
    piece: u32,
    /// Voltages between which the piece holds; all of them for a law without pieces.
    low: f64,
    high: f64,
}

impl Curved {
    pub(crate) fn new(branch: usize, ends: [u32; 2]) -> Curved {
        Curved { branch: branch as u32, ends, piece: 0, low: f64::NEG_INFINITY, high: f64::INFINITY }
    }

    #[inline]
    pub(crate) fn branch(&self) -> usize {
        self.branch as usize
    }

    /// The number of its piece.
    #[inline]
    pub(crate) fn piece(&self) -> usize {
        self.piece as usize
    }

    /// Puts it on a piece of its law.
    pub(crate) fn set_piece(&mut self, pieces: &[LinePiece], piece: usize) {
        let low = if piece == 0 { f64::NEG_INFINITY } else { pieces[piece - 1].upto };
        (self.piece, self.low, self.high) = (piece as u32, low, pieces[piece].upto);
    }

    /// Its voltage, from the voltages of all columns.
    #[inline]
    pub(crate) fn volts(&self, columns: &[f64]) -> f64 {
        columns[self.ends[0] as usize] - columns[self.ends[1] as usize]
    }

    /// Whether its piece holds at a voltage, give or take some.
    #[inline]
    pub(crate) fn holds_at(&self, volts: f64, slack: f64) -> bool {
        volts >= self.low - slack && volts <= self.high + slack
    }

    /// Whether a voltage is below its piece.
    pub(crate) fn is_above(&self, volts: f64) -> bool {
        volts < self.low
    }
}
