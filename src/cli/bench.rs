//! `bench`: judges the results of a bench test.

use super::{code, complain, disk, fail, load, print, stopped};
use book::bench::judge::{BenchJudgement, judge, words};
use book::bench::results;
use clap::{Args, ValueEnum};
use form::texts::Texts;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `bench`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright bench van.yaml out/van/bench-test.csv      the list of `build`, its column `Read` filled in
  loomwright bench van.yaml van-record.json             a record that the build book saved
  loomwright bench van.yaml results.csv --format json

A reading is a number with or without a unit (`12.4`, `950 mA`), `open`, `joined`, what a screen shows, `ok` or `no`. A step that fails
is printed with what it means and where to look.

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

/// How a judgement is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
}

/// Exit status when a step fails or is missing.
const NOT_PASSED: u8 = 1;
/// Exit status when a file can't be used.
const UNUSABLE: u8 = 2;
/// Largest file of results, bytes.
const MOST_BYTES: usize = 16 << 20;
/// Version of the JSON form.
const VERSION: u32 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(judged(arguments))
}

fn judged(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?;
    let book = job.book().map_err(stopped)?;
    let text = read(&arguments.results)?;
    let title = format!("{}, revision {}", book.job.title, book.job.revision);
    let found = results::read(&text, &book.bench, &title).map_err(|wrong| {
        let line = wrong.line.map_or_else(String::new, |line| format!(":{line}"));
        complain(&format!("error: {}{line}: {}\n  do: {}\n", arguments.results.display(), wrong.what, wrong.hint));
        ExitCode::from(UNUSABLE)
    })?;
    let judgement = judge(&book.bench, |number| found.get(number).cloned().unwrap_or_default());
    print(&match arguments.format {
        Format::Text => words(&judgement),
        Format::Json => json(&judgement)?,
    });
    if judgement.is_passed() { Ok(()) } else { Err(ExitCode::from(NOT_PASSED)) }
}

fn read(path: &Path) -> Result<String, ExitCode> {
    let bytes = disk().contents(path, MOST_BYTES).map_err(|why| fail(&format!("{}: {why}", path.display())))?;
    String::from_utf8(bytes).map_err(|_| fail(&format!("{}: it is not UTF-8 text", path.display())))
}

fn json(judgement: &BenchJudgement) -> Result<String, ExitCode> {
    let mut whole = serde_json::to_value(judgement).map_err(|e| fail(&e.to_string()))?;
    whole["version"] = VERSION.into();
    let text = serde_json::to_string_pretty(&whole).map_err(|e| fail(&e.to_string()))?;
    Ok(format!("{text}\n"))
}
