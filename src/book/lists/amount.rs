//! How much of something: cut lengths, and counts.

use model::Limits;
use quantity::{Metres, Share};
use serde::{Serialize, Serializer};
use std::fmt;

/// Cut lengths are rounded up to this, in millimetres.
const CUT_STEP_MM: u64 = 10;

/// Ordered lengths are rounded up to this, in millimetres.
const ORDER_STEP_MM: u64 = 100;

/// A length as it is cut, in whole millimetres: `4830 mm`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct CutLength {
    mm: u64,
}

impl CutLength {
    /// Length of a piece for a wire of this length: with the shop's allowance on the length, its allowance for both
    /// ends, rounded up to 10 mm.
    pub fn of(length: Metres, limits: &Limits) -> CutLength {
        let metres = length * (1.0 + limits.cut_allowance.value()) + limits.end_allowance * 2.0;
        // Rounding errors below 0.01 mm must not add a step.
        let steps = (metres.value() * 1000.0 / CUT_STEP_MM as f64 - 1e-3).ceil().max(0.0);
        CutLength { mm: steps as u64 * CUT_STEP_MM }
    }

    /// With a share more, rounded up to 100 mm.
    pub fn with_spare(self, share: Share) -> CutLength {
        let steps = (self.mm as f64 * (1.0 + share.value()) / ORDER_STEP_MM as f64 - 1e-3).ceil().max(0.0);
        CutLength { mm: steps as u64 * ORDER_STEP_MM }
    }

    /// In millimetres.
    pub fn millimetres(self) -> u64 {
        self.mm
    }

    /// In metres.
    pub fn metres(self) -> Metres {
        Metres::new(self.mm as f64 / 1000.0)
    }
}

impl std::iter::Sum for CutLength {
    fn sum<I: Iterator<Item = CutLength>>(cuts: I) -> CutLength {
        CutLength { mm: cuts.map(|cut| cut.mm).sum() }
    }
}

impl fmt::Display for CutLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} mm", self.mm))
    }
}

impl Serialize for CutLength {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// How much of something: `12`, or `4.83 m`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Amount {
    /// A number of pieces.
    Pieces(u64),
    /// A total length.
    Length(CutLength),
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Amount::Pieces(n) => f.pad(&n.to_string()),
            Amount::Length(cut) => f.pad(&format!("{:.2} m", cut.metres().value())),
        }
    }
}

impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
