//! How long a trace takes: `cargo bench --bench trace`. The dictionary of faults, each fault solved in each setting, beside
//! ngspice on as many operating points of the same circuit; the next step; the whole process and its memory. The demos, and
//! sound harnesses made up with more and more wires.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use circuit::Corner;
use circuit::netlist::netlist;
use facts::Facts;
use form::TextMap;
use job::Job;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use trace::{FaultTracer, Observation, Rates, Skipped};

/// Operating points that ngspice solves in one run.
const POINTS: u32 = 200;

fn main() {
    println!("             faults  settings  dictionary   per fault-state   ngspice     next step");
    for demo in ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("harness-specs/{demo}.yaml"));
        let job = Job::read(&files::Disk::default(), &path).unwrap_or_else(|_| panic!("{demo} is read"));
        row(demo, &job);
    }
    for wires in [50, 100, 200, 400] {
        let texts = TextMap::new([("made-up.yaml", made_up::spec(3, wires).as_str())]);
        let job = Job::read(&texts, Path::new("made-up.yaml")).unwrap_or_else(|_| panic!("{wires} wires are read"));
        row(&format!("{wires} wires made up"), &job);
    }
    println!("most memory of this process: {} MB", memory().unwrap_or_default() / 1000);
}

fn row<'j>(name: &str, job: &'j Job<'j>) {
    let Ok(facts) = job.facts() else { return };
    // What was solved before a trace begins does not count.
    facts.table();
    let start = Instant::now();
    let mut tracer = FaultTracer::new(facts, &Rates::typical());
    tracer.diagnose(&[], &Skipped::default());
    let dictionary = start.elapsed();
    let (faults, settings) = (tracer.faults().len(), tracer.settings().len());
    let each = dictionary.as_secs_f64() * 1e6 / (faults * settings).max(1) as f64;
    let step =
        next_step(&mut tracer, facts).map_or("-".to_string(), |took| format!("{:.0} ms", took.as_secs_f64() * 1e3));
    let ngspice = ngspice(facts).map_or("-".to_string(), |took| format!("{:.0} µs", took.as_secs_f64() * 1e6));
    println!(
        "{faults:>19} {settings:>9} {:>8.0} ms {each:>14.0} µs {ngspice:>10} {step:>12}   {name}",
        dictionary.as_secs_f64() * 1e3
    );
}

/// The longest of the first steps of a trace that begins with a wrong picture; each measured pin reads nothing.
fn next_step(tracer: &mut FaultTracer, facts: &Facts) -> Option<Duration> {
    let screen = facts.model.screens.first()?.name.to_string();
    let setting = tracer.settings().iter().find(|setting| setting.name != "at rest")?.clone();
    let mut observations = vec![Observation::seen(facts, &format!("{screen} black"), setting).ok()?];
    let mut longest = Duration::ZERO;
    for _ in 0..4 {
        let start = Instant::now();
        let diagnosis = tracer.diagnose(&observations, &Skipped::default());
        longest = longest.max(start.elapsed());
        let next = diagnosis.next?;
        let setting = tracer.setting(&next.state).cloned().unwrap_or_else(|| tracer.at_rest());
        let read = Observation::read(facts, &format!("{} 0 V", next.ask), setting.clone());
        let seen = || Observation::seen(facts, &format!("{} {}", next.ask, next.answers[0].shows), setting);
        observations.push(read.or_else(|_| seen()).ok()?);
    }
    Some(longest)
}

/// What ngspice takes for one operating point of the circuit, its start-up not counted.
fn ngspice(facts: &Facts) -> Option<Duration> {
    let solvers = facts.solved.solvers();
    let circuit = solvers.circuit();
    let rest = solvers.settle(Corner::NOMINAL, &circuit::State::at_rest(circuit)).settled()?;
    let run = |points: u32| {
        let control = format!(".control\nrepeat {points}\nop\ndestroy all\nend\n.endc\n.end\n");
        let deck = netlist(circuit, &rest, "speed").replace(".op\n.end\n", &control);
        let file = std::env::temp_dir().join(format!("trace-{}.cir", std::process::id()));
        std::fs::write(&file, deck).ok()?;
        let start = Instant::now();
        Command::new("ngspice").arg("-b").arg(&file).output().ok()?;
        Some(start.elapsed())
    };
    Some(run(POINTS)?.saturating_sub(run(1)?) / (POINTS - 1))
}

/// Most memory that this process has had, in kilobytes.
fn memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find(|line| line.starts_with("VmHWM"))?.split_whitespace().nth(1)?.parse().ok()
}
