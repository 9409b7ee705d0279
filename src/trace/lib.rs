//! Failure tracing. In come the facts of a harness, what the service tech saw and read; out go the suspects with their
//! probabilities and the next step that separates them best for its minutes.
//!
//! Each suspect is a real failure of a part or a wire, as a [`circuit::Variant`]. It is solved in every setting that a
//! tech can put the vehicle in: inputs are moved as from rest, timers run out, and the engine says what then happens
//! with the fault in place. The probabilities follow Bayes' rule; a wrong answer makes a suspect unlikely, never
//! impossible.

mod belief;
mod cable;
mod choice;
mod confirmed;
mod crossed;
pub mod dialog;
mod dictionary;
mod evidence;
mod extra;
mod fault;
mod flash;
mod group;
mod held;
mod joined;
mod measure;
mod mend;
mod meter_words;
mod observable;
mod pairs;
mod probe;
mod rates;
mod record;
mod renewed;
mod resistance;
mod seen;
mod session;
mod setting;
mod sheets;
mod shown;
mod skipped;
mod step;
mod text;

#[cfg(test)]
mod tests;

pub use belief::{SuspectedFault, TraceVerdict};
pub use cable::CableSeen;
pub use fault::Failure;
pub use measure::{LampSeen, Measure, MeterValue};
pub use probe::{Answer, NextStep, Probe, ProbePin};
pub use rates::{Rates, WrongRates};
pub use record::{NewVisit, RecordedVisit, VehicleRecord, VisitDate};
pub use seen::{Observation, ScreenSeen, WrongAnswer, pin_named};
pub use session::{LARGEST_SESSION, SessionAnswer, SessionEntry, TraceSession, TracedSpec};
pub use setting::SetState;
pub use sheets::{SheetAnswer, SheetProbe, Symptom, SymptomSheet, sheets_text};
pub use skipped::Skipped;
pub use text::{question, suspects_text, text, what};

use belief::{Belief, is_usual};
use dictionary::Dictionary;
use evidence::TraceEvidence;
use facts::Facts;
use fault::Harm;
use group::SuspectGroup;
use measure::Meter;
use model::Model;
use observable::Observable;
use seen::{Answered, WorksSeen};
use serde::Serialize;
use step::{Chosen, Steps};

/// Suspects below this probability are not followed further.
const NEGLIGIBLE: f64 = 1e-4;

/// Below this gain in bits, readings that take more than a meter at one pin are considered too.
const SMALL_GAIN: f64 = 0.3;

/// From this probability of a blown fuse on, shorts behind it are looked for with ohms at open connectors.
const LEAST_SHORTS: f64 = 0.2;

/// A tracing session: the faults, and what each shows in each setting, solved once.
pub struct FaultTracer<'f, 'm> {
    facts: &'f Facts<'m>,
    faults: Vec<Failure>,
    settings: Vec<SetState>,
    looks: Vec<Observable>,
    as_built: Harm,
    /// From the first question on.
    known: Option<SolvedFaults<'f, 'm>>,
}

/// How the next step is chosen from the suspects.
pub(crate) type ChooseStep<'c> = dyn Fn(&Steps, &[SuspectGroup]) -> Option<Chosen> + 'c;

/// What was solved, and the meter.
pub(crate) struct SolvedFaults<'f, 'm> {
    dictionary: Dictionary,
    meter: Meter<'f, 'm>,
}

/// What the observations so far say, and what to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diagnosis {
    /// The suspects, the most probable first. What no step can separate is one suspect.
    pub suspects: Vec<SuspectedFault>,
    /// How far the tracing is.
    pub verdict: TraceVerdict,
    /// The best next step; `None` where none helps.
    pub next: Option<NextStep>,
    /// Observations that the first suspect explains badly, or that a repair leaves unexplained, by their number from 1.
    pub doubtful: Vec<usize>,
    /// Where no single fault fits: the observation to make again, by its number from 1.
    pub repeat: Option<usize>,
    /// Where no single fault fits: pairs of faults that together explain everything, the most probable first.
    pub pairs: Vec<SuspectedFault>,
}

impl<'f, 'm> FaultTracer<'f, 'm> {
    /// A tracer with these rates of faults. The first question solves every fault in every setting.
    pub fn new(facts: &'f Facts<'m>, rates: &Rates) -> FaultTracer<'f, 'm> {
        let faults = fault::faults(facts, rates);
        FaultTracer::with(facts, faults, Harm::default())
    }

    /// A tracer for a vehicle with a record: it begins with what the vehicle has.
    ///
    /// # Errors
    /// A change that names nothing of the harness, with its place in the record.
    pub fn of_vehicle(
        facts: &'f Facts<'m>,
        rates: &Rates,
        record: &VehicleRecord,
    ) -> Result<FaultTracer<'f, 'm>, Box<form::Problem>> {
        let as_built = record::as_built(facts, record)?;
        let is_left = |fault: &Failure| !fault.harm.wires.iter().any(|wire| as_built.wires.contains(wire));
        let faults = fault::faults(facts, rates).into_iter().filter(is_left).collect();
        Ok(FaultTracer::with(facts, faults, as_built))
    }

    fn with(facts: &'f Facts<'m>, faults: Vec<Failure>, as_built: Harm) -> FaultTracer<'f, 'm> {
        let looks = step::looks(facts, &faults);
        FaultTracer { facts, faults, settings: setting::settings(facts), looks, as_built, known: None }
    }

    /// The harness.
    pub fn model(&self) -> &'m Model {
        self.facts.model
    }

    /// The settings that steps are chosen from.
    pub fn settings(&self) -> &[SetState] {
        &self.settings
    }

    /// The setting of a name, if steps are chosen from it.
    pub fn setting(&self, name: &str) -> Option<&SetState> {
        self.settings.iter().find(|setting| setting.name == name)
    }

    /// The state with every input at rest. It stands for observations that need no state.
    pub fn at_rest(&self) -> SetState {
        SetState { name: "at rest".to_string(), moves: Vec::new(), away: 0 }
    }

    /// Notes that a question has no certain answer in a state.
    ///
    /// # Errors
    /// A question that is none of this harness.
    pub fn skip(&self, skipped: &mut Skipped, ask: &str, state: &str) -> Result<(), WrongAnswer> {
        let words = probe::Words { model: self.facts.model, drain_limit: shown::drain_limit(self.facts) };
        let further =
            self.facts.model.wire_ids().flat_map(|wire| extra::at_wire(self.facts, wire)).map(Observable::Meter);
        let mut looks = self.looks.iter().copied().chain(further);
        let look = looks.find(|look| words.ask(*look) == ask).ok_or_else(|| WrongAnswer {
            what: format!("`{ask}` is no question about this harness"),
            hint: "write what an answer begins with, such as a pin or a screen".to_string(),
        })?;
        skipped.looks.push((look, state.to_string()));
        Ok(())
    }

    /// The faults that it knows.
    pub fn faults(&self) -> &[Failure] {
        &self.faults
    }

    /// What each screen shows, and whether each part with a promise works, in each of some settings, with a fault or
    /// without; `None` where the circuit does not settle. Promises are in the order of the model's.
    pub fn seen(&self, settings: &[SetState], fault: Option<&Failure>) -> Vec<Option<(Vec<ScreenSeen>, Vec<bool>)>> {
        let harm = fault.map_or_else(|| self.as_built.clone(), |fault| self.as_built.and(&fault.harm));
        let harm = shown::with_blown_fuses(self.facts, &harm, settings);
        let shown = shown::shown_in(self.facts, settings, &harm);
        let works = |all: Vec<WorksSeen>| all.into_iter().map(|works| works == WorksSeen::On).collect();
        shown.into_iter().map(|shown| shown.map(|shown| (shown.screens, works(shown.works)))).collect()
    }

    /// A sheet for every wrong picture of every screen in every setting: the first probes as a tree.
    /// Only the faults that sheets name are solved for it.
    pub fn sheets(&self) -> Vec<SymptomSheet> {
        let faults: Vec<Failure> = self.faults.iter().filter(|fault| sheets::names(fault)).cloned().collect();
        let looks = step::looks(self.facts, &faults);
        let dictionary = Dictionary::new(self.facts, &faults, self.settings.clone(), looks, self.as_built.clone());
        sheets::SheetMaker { facts: self.facts, faults: &faults, dictionary: &dictionary }.sheets()
    }

    /// What was solved; at the first question, it is solved now.
    fn take(&mut self) -> SolvedFaults<'f, 'm> {
        self.known.take().unwrap_or_else(|| SolvedFaults {
            dictionary: Dictionary::new(
                self.facts,
                &self.faults,
                self.settings.clone(),
                self.looks.clone(),
                self.as_built.clone(),
            ),
            meter: Meter::new(self.facts),
        })
    }

    /// What the observations say. What is skipped is not asked for.
    pub fn diagnose(&mut self, observations: &[Observation], skipped: &Skipped) -> Diagnosis {
        self.diagnose_by(observations, skipped, &|steps, groups| steps.choose(groups))
    }

    /// Whether an observation can be the complaint that a trace begins with.
    ///
    /// # Errors
    /// What is so without a fault, and what no single fault shows.
    pub fn complaint(&mut self, observation: &Observation) -> Result<(), WrongAnswer> {
        let mut known = self.take();
        let evidence = known.evidence(self.facts, std::slice::from_ref(observation));
        let setting = evidence[0].setting;
        let belief = Belief::of(&self.faults, &known.dictionary, &evidence, self.facts);
        let is_shown = (0..self.faults.len()).any(|fault| belief.explains(fault));
        let is_usual = is_usual(observation, known.dictionary.whole(setting));
        self.known = Some(known);
        let state = &observation.setting.name;
        match (is_usual, is_shown) {
            (true, _) => Err(WrongAnswer {
                what: format!("that is right when {state}: a harness without a fault does the same"),
                hint: "name the state in which it is wrong; `states` prints what is right in each".to_string(),
            }),
            (_, false) => Err(WrongAnswer {
                what: format!("no single fault shows that when {state}"),
                hint:
                    "look again in that state, with every other input at rest. If it is so, two things have failed, or \
                       the vehicle differs from the spec: give a second observation with it"
                        .to_string(),
            }),
            _ => Ok(()),
        }
    }

    /// The same where steps are chosen in another way.
    pub(crate) fn diagnose_by(
        &mut self,
        observations: &[Observation],
        skipped: &Skipped,
        choose: &ChooseStep,
    ) -> Diagnosis {
        let mut known = self.take();
        let evidence = known.evidence(self.facts, observations);
        let belief = Belief::of(&self.faults, &known.dictionary, &evidence, self.facts);
        known.dictionary.choose_sizes(self.facts, &belief.sizes());
        let diagnosis = self.judge(&known, &belief, &evidence, observations, skipped, choose);
        self.known = Some(known);
        diagnosis
    }

    fn judge(
        &self,
        known: &SolvedFaults,
        belief: &Belief,
        evidence: &[TraceEvidence],
        observations: &[Observation],
        skipped: &Skipped,
        choose: &ChooseStep,
    ) -> Diagnosis {
        let dictionary = &known.dictionary;
        let likely: Vec<usize> = (0..self.faults.len()).filter(|i| belief.of_fault(*i) > NEGLIGIBLE).collect();
        let mut steps = Steps {
            facts: self.facts,
            faults: &self.faults,
            dictionary,
            now: observations.last().map(|one| &one.setting),
            now_is_set: observations.len() > 1,
            likely: &likely,
            belief,
            skipped,
            observations,
            extra: &[],
        };
        let mut groups = steps.groups();
        let mut chosen = choose(&steps, &groups);
        let extra = self.extra(known, &groups, belief, chosen.as_ref(), evidence);
        if !extra.is_empty() {
            steps.extra = &extra;
            groups = steps.groups();
            chosen = choose(&steps, &groups);
        }
        let mut doubtful = belief.doubtful();
        let pairs = if doubtful.len() >= pairs::LEAST_DOUBTFUL {
            pairs::pairs(self.facts, &known.meter, &self.faults, evidence, belief, dictionary)
        } else {
            Vec::new()
        };
        let fits = |verdict: TraceVerdict| pairs.is_empty() && verdict != TraceVerdict::NothingFits;
        let mut is_seen = true;
        if fits(belief.verdict(&groups, true, &doubtful)) {
            chosen = mend::or_mend(&steps, &groups, chosen);
            let is_repair = chosen.as_ref().is_some_and(|chosen| matches!(chosen.look, Observable::Mended(_)));
            // What contradicts the suspect is looked at again before it is mended.
            if is_repair && let Some(again) = steps.doubted(&groups, evidence, &doubtful) {
                chosen = Some(again);
            }
            if let Some(look) = mend::to_see(&steps, &groups).filter(|_| is_repair || belief.is_sure(&groups)) {
                is_seen = false;
                chosen = Some(look);
            }
        }
        chosen = confirmed::to_confirm(&steps, &groups, evidence).or(chosen);
        let can_go_on = chosen.as_ref().is_some_and(|chosen| !matches!(chosen.look, Observable::Mended(_)));
        let in_vain = mend::was_in_vain(&steps, &groups);
        let verdict = match (confirmed::repaired(&steps, evidence), pairs.is_empty()) {
            (Some(mending), _) => {
                doubtful = belief.left_by(mending, &self.faults, evidence);
                if doubtful.is_empty() { TraceVerdict::Mended } else { TraceVerdict::MendedInPart }
            }
            (_, false) => TraceVerdict::NothingFits,
            (_, true) => match belief.verdict(&groups, can_go_on, &doubtful) {
                TraceVerdict::Found | TraceVerdict::AlmostCertain | TraceVerdict::Inseparable if in_vain => {
                    TraceVerdict::NothingFits
                }
                TraceVerdict::Found | TraceVerdict::AlmostCertain if !is_seen => TraceVerdict::Open,
                verdict => verdict,
            },
        };
        let is_mended = matches!(verdict, TraceVerdict::Mended | TraceVerdict::MendedInPart);
        let next = chosen.filter(|_| !is_mended).map(|chosen| steps.step(&groups, &chosen));
        let nothing_fits = verdict == TraceVerdict::NothingFits;
        Diagnosis {
            suspects: belief.suspects(&groups, &self.faults),
            verdict,
            next,
            doubtful,
            repeat: nothing_fits.then(|| belief.to_repeat()).flatten(),
            pairs,
        }
    }

    /// Further readings, where voltages no longer separate the few suspects that are left.
    fn extra(
        &self,
        known: &SolvedFaults,
        groups: &[SuspectGroup],
        belief: &Belief,
        chosen: Option<&Chosen>,
        evidence: &[TraceEvidence],
    ) -> Vec<extra::Extra> {
        let Some(complaint) = evidence.first() else { return Vec::new() };
        let mut suspects: Vec<usize> = groups.iter().flat_map(SuspectGroup::faults).collect();
        suspects.sort_by(|a, b| belief.of_fault(*b).total_cmp(&belief.of_fault(*a)).then(a.cmp(b)));
        let is_short = |fault: &&usize| !known.dictionary.harms[**fault].blown.is_empty();
        let of_shorts: f64 = suspects.iter().filter(is_short).map(|fault| belief.of_fault(*fault)).sum();
        let is_sure = belief.is_sure(groups);
        let mut all = Vec::new();
        let mut take = |some: &[usize], measures: &[Measure]| {
            all.extend(extra::solved(self.facts, &known.meter, &known.dictionary, some, complaint.setting, measures));
        };
        if of_shorts > LEAST_SHORTS && !is_sure {
            let some = &suspects[..suspects.len().min(extra::MOST_SHORTS)];
            take(some, &extra::behind_fuses(self.facts, &known.dictionary, some));
        }
        // What is almost certain may still be mended in several ways.
        let is_one_repair = is_sure && groups[0].has_one_repair(&self.faults);
        let has_gain = !is_sure && chosen.is_some_and(|chosen| chosen.gain >= SMALL_GAIN);
        if !has_gain && !is_one_repair && (suspects.len() <= extra::MOST_SUSPECTS || is_sure) {
            let some = &suspects[..suspects.len().min(extra::MOST_SUSPECTS)];
            take(some, &extra::at_wires(self.facts, &known.dictionary, some));
        }
        all
    }
}

impl SolvedFaults<'_, '_> {
    /// The observations with what each fault would show there.
    fn evidence<'o>(&mut self, facts: &Facts, observations: &'o [Observation]) -> Vec<TraceEvidence<'o>> {
        let mut all = Vec::new();
        let mut new_fuses = Vec::new();
        for observation in observations {
            let setting = self.dictionary.place(facts, &observation.setting);
            let measure = match observation.what {
                Answered::Meter(measure, _) => Some(measure),
                _ => None,
            };
            let values = measure.map(|measure| self.dictionary.measured(&self.meter, setting, measure).to_vec());
            let sized = self.dictionary.solve_sizes(facts, &self.meter, setting, measure);
            let blows = match observation.what {
                Answered::NewFuse(fuse, true) if observation.has_state => {
                    let blows = |harm: &Harm| {
                        shown::blows_first(facts, harm, fuse, &observation.setting, &self.dictionary.settings)
                    };
                    threads::each(&self.dictionary.harms, blows)
                }
                _ => Vec::new(),
            };
            all.push(TraceEvidence {
                observation,
                setting,
                values: values.unwrap_or_default(),
                sized,
                blows,
                new_fuses: new_fuses.clone(),
            });
            new_fuses.extend(renewed::fuse_of(observation));
        }
        self.dictionary.renew(&new_fuses);
        all
    }
}
