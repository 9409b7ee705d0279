//! Faults that show the same everywhere.

/// Faults that no step distinguishes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SuspectGroup {
    /// The faults.
    pub faults: Vec<usize>,
    /// One of them.
    pub example: usize,
    /// Their probability together.
    pub probability: f64,
}
