//! `check`: findings of one spec or of many.

mod many;
mod one;
mod watch;

use super::{UNUSABLE, code, complain, disk, fail, print, style_for};
use check::Report;
use clap::{Args, ValueEnum};
use diagnostic::Style;
use files::PIPE;
use form::Texts;
use one::Checked;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `check`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright check van.yaml
  loomwright check van.yaml --long           the line, values and current path of each finding
  loomwright check van.yaml --watch          again whenever the spec is saved
  loomwright check jobs/ --format sarif      every spec in a folder, one log
  my-generator | loomwright check -          a spec from a pipe

Exit status: 0 without errors; 1 with findings of severity error, or with states that could not be solved; 2 if a spec can't
be read.")]
pub struct Arguments {
    /// The specs: files, folders with specs, or - for standard input.
    #[arg(required = true, value_name = "SPEC")]
    specs: Vec<PathBuf>,
    /// How findings are printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Print the line, the values and the path of the current of each finding.
    #[arg(long)]
    long: bool,
    /// Also print what follows from each finding, and in full the notes that nearly every harness has.
    #[arg(long)]
    full: bool,
    /// Check again whenever a spec or a parts file is saved, and print what changed.
    #[arg(long)]
    watch: bool,
}

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

/// How much of each finding is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Detail {
    Brief,
    Long,
    Full,
}

/// Exit status where there are findings of severity error, or states that could not be solved.
const FOUND: u8 = 1;

/// A file larger than this is no spec, in bytes.
const LARGEST: usize = 1 << 24;

/// Checks specs and prints what was found.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(checked(arguments))
}

fn checked(arguments: &Arguments) -> Result<(), ExitCode> {
    let detail = match (arguments.full, arguments.long) {
        (true, _) => Detail::Full,
        (false, true) => Detail::Long,
        (false, false) => Detail::Brief,
    };
    let specs = specs(&arguments.specs)?;
    if arguments.watch {
        if specs.iter().any(|spec| spec == Path::new(PIPE)) || arguments.format != Format::Text {
            return Err(fail("--watch needs the path of a file or a folder, and prints text only"));
        }
        watch::watch(&specs, detail);
    }
    match &specs[..] {
        [one] if !files::is_folder(&arguments.specs[0]) => one::run(one, arguments.format, detail),
        _ => many::run(&specs, arguments.format, detail),
    }
}

/// The files that the arguments mean.
fn specs(named: &[PathBuf]) -> Result<Vec<PathBuf>, ExitCode> {
    let mut specs = Vec::new();
    for path in named {
        if !files::is_folder(path) {
            specs.push(path.clone());
            continue;
        }
        let inside = files::below(path, &[".yaml", ".yml"])
            .map_err(|(path, e)| fail(&format!("{}: the folder can't be read: {e}", path.display())))?;
        let before = specs.len();
        specs.extend(inside.into_iter().filter(|path| is_spec(path)));
        if specs.len() == before {
            let message =
                "there is no spec in this folder\n  why: a spec is a .yaml file that starts with `harness: 1`";
            return Err(fail(&format!("{}: {message}", path.display())));
        }
    }
    Ok(specs)
}

/// Whether a file of a folder is a spec; parts files and other YAML files are not.
fn is_spec(path: &Path) -> bool {
    disk().contents(path, LARGEST).is_ok_and(|bytes| spec::is_spec(&String::from_utf8_lossy(&bytes)))
}

/// Findings go to standard output, so that is where a terminal counts.
fn found_style() -> Style {
    style_for(std::io::stdout().is_terminal())
}

/// The exit status for a report.
fn status(report: &Report) -> u8 {
    if report.passes() { 0 } else { FOUND }
}
