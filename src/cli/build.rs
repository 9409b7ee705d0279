//! `build`: every document of a job, in a folder of its own.

use super::{code, complain, fail, load, print, stopped};
use book::folder::folder;
use clap::Args;
use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `build`.
#[derive(Debug, Args)]
#[command(after_help = "\
Files: build-book.html (everything, to print or to read on a tablet), pin-list.csv, wire-list.csv, splices.csv,
parts.csv, labels.csv, bench-test.csv, states.csv, service-sheet.csv, signal-map.svg, state-chart.svg,
connection-diagram.svg, connector-faces.svg, harness-layout.svg, current-path-diagram.svg (-1, -2 and so on where a
drawing has several sheets), signal-graph.dot, job.json (everything, for programs).

With --state, connection-diagram-live.svg and current-path-diagram-live.svg as well (-1, -2 and so on): the currents in that
state, with voltages at the pins. Inputs that are not named stay at rest, except those that the named ones need.

The folder is out/<job>/, named after the job's title. The program replaces files of these names, each completely or not at
all, and leaves all other files alone. If the spec can't be read, it writes nothing.

In the CSV files an apostrophe precedes each cell that a spreadsheet could take for a formula (it begins with = + - or @),
including negative numbers.

Exit status: 0 without errors, 1 with findings of severity error (the documents are written, and the first page of the
book says so), 2 if the spec can't be read or a file can't be written.")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// Write into this folder instead of out/<job>/.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Also draw the currents in this state, as `states` names it: "key run, reverse", or "key run; K2 set".
    #[arg(long, value_name = "STATE")]
    state: Option<String>,
}

/// Exit status when there are findings of severity error.
const FINDINGS: u8 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(build(arguments))
}

fn build(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?;
    let live = arguments.state.as_deref().map(|text| job.live(text)).transpose().map_err(stopped)?;
    let documents = job.documents(live.as_ref()).map_err(stopped)?;
    let book = job.book().map_err(stopped)?;
    let folder = arguments.out.clone().unwrap_or_else(|| Path::new("out").join(folder(&book.job.title)));
    let all = documents.iter().map(|document| (document.name.as_str(), document.bytes.as_slice()));
    let written = files::write_into(&folder, all)
        .map_err(|(path, e)| fail(&format!("{}: {}", path.display(), unwritten(path == folder, &e))))?;
    written.iter().for_each(|path| print(&format!("wrote {}\n", path.display())));
    match book.findings.errors {
        0 => Ok(()),
        errors => {
            let counted = if errors == 1 { "1 error".to_string() } else { format!("{errors} errors") };
            complain(&format!(
                "error: {counted}: the build book says `Not fit to build as it stands`; for each with its way and what to \
                 do: loomwright check {}\n",
                arguments.spec.display()
            ));
            Err(ExitCode::from(FINDINGS))
        }
    }
}

/// Why a folder or a file can't be written, and what to do.
fn unwritten(folder: bool, e: &io::Error) -> String {
    let what = if folder { "the folder can't be made" } else { "it can't be written" };
    let (why, hint) = match e.kind() {
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            ("a file of that name is in the way", "name another folder with --out, or move that file away")
        }
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            ("writing there is not allowed", "name a folder of your own with --out")
        }
        io::ErrorKind::StorageFull => ("the disk is full", "make room, or name a folder on another disk with --out"),
        io::ErrorKind::IsADirectory => ("a folder of that name is in the way", "move that folder away"),
        _ => return format!("{what}: {e}\n  do: name another folder with --out"),
    };
    format!("{what}: {why}\n  do: {hint}")
}
