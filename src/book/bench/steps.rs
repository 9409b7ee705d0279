//! The steps of the bench test, in groups.

use crate::bench::copper::HarnessEnd;
use crate::bench::limit::Limit;
use facts::bench::BuildFault;
use model::{ElementId, PinId, ScreenId, SignalId, WireId};
use serde::{Serialize, Serializer};

/// What a group of steps tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GroupKind {
    /// Settings and notes before the first reading.
    Before,
    /// Wires from end to end.
    Continuity,
    /// Pins that nothing may join.
    Apart,
    /// Each part by itself.
    Part,
    /// What is fitted before the power comes on.
    Assembly,
    /// A state, with power.
    Powered,
    /// The time of a module.
    Timed,
}

impl GroupKind {
    /// Whether the steps are actions, not readings.
    pub fn is_doing(self) -> bool {
        matches!(self, GroupKind::Before | GroupKind::Assembly)
    }
}

fn doing<S: Serializer>(kind: &GroupKind, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_bool(kind.is_doing())
}

/// Steps that are done in one go.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchGroup {
    /// What is tested.
    pub title: String,
    /// How.
    pub how: String,
    /// What kind of test it is: whether its steps are actions, not readings, is written as `doing`.
    #[serde(rename = "doing", serialize_with = "doing")]
    pub kind: GroupKind,
    /// What to connect, switch or press before.
    pub set: Vec<String>,
    /// The readings.
    pub steps: Vec<BenchStep>,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchStep {
    /// What is read.
    pub what: String,
    /// Where the red tip goes.
    pub red: String,
    /// Where the black tip goes.
    pub black: String,
    /// What a good harness shows.
    pub expect: String,
    /// What passes, in words.
    pub pass: String,
    /// What passes, for a program.
    #[serde(skip)]
    pub limit: Limit,
    /// What is read, for a program.
    #[serde(skip)]
    pub probe: BenchProbe,
}

impl BenchStep {
    /// Something to do or to confirm, without a reading.
    pub fn action(what: impl Into<String>, expect: impl Into<String>, pass: impl Into<String>) -> BenchStep {
        BenchStep {
            what: what.into(),
            red: String::new(),
            black: String::new(),
            expect: expect.into(),
            pass: pass.into(),
            limit: Limit::Confirmed,
            probe: BenchProbe::Action,
        }
    }

    /// What is read and what passes.
    pub fn reads(&self) -> (BenchProbe, Limit) {
        (self.probe.clone(), self.limit.clone())
    }
}

/// What a step reads, for a program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BenchProbe {
    /// An action, or what no calculation gives.
    Action,
    /// The wires between two ends, before anything is fitted.
    Wires([HarnessEnd; 2]),
    /// One wire by itself.
    WireAlone(WireId),
    /// A coaxial cable: its centre, its shield, and one against the other.
    Coax(WireId),
    /// Each pin against each other, before anything is fitted.
    Apart(Vec<PinId>),
    /// A part by itself, or its marking: these faults show.
    Part(Vec<BuildFault>),
    /// The voltage between two pins, and what is heard or seen with it.
    Volts { red: PinId, black: PinId, heard: Option<SignalId> },
    /// The current from the bench supply.
    Drawn,
    /// The current through a fuse.
    Fuse(ElementId),
    /// What a screen shows.
    Screen(ScreenId),
}
