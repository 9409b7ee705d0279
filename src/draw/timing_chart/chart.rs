//! What a timing chart is drawn from.

use model::{Drive, Model};
use replay::{Plan, Promise, Record, Setting, Timeline};
use states::Wiring;

/// What a chart is drawn from.
#[derive(Debug, Clone, Copy)]
pub struct Chart<'c> {
    /// The harness.
    pub wiring: &'c Wiring<'c>,
    /// The parts of it that take time.
    pub plan: &'c Plan,
    /// What happened, with times.
    pub record: &'c Record,
    /// What was promised.
    pub promises: &'c [Promise],
    /// The drive's name.
    pub drive: &'c str,
    /// Under which setting it was played.
    pub setting: &'c Setting,
}

impl<'c> Chart<'c> {
    /// The chart of a drive and what became of it.
    pub fn of(wiring: &'c Wiring<'c>, plan: &'c Plan, drive: &'c Drive, timeline: &'c Timeline) -> Self {
        let Timeline { record, promises, setting, .. } = timeline;
        Chart { wiring, plan, record, promises, setting, drive: &drive.name }
    }

    pub(super) fn model(&self) -> &Model {
        self.wiring.model
    }
}
