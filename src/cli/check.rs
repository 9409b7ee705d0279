//! `check`: every finding about a spec.

use super::{load, print, stopped};
use clap::ValueEnum;
use diagnostic::Style;
use std::io::IsTerminal;
use std::path::Path;
use std::process::ExitCode;

/// How findings are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// For editors and continuous integration: SARIF 2.1.0.
    Sarif,
}

/// Exit status where there are findings of severity error, or states that could not be solved.
const FOUND: u8 = 1;

/// Checks a spec and prints what was found.
pub fn run(spec: &Path, format: Format, full: bool) -> ExitCode {
    checked(spec, format, full).unwrap_or_else(|code| code)
}

fn checked(spec: &Path, format: Format, full: bool) -> Result<ExitCode, ExitCode> {
    let job = load(spec)?;
    let report = job.report().map_err(stopped)?;
    let model = job.model().map_err(stopped)?;
    print(&match format {
        Format::Text if full => check::text_in_full(model, report, style()),
        Format::Text => check::text(model, report, style()),
        Format::Json => check::json(model, report),
        Format::Sarif => check::sarif(model, report),
    });
    Ok(if report.passes() { ExitCode::SUCCESS } else { ExitCode::from(FOUND) })
}

/// Findings go to standard output, so that is where a terminal counts.
fn style() -> Style {
    let plain = std::env::var_os("NO_COLOR").is_some() || !std::io::stdout().is_terminal();
    if plain { Style::Plain } else { Style::Colour }
}
