//! Faults that show the same everywhere.

/// Faults that no step distinguishes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Group {
    /// The faults.
    pub faults: Vec<usize>,
    /// The place of one of them in the list of likely faults.
    pub example: usize,
    /// Their probability together.
    pub probability: f64,
}
