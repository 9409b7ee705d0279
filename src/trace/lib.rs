//! Failure tracing. In come the facts of a harness, what the service tech saw and read; out go the suspects with their
//! probabilities and the next step that separates them best for its minutes.
//!
//! Each suspect is a real failure of a part or a wire, as a [`circuit::Variant`]. It is solved in every setting that a
//! tech can put the vehicle in: inputs are moved as from rest, timers run out, and the engine says what then happens
//! with the fault in place. The probabilities follow Bayes' rule; a wrong answer makes a suspect unlikely, never
//! impossible.

mod belief;
mod fault;
mod group;
mod rates;
mod seen;
mod setting;
mod simulate;
mod step;
mod text;

#[cfg(test)]
mod tests;

pub use belief::{SuspectedFault, TraceVerdict};
pub use fault::{Failure, FailureKind};
pub use rates::{Rates, WrongRates};
pub use seen::{Observation, ScreenSeen, WrongAnswer, pin_named};
pub use setting::SetState;
pub use step::{Answer, NextStep, Probe};
pub use text::text;

use belief::Belief;
use facts::Facts;
use model::Model;
use serde::Serialize;
use simulate::{Simulated, effect};

/// Suspects below this probability are not followed further.
const NEGLIGIBLE: f64 = 1e-4;

/// A tracing session: the faults, and what each shows in each setting.
pub struct FaultTracer<'f, 'm> {
    facts: &'f Facts<'m>,
    faults: Vec<Failure>,
    settings: Vec<SetState>,
}

/// What the observations so far say, and what to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diagnosis {
    /// The suspects, the most probable first. What no step can tell apart is one suspect.
    pub suspects: Vec<SuspectedFault>,
    /// How far the tracing is.
    pub verdict: TraceVerdict,
    /// The best next step; `None` where none helps.
    pub next: Option<NextStep>,
    /// Observations that fit no likely suspect, by their number from 1: make them again.
    pub doubtful: Vec<usize>,
}

impl<'f, 'm> FaultTracer<'f, 'm> {
    /// A tracer with these rates of faults.
    pub fn new(facts: &'f Facts<'m>, rates: &Rates) -> FaultTracer<'f, 'm> {
        let faults = fault::faults(facts, rates);
        let settings = setting::settings(facts);
        FaultTracer { facts, faults, settings }
    }

    /// The harness.
    pub fn model(&self) -> &'m Model {
        self.facts.model
    }

    /// The faults that it knows.
    pub fn faults(&self) -> &[Failure] {
        &self.faults
    }

    /// The settings that show most.
    pub fn settings(&self) -> &[SetState] {
        &self.settings
    }

    /// What each screen shows in each setting, with a fault or without; `None` where the circuit does not settle.
    pub fn seen(&self, fault: Option<&Failure>) -> Vec<Option<Vec<ScreenSeen>>> {
        let effect = fault.map(|fault| effect(self.facts, fault, &self.settings)).unwrap_or_default();
        let screens = |setting| Some(simulate::shown(self.facts, setting, &effect)?.screens);
        self.settings.iter().map(screens).collect()
    }

    /// What the observations say. Pins in `unreachable` are not probed.
    pub fn diagnose(&self, observations: &[Observation], unreachable: &[model::PinId]) -> Diagnosis {
        let mut settings: Vec<SetState> = observations.iter().map(|one| one.setting.clone()).collect();
        let seen = settings.len();
        settings.extend(self.settings.iter().cloned());
        let all: Vec<usize> = (0..self.faults.len()).collect();
        let effects = threads::each(&self.faults, |fault| effect(self.facts, fault, &settings));
        let first = Simulated::of(self.facts, &effects, &all, &settings[..seen]);
        let belief = Belief::of(&self.faults, &first, observations, self.facts);
        let likely: Vec<usize> = all.into_iter().filter(|i| belief.of_fault(*i) > NEGLIGIBLE).collect();
        let shown = Simulated::of(self.facts, &effects, &likely, &settings[seen..]);
        let steps = step::Steps {
            facts: self.facts,
            faults: &self.faults,
            settings: &settings[seen..],
            now: observations.last().map(|one| &one.setting),
            shown: &shown,
            likely: &likely,
            belief: &belief,
            unreachable,
            observations,
        };
        let groups = steps.groups();
        let next = steps.best(&groups);
        let doubtful = belief.doubtful(observations);
        let verdict = belief.verdict(&groups, next.is_some(), &doubtful);
        let suspects = belief.suspects(&groups, &self.faults);
        Diagnosis { suspects, verdict, next, doubtful }
    }
}
