//! Every fault of the demonstrations is traced: an oracle with the fault in place answers, from a circuit of its own.

use super::fault::Failure;
use super::seen::Answered;
use super::setting::SetState;
use super::simulate::{Effect, Shown};
use super::*;
use engine::Solvers;
use model::{ElementKind, ScreenId};
use quantity::Volts;
use states::{Solved, Walk};

/// Steps after which a trace has failed.
const MOST_STEPS: usize = 40;

/// A vehicle with a fault.
struct Oracle<'t, 'f, 'm> {
    tracer: &'t FaultTracer<'f, 'm>,
    effect: Effect,
    solvers: Solvers,
}

impl<'t, 'f, 'm> Oracle<'t, 'f, 'm> {
    fn new(tracer: &'t FaultTracer<'f, 'm>, fault: &Failure) -> Self {
        let effect = simulate::effect(tracer.facts, fault, &tracer.settings);
        // The changed circuit itself, with an elimination plan of its own.
        let circuit = tracer.facts.solved.assembly.circuit.with(&effect.variant);
        Oracle { tracer, effect, solvers: Solvers::new(circuit) }
    }

    /// What a meter reads.
    fn volts(&self, setting: &SetState, pin: model::PinId) -> Option<Volts> {
        let facts = self.tracer.facts;
        let mut walk = Walk::new(&self.solvers);
        let mut at = walk.rest()?;
        for step in &setting.moves {
            at = match step {
                explore::Move::Elapsed(timer) if !at.state.pending(self.solvers.circuit()).contains(timer) => at,
                _ => walk.step(&at.state, *step)?,
            };
        }
        let at = walk.wait(at)?;
        Some(facts.solved.assembly.mean(&at, pin))
    }

    fn shown(&self, setting: &SetState) -> Option<Shown> {
        simulate::shown(self.tracer.facts, setting, &self.effect)
    }

    /// The answer to a step; `None` where the circuit does not settle.
    fn answer(&self, step: &NextStep) -> Option<Observation> {
        let facts = self.tracer.facts;
        let model = facts.model;
        let setting = self.tracer.settings.iter().find(|one| one.name == step.state).unwrap().clone();
        let shown = self.shown(&setting)?;
        let what = match &step.probe {
            Probe::Screen(name) => {
                let at = model.screens.iter().position(|screen| screen.name.as_str() == name).unwrap();
                Answered::Screen(ScreenId(at), shown.screens[at])
            }
            Probe::Part(name) => {
                let part = model.part_named(name).unwrap();
                let at = model.works.iter().position(|promise| promise.part == part).unwrap();
                Answered::Works(at, shown.works[at])
            }
            Probe::Fuse(name) => {
                let part = model.part_named(name).unwrap();
                let is_fuse = |id: &&model::ElementId| matches!(model.element(**id).kind, ElementKind::Fuse { .. });
                let fuse = *model.part(part).elements.iter().find(is_fuse).unwrap();
                Answered::Fuse(fuse, self.effect.blown.contains(&fuse))
            }
            Probe::Pin { pin, .. } => {
                let pin = pin_named(facts, pin).unwrap();
                Answered::Volts(pin, self.volts(&setting, pin)?)
            }
        };
        Some(Observation { setting, what })
    }
}

/// What a fault changes that somebody sees, in the simplest setting.
fn complaint(tracer: &FaultTracer, oracle: &Oracle) -> Option<Observation> {
    for setting in &tracer.settings {
        let whole = simulate::shown(tracer.facts, setting, &Effect::default())?;
        let Some(faulty) = oracle.shown(setting) else { continue };
        let screen = (0..whole.screens.len()).find(|i| whole.screens[*i] != faulty.screens[*i]);
        if let Some(i) = screen {
            let what = Answered::Screen(ScreenId(i), faulty.screens[i]);
            return Some(Observation { setting: setting.clone(), what });
        }
        if let Some(i) = (0..whole.works.len()).find(|i| whole.works[*i] != faulty.works[*i]) {
            return Some(Observation { setting: setting.clone(), what: Answered::Works(i, faulty.works[i]) });
        }
    }
    None
}

/// How a trace ended: whether the fault is in the first suspect, with steps and minutes.
struct Traced {
    found: bool,
    steps: usize,
    minutes: f64,
    verdict: TraceVerdict,
    first: String,
}

/// Traces a fault; every `wrong`th answer is turned into another.
fn traced(tracer: &FaultTracer, fault: &Failure, wrong: Option<usize>) -> Option<Traced> {
    let oracle = Oracle::new(tracer, fault);
    let mut observations = vec![complaint(tracer, &oracle)?];
    let (mut unreachable, mut minutes, mut steps) = (Vec::new(), 0.0, 0);
    loop {
        let diagnosis = tracer.diagnose(&observations, &unreachable);
        let next = diagnosis
            .next
            .clone()
            .filter(|_| diagnosis.verdict == TraceVerdict::Open || diagnosis.verdict == TraceVerdict::NothingFits);
        let Some(next) = next.filter(|_| steps < MOST_STEPS) else {
            let first = diagnosis.suspects.first()?;
            return Some(Traced {
                found: first.faults.contains(&fault.words),
                steps,
                minutes,
                verdict: diagnosis.verdict,
                first: first.faults[0].clone(),
            });
        };
        steps += 1;
        minutes += next.minutes;
        match oracle.answer(&next) {
            Some(mut answer) => {
                if wrong.is_some_and(|n| steps % n == n / 2) {
                    answer.what = mistaken(answer.what);
                }
                observations.push(answer);
            }
            // What comes and goes can't be read: look elsewhere.
            None => match &next.probe {
                Probe::Pin { pin, .. } => unreachable.push(pin_named(tracer.facts, pin).unwrap()),
                _ => return None,
            },
        }
    }
}

/// A wrong answer.
fn mistaken(what: Answered) -> Answered {
    match what {
        Answered::Screen(screen, ScreenSeen::Nothing) => Answered::Screen(screen, ScreenSeen::Home),
        Answered::Screen(screen, _) => Answered::Screen(screen, ScreenSeen::Nothing),
        Answered::Works(promise, on) => Answered::Works(promise, !on),
        Answered::Fuse(fuse, blown) => Answered::Fuse(fuse, !blown),
        Answered::Volts(pin, volts) if volts.value() > 3.0 => Answered::Volts(pin, Volts::new(0.0)),
        Answered::Volts(pin, _) => Answered::Volts(pin, Volts::new(12.0)),
    }
}

/// How the faults of a demonstration were traced.
#[derive(Debug)]
struct Figures {
    /// Faults that somebody notices.
    seen: usize,
    /// Steps for each, sorted.
    steps: Vec<usize>,
    /// Minutes on average.
    minutes: f64,
    /// What was not found, in words.
    lost: Vec<String>,
}

impl Figures {
    /// Traces every `every`th fault.
    fn of(name: &str, every: usize, wrong: Option<usize>) -> Figures {
        let model = sample::demo(name);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let tracer = FaultTracer::new(&facts, &Rates::typical());
        let faults: Vec<&Failure> = tracer.faults().iter().step_by(every).collect();
        let traces: Vec<(&Failure, Traced)> =
            faults.into_iter().filter_map(|fault| Some((fault, traced(&tracer, fault, wrong)?))).collect();
        let lost = |(fault, traced): &(&Failure, Traced)| {
            let Traced { verdict, first, steps, .. } = traced;
            let line = || format!("{name}: {} ended as {verdict:?}: {first} after {steps} steps", fault.words);
            (!traced.found).then(line)
        };
        let mut steps: Vec<usize> = traces.iter().map(|(_, traced)| traced.steps).collect();
        steps.sort_unstable();
        let minutes = traces.iter().map(|(_, traced)| traced.minutes).sum::<f64>() / traces.len().max(1) as f64;
        Figures { seen: traces.len(), steps, minutes, lost: traces.iter().filter_map(lost).collect() }
    }

    fn mean(&self) -> f64 {
        self.steps.iter().sum::<usize>() as f64 / self.steps.len().max(1) as f64
    }

    /// Twice the fewest yes-or-no questions that distinguish these faults.
    fn assert_few_steps(&self) {
        let fewest = (self.seen as f64).log2();
        assert!(self.mean() <= 2.0 * fewest && self.minutes < 60.0, "{fewest:.1} {self:?}");
    }
}

#[test]
fn every_fault_of_the_first_harness_that_shows_is_found() {
    let figures = Figures::of("first-harness", 1, None);
    assert!(figures.seen > 15 && figures.lost.is_empty(), "{figures:#?}");
    figures.assert_few_steps();
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn faults_of_larger_demonstrations_are_found() {
    for (name, every) in [("wheelchair-van", 6), ("orchard-sprayer-pickup", 6), ("boat-tow-pickup", 12)] {
        let figures = Figures::of(name, every, None);
        assert!(figures.seen > 8 && figures.lost.is_empty(), "{figures:#?}");
        figures.assert_few_steps();
    }
}

/// A shop's rates replace some of the built-in ones; a wrong line is named.
#[test]
fn rates_are_read_and_mistakes_are_named() {
    let own = Rates::read("fault,rate\nfuse-blown,0.5\n").unwrap();
    assert_ne!(own, Rates::typical());
    let wrong = Rates::read("fault,rate\n\nfuse-burnt,2\n").unwrap_err();
    assert!(wrong.line == 3 && wrong.why.contains("fuse-blown"), "{wrong:?}");
    assert_eq!(Rates::read("fault,rate\nfuse-blown,-1\n").unwrap_err().line, 2);
    assert!(Rates::read("fault,rate\nfuse-blown\n").unwrap_err().why.contains("fault,rate"));
}

/// One answer in ten is wrong: nine traces in ten still end at the fault.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_wrong_answer_in_ten_does_not_lead_astray() {
    let figures = Figures::of("wheelchair-van", 8, Some(10));
    assert!(figures.seen > 8 && figures.lost.len() * 10 <= figures.seen, "{figures:#?}");
}
