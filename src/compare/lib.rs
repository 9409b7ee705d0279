//! Two revisions of a harness. In come the facts and findings of both; out goes a [`Comparison`]: the rework that turns
//! the old harness into the new one, and what then changes in behaviour.
//!
//! What must hold: [`Rework::applied`] on the old inventory gives the new one, exactly. A part, wire, input or screen
//! that only has another name is renamed, not removed and added.

mod behaviour;
mod found;
mod inventory;
mod page;
mod pairs;
mod rework;
mod text;

#[cfg(test)]
mod tests;

pub use behaviour::{Behaviour, CurrentChange, ShownChange};
pub use found::FindingsChange;
pub use inventory::{Fitted, Inventory, NamedPin, Strand, What};
pub use page::page;
pub use rework::{Exchanged, MovedEnd, Renamed, Replaced, Rework};
pub use text::text;

use check::Report;
use facts::Facts;
use serde::Serialize;

/// One revision: its facts and what the checks found.
#[derive(Clone, Copy)]
pub struct Revision<'f, 'm> {
    /// What the harness does.
    pub facts: &'f Facts<'m>,
    /// What the checks found.
    pub report: &'f Report,
}

/// What differs between two revisions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Title and revision of the old harness.
    pub old: String,
    /// Title and revision of the new harness.
    pub new: String,
    /// What the bench does to the old harness.
    pub rework: Rework,
    /// What the new harness does otherwise.
    pub behaviour: Behaviour,
    /// Findings that are gone, and new ones.
    pub findings: FindingsChange,
}

impl Comparison {
    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        self.rework.is_empty() && self.behaviour.is_empty() && self.findings.is_empty()
    }
}

/// Compares two revisions.
pub fn compare(old: Revision, new: Revision) -> Comparison {
    let (before, after) = (Inventory::of(old.facts.model), Inventory::of(new.facts.model));
    let pairs = pairs::Pairs::of(&before, &after);
    Comparison {
        old: title(old),
        new: title(new),
        rework: Rework::between(&before, &after, &pairs),
        behaviour: Behaviour::between(old.facts, new.facts, &pairs),
        findings: FindingsChange::between(old.report, new.report, &pairs),
    }
}

fn title(revision: Revision) -> String {
    let job = &revision.facts.model.job;
    match job.revision.as_str() {
        "-" => job.title.clone(),
        revision => format!("{}, revision {revision}", job.title),
    }
}
