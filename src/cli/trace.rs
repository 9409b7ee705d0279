//! `trace`: from a symptom and readings to the fault.

use super::{Format, UNUSABLE, code, complain, disk, fail, load, print, stopped};
use ::trace::{FaultTracer, Observation, Rates, SetState, WrongAnswer, pin_named, text};
use clap::Args;
use facts::Facts;
use form::Texts;
use job::Job;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `trace`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright trace van.yaml --seen 'dash black when key run, left'
  loomwright trace van.yaml --seen 'dash black when key run, left' --read 'K1.86 11.9 V when key run, left'
  loomwright trace van.yaml --seen 'dash LEFT when reverse' --cannot X2.3 --format json

STATE is a state as `states` names it; inputs that are not named stay at rest, except those that the named ones need.
A screen shows black (or no picture), home, disturbed, or a source by its name. `L1 off when STATE` says that a lamp or
another part does not work, `F2 blown` that a fuse is open. Volts are between the pin and the battery's negative.
Each call needs all observations so far; the answer names the next step.

The rates of faults are typical; --rates replaces them by a CSV file with the heading fault,rate.

Exit status: 0 if one suspect is almost certain, 1 if several remain, 2 if something can't be understood.")]
pub struct Arguments {
    /// The spec of the harness that is in the vehicle.
    spec: PathBuf,
    /// An observation: 'SCREEN PICTURE when STATE', 'LAMP off when STATE', 'FUSE blown'. The first is the complaint.
    #[arg(long, value_name = "TEXT")]
    seen: Vec<String>,
    /// What a meter reads: 'PIN VOLTS when STATE'. May be given several times.
    #[arg(long, value_name = "TEXT")]
    read: Vec<String>,
    /// Pins that can't be reached, such as X2.3.
    #[arg(long, value_name = "PIN", value_delimiter = ',')]
    cannot: Vec<String>,
    /// Rates of faults of your own shop, as CSV.
    #[arg(long, value_name = "FILE")]
    rates: Option<PathBuf>,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// A file of rates is not larger than this.
const MOST_BYTES: usize = 100_000;

/// Exit status while several suspects remain.
const OPEN: u8 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(traced(arguments))
}

fn traced(arguments: &Arguments) -> Result<(), ExitCode> {
    let rates = rates(arguments.rates.as_deref())?;
    let job = load(&arguments.spec)?;
    let facts = job.facts().map_err(stopped)?;
    let mut observations = Vec::new();
    for given in &arguments.seen {
        let (what, setting) = parted(&job, facts, given)?;
        observations.push(Observation::seen(facts, what, setting).map_err(|wrong| told(&wrong))?);
    }
    for given in &arguments.read {
        let (what, setting) = parted(&job, facts, given)?;
        observations.push(Observation::read(facts, what, setting).map_err(|wrong| told(&wrong))?);
    }
    let pin = |name: &String| pin_named(facts, name).map_err(|wrong| told(&wrong));
    let unreachable = arguments.cannot.iter().map(pin).collect::<Result<Vec<_>, _>>()?;
    let diagnosis = FaultTracer::new(facts, &rates).diagnose(&observations, &unreachable);
    print(&match arguments.format {
        Format::Text => text(&diagnosis),
        Format::Json => json(&diagnosis)?,
    });
    match diagnosis.verdict {
        ::trace::TraceVerdict::Found => Ok(()),
        _ => Err(ExitCode::from(OPEN)),
    }
}

/// What was seen or read, and the setting after `when`.
fn parted<'j, 't>(job: &'j Job<'j>, facts: &Facts, text: &'t str) -> Result<(&'t str, SetState), ExitCode> {
    let is_fuse = text.ends_with(" blown") || text.ends_with(" whole");
    let (what, state) = text.split_once(" when ").or(is_fuse.then_some((text, "at rest"))).ok_or_else(|| {
        fail(&format!(
            "`{text}` does not say in which state\n  do: add `when` and the state, such as `when key run, reverse`"
        ))
    })?;
    let asked = job.state(state).map_err(stopped)?;
    let setting = SetState::of(facts, &asked.name, &asked.solution.state).ok_or_else(|| {
        fail(&format!(
            "`{state}` is not reached by moving inputs and waiting\n  do: name another state; `states` lists them"
        ))
    })?;
    Ok((what, setting))
}

fn told(wrong: &WrongAnswer) -> ExitCode {
    complain(&format!("error: {}\n  do: {}\n", wrong.what, wrong.hint));
    ExitCode::from(UNUSABLE)
}

fn rates(path: Option<&std::path::Path>) -> Result<Rates, ExitCode> {
    let Some(path) = path else { return Ok(Rates::typical()) };
    let bytes = disk().contents(path, MOST_BYTES).map_err(|why| fail(&format!("{}: {why}", path.display())))?;
    let text = String::from_utf8_lossy(&bytes);
    Rates::read(&text).map_err(|wrong| fail(&format!("{}:{}: {}", path.display(), wrong.line, wrong.why)))
}

/// Version of the JSON form.
const VERSION: u32 = 1;

fn json(diagnosis: &::trace::Diagnosis) -> Result<String, ExitCode> {
    let mut whole = serde_json::to_value(diagnosis).map_err(|e| fail(&e.to_string()))?;
    whole["version"] = VERSION.into();
    let text = serde_json::to_string_pretty(&whole).map_err(|e| fail(&e.to_string()))?;
    Ok(format!("{text}\n"))
}
