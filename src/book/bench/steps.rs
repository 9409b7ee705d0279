//! The steps of the bench test, in groups.

use serde::Serialize;

/// Steps that are done in one go.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchGroup {
    /// What is tested.
    pub title: String,
    /// How.
    pub how: String,
    /// Whether the steps are actions, not readings.
    pub doing: bool,
    /// What to connect, switch or press before.
    pub set: Vec<String>,
    /// The readings.
    pub steps: Vec<BenchStep>,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BenchStep {
    /// What is read.
    pub what: String,
    /// Where the red tip goes.
    pub red: String,
    /// Where the black tip goes.
    pub black: String,
    /// What a good harness shows.
    pub expect: String,
    /// What passes.
    pub pass: String,
}
