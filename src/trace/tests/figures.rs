//! Steps and minutes over many faults of a harness, ours beside the usual ways.

use super::usual::{ALL, Printed, Usual};
use super::*;

/// How the faults of a harness were traced in one way.
#[derive(Debug, Default)]
pub struct Figures {
    /// Suspects before the first step.
    pub suspects: usize,
    /// Traced faults that somebody notices.
    pub seen: usize,
    /// Steps for each, sorted.
    pub steps: Vec<usize>,
    /// Those of all traces that repeated one.
    pub again: usize,
    /// Bits that were not known after the complaint, of all traces.
    pub bits: f64,
    /// Minutes for each, sorted.
    pub minutes: Vec<f64>,
    /// The faults with their steps, in words.
    pub each: Vec<(usize, String)>,
    /// What was not found, in words.
    pub lost: Vec<String>,
    /// Those where another fault was named as found or almost certain, at the end or on the way.
    pub falsely_sure: usize,
    /// Those of them where it was named as found.
    pub falsely_found: usize,
    /// In words.
    pub lost_way: Vec<String>,
}

/// Who answers, and how well.
#[derive(Debug, Clone, Copy, Default)]
pub struct Answers {
    /// Whether ngspice answers in place of our own engine.
    pub by_spice: bool,
    /// Whether one answer in ten is wrong, at random places that are the same in each run.
    pub some_wrong: bool,
}

impl Figures {
    /// Traces about `most` faults of a demonstration.
    pub fn of_demo(name: &str, most: usize, answers: Answers) -> Figures {
        Figures::of(name, &sample::demo(name), most, answers, &[Usual::Ours]).remove(0)
    }

    /// The same for a model, in several ways.
    pub fn of(name: &str, model: &Model, most: usize, answers: Answers, ways: &[Usual]) -> Vec<Figures> {
        let solved = Solved::new(model);
        let facts = Facts::new(&solved);
        let mut tracer = FaultTracer::new(&facts, &Rates::typical());
        let printed = Printed::new(&facts);
        // What comes and goes is not judged together with wrong answers: both look alike.
        let lasts = |fault: &&Failure| !answers.some_wrong || !fault.harm.comes_and_goes;
        let every = (tracer.faults().len() / most).max(1);
        let faults: Vec<Failure> = tracer.faults().iter().filter(lasts).step_by(every).cloned().collect();
        let mut all = Vec::new();
        for way in ways {
            let mut figures = Figures { suspects: tracer.faults().len(), ..Figures::default() };
            for (at, fault) in faults.iter().enumerate() {
                let wrong = answers.some_wrong.then_some(at);
                if let Some(traced) = traced(&mut tracer, fault, wrong, answers.by_spice, *way, &printed) {
                    figures.add(name, fault, &traced);
                }
            }
            figures.steps.sort_unstable();
            figures.minutes.sort_by(f64::total_cmp);
            figures.print(name, *way);
            all.push(figures);
        }
        all
    }

    fn add(&mut self, name: &str, fault: &Failure, traced: &Traced) {
        self.seen += 1;
        self.steps.push(traced.steps);
        self.each.push((traced.steps, format!("{:.0} min, {} again: {}", traced.minutes, traced.again, fault.words)));
        self.again += traced.again;
        self.bits += traced.bits;
        self.minutes.push(traced.minutes);
        if !traced.found {
            let Traced { verdict, first, steps, .. } = traced;
            self.lost.push(format!("{name}: {} ended as {verdict:?}: {first} after {steps} steps", fault.words));
        }
        if traced.falsely_sure {
            self.falsely_sure += 1;
            self.falsely_found += usize::from(traced.falsely_found);
            self.lost_way.push(format!("{name}: {}", fault.words));
        }
    }

    pub fn mean(&self) -> f64 {
        self.steps.iter().sum::<usize>() as f64 / self.seen.max(1) as f64
    }

    pub fn mean_minutes(&self) -> f64 {
        self.minutes.iter().sum::<f64>() / self.seen.max(1) as f64
    }

    /// One line for a report.
    #[expect(clippy::disallowed_macros, reason = "figures for whoever runs the test")]
    fn print(&self, name: &str, way: Usual) {
        let place = |share: f64| ((self.seen as f64 * share) as usize).min(self.seen.saturating_sub(1));
        let steps = |share: f64| self.steps.get(place(share)).copied().unwrap_or_default();
        let minutes = |share: f64| self.minutes.get(place(share)).copied().unwrap_or_default();
        eprintln!(
            "{name:24} {:17} {:3} seen {:2} lost {:2} falsely sure, {} found | steps {:5.2} {:3} {:3}, again {:4.2} | min {:5.1} {:5.1} {:5.1} | log2 {:.1}, {:.1} bits",
            format!("{way:?}"),
            self.seen,
            self.lost.len(),
            self.falsely_sure,
            self.falsely_found,
            self.mean(),
            steps(0.9),
            steps(1.0),
            self.again as f64 / self.seen.max(1) as f64,
            self.mean_minutes(),
            minutes(0.9),
            minutes(1.0),
            (self.suspects as f64).log2(),
            self.bits / self.seen.max(1) as f64,
        );
    }

    /// Twice the fewest yes-or-no questions that distinguish the suspects.
    pub fn assert_few_steps(&self) {
        let fewest = (self.suspects as f64).log2();
        assert!(self.mean() <= 2.0 * fewest && self.mean_minutes() < 60.0, "{fewest:.1} {self:?}");
    }
}

/// Prints the figures of the demonstrations and of generated harnesses that HARNESSES names (`truck,good:0-9`), for about
/// FAULTS faults of each.
#[test]
#[ignore = "prints figures"]
#[expect(clippy::disallowed_methods, reason = "whoever runs the test chooses what is printed")]
fn figures() {
    let variable = |name: &str, otherwise: &str| std::env::var(name).unwrap_or_else(|_| otherwise.to_string());
    let most: usize = variable("FAULTS", "40").parse().unwrap();
    let answers = Answers { some_wrong: variable("WRONG", "") == "1", by_spice: variable("SPICE", "") == "1" };
    let ways: Vec<Usual> = match variable("WAYS", "all").as_str() {
        "ours" => vec![Usual::Ours],
        _ => ALL.to_vec(),
    };
    for name in variable("HARNESSES", "first-harness,boat-tow-pickup,orchard-sprayer-pickup").split(',') {
        match name.strip_prefix("good:").and_then(|range| range.split_once('-')) {
            Some((from, to)) => {
                for seed in from.parse().unwrap()..=to.parse().unwrap() {
                    let name = format!("good {seed}");
                    let model = sample::of_text(&name, &good::spec(seed)).unwrap();
                    Figures::of(&name, &model, most, answers, &ways).iter().for_each(report);
                }
            }
            None => Figures::of(name, &sample::demo(name), most, answers, &ways).iter().for_each(report),
        }
    }
}

#[expect(clippy::disallowed_macros, reason = "figures for whoever runs the test")]
fn report(figures: &Figures) {
    figures.lost.iter().for_each(|line| eprintln!("    {line}"));
    figures.lost_way.iter().for_each(|line| eprintln!("    falsely sure: {line}"));
    let mut longest = figures.each.clone();
    longest.sort_by(|a, b| b.cmp(a));
    longest.iter().take(6).for_each(|(steps, words)| eprintln!("    {steps} steps, {words}"));
}
