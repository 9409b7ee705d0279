//! `plan`: from a wish to a spec.

use crate::{UNUSABLE, catalogue, complain, disk, print, save, style};
use clap::Args;
use plan::{Refusal, Unplanned};
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `plan`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright plan wish.yaml                  the complete spec, to read
  loomwright plan wish.yaml --out van.yaml   into a file, ready for check and build

Exit status: 0 with a proposal; 1 if lines of the wish conflict, or if plan can't do what it needs; 2 if the wish can't be
read. Nothing is written unless `check` passes the proposal without errors and warnings.")]
pub struct Arguments {
    /// The wish: a spec without wires, with its views.
    wish: PathBuf,
    /// Write the spec into this file instead of printing it.
    #[arg(long, value_name = "SPEC")]
    out: Option<PathBuf>,
}

/// Exit status for a wish that gets no proposal.
const REFUSED: u8 = 1;

/// Plans a wish.
pub fn run(arguments: &Arguments) -> ExitCode {
    crate::code(planned(arguments))
}

fn planned(arguments: &Arguments) -> Result<(), ExitCode> {
    let proposal = plan::plan(&disk(), &arguments.wish, &catalogue()?).map_err(|why| refused(&why))?;
    let figures = format!(
        "{} parts ({} relays for logic), {} wires, {} splices; check: no errors, {}, {} notes in {} states\n",
        proposal.parts,
        proposal.relays,
        proposal.wires,
        proposal.splices,
        warnings_of(&proposal),
        proposal.notes,
        proposal.states
    );
    let warnings: String = proposal.warnings.iter().map(|w| format!("warning that the wish causes: {w}\n")).collect();
    let figures = figures + &warnings;
    match &arguments.out {
        Some(path) => {
            save(path, proposal.text.as_bytes())?;
            print(&figures);
        }
        None => {
            print(&proposal.text);
            complain(&figures);
        }
    }
    Ok(())
}

fn warnings_of(proposal: &plan::Proposal) -> String {
    match proposal.warnings.len() {
        0 => "no warnings".to_string(),
        1 => "1 warning".to_string(),
        n => format!("{n} warnings"),
    }
}

/// Prints why there is no proposal, and gives the exit status for it.
fn refused(why: &Unplanned) -> ExitCode {
    let (sources, refusal) = match why {
        Unplanned::Unreadable(unreadable) => {
            complain(&diagnostic::problems(&unreadable.sources, &unreadable.problems, style()));
            return ExitCode::from(UNUSABLE);
        }
        Unplanned::Refused(sources, refusal) => (sources, refusal),
    };
    match refusal {
        Refusal::Conflict(problems) => complain(&diagnostic::problems(sources, problems, style())),
        Refusal::Beyond(problems) | Refusal::Unproved { problems, .. } => {
            let unplanned = |problem: &form::Problem| {
                let message = format!("cannot be planned: {}", problem.message);
                form::Problem { message, ..problem.clone() }
            };
            let problems: Vec<form::Problem> = problems.iter().map(unplanned).collect();
            complain(&diagnostic::problems(sources, &problems, style()));
        }
        Refusal::Interrupted => complain("error: interrupted\n"),
    }
    ExitCode::from(REFUSED)
}
