//! `bench`: judges the results of a bench test.

use super::{Format, code, load, print, stopped, text_file, unusable_list, versioned_json};
use book::bench::BenchSuspect;
use book::bench::judge::{BenchJudgement, judge};
use book::bench::judgement_words::words;
use book::bench::{results, suspects};
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `bench`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright bench van.yaml out/van/bench-test.csv      the list of `build`, its column `Read` filled in
  loomwright bench van.yaml van-record.json             a record that the build book saved
  loomwright bench van.yaml results.csv --format json

A reading is a number with or without a unit (`12.4`, `950 mA`), `open`, `joined`, what a screen shows, `ok` or `no`. A step that fails
is printed with what it means and where to look; then come the faults of the build that explain all results, simulated.

Exit status: 0 if every step passes, 1 if a step fails or is missing, 2 if a file can't be used.")]
pub struct Arguments {
    /// The spec of the harness.
    spec: PathBuf,
    /// The results: CSV, or a record of the build book.
    results: PathBuf,
    /// How the judgement is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Exit status when a step fails or is missing.
const NOT_PASSED: u8 = 1;
/// Largest file of results, bytes.
const MOST_BYTES: usize = 16 << 20;
/// Version of the JSON form.
const VERSION: u32 = 1;

/// The JSON form.
#[derive(Serialize)]
struct Printed<'j> {
    #[serde(flatten)]
    judgement: &'j BenchJudgement,
    suspects: &'j [BenchSuspect],
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(judged(arguments))
}

fn judged(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?;
    let book = job.book().map_err(stopped)?;
    let text = text_file(&arguments.results, MOST_BYTES)?;
    let found = results::read(&text, &book.bench, &book.job.heading())
        .map_err(|wrong| unusable_list(&arguments.results, wrong.line, &wrong.what, &wrong.hint))?;
    let judgement = judge(&book.bench, |number| found.get(number).cloned().unwrap_or_default());
    let suspects = suspects(job.facts().map_err(stopped)?, &book.bench, &judgement);
    print(&match arguments.format {
        Format::Text => words(&judgement, &suspects),
        Format::Json => versioned_json(&Printed { judgement: &judgement, suspects: &suspects }, VERSION)?,
    });
    if judgement.is_passed() { Ok(()) } else { Err(ExitCode::from(NOT_PASSED)) }
}
