//! `compare`: the rework between two revisions, and what changes in behaviour.

use super::{Format, code, fail, load, print, save, stopped, versioned_json};
use ::compare::{Revision, compare, page, text};
use clap::Args;
use job::Job;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `compare`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright compare van-a.yaml van-b.yaml                       rework, behaviour, findings
  loomwright compare van-a.yaml van-b.yaml --out rework.html     a page to tick off, both diagrams with the changes marked
  loomwright compare van-a.yaml van-b.yaml --format json

A part or wire that only has another name is renamed. Behaviour is compared state by state at nominal supply, copper at 20 °C.

Exit status: 0 if nothing differs, 1 if something differs, 2 if a spec can't be read.")]
pub struct Arguments {
    /// The spec of the harness as it is.
    old: PathBuf,
    /// The spec of the harness as it should be.
    new: PathBuf,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Write a page with both connection diagrams into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Exit status when something differs.
const DIFFERS: u8 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(compared(arguments))
}

fn compared(arguments: &Arguments) -> Result<(), ExitCode> {
    let (old, new) = (load(&arguments.old)?, load(&arguments.new)?);
    let (old, new) = (revision(&old)?, revision(&new)?);
    let comparison = compare(old, new);
    print(&match arguments.format {
        Format::Text => text(&comparison),
        Format::Json => versioned_json(&serde_json::json!({ "comparison": comparison }), VERSION)?,
    });
    if let Some(path) = &arguments.out {
        let page = page(&comparison, old, new).map_err(|why| fail(&why))?;
        save(path, page.as_bytes())?;
    }
    if comparison.is_empty() { Ok(()) } else { Err(ExitCode::from(DIFFERS)) }
}

fn revision<'j>(job: &'j Job<'j>) -> Result<Revision<'j, 'j>, ExitCode> {
    Ok(Revision { facts: job.facts().map_err(stopped)?, report: job.report().map_err(stopped)? })
}

/// Version of the JSON form.
const VERSION: u32 = 1;
