//! `build`: every document of a job, in a folder of its own.

use super::{code, fail, load, print};
use crate::book::{self, findings::findings, folder::folder};
use crate::check::check;
use crate::files;
use crate::states::Solved;
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `build`.
#[derive(Debug, Args)]
#[command(after_help = "\
Files: build-book.html (everything, to print or to read on a tablet), pin-list.csv, wire-list.csv, splices.csv,
parts.csv, labels.csv, bench-test.csv, states.csv, service-sheet.csv, signal-map.svg, state-chart.svg,
connection-diagram.svg, connector-faces.svg, harness-layout.svg, current-path-diagram.svg (-1, -2 and so on where a
drawing takes several sheets), signal-graph.dot, job.json (all of it, for programs).

The folder is out/<job>/, named by the job's title. Files of these names in it are replaced, each whole or not at all;
nothing else in it is touched. When the spec can't be read nothing is written.

In the CSV files a cell that a spreadsheet could take for a formula (it begins with = + - or @) has an apostrophe before
it, negative numbers included.

Exit status: 0 when all is well, 1 when there are findings of severity error (the documents are written all the same,
and the book says so on its first page), 2 when the spec can't be read or a file can't be written.")]
pub struct Arguments {
    /// The spec.
    spec: PathBuf,
    /// Write right into this folder instead of out/<job>/.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Exit status when there are findings of severity error.
const FINDINGS: u8 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(load(&arguments.spec).and_then(|model| {
        let solved = Solved::new(&model);
        let book = book::book(&solved, findings(&model, &check(&solved)));
        let documents = book::documents(&solved, &book).map_err(|e| fail(&e))?;
        let folder = arguments.out.clone().unwrap_or_else(|| Path::new("out").join(folder(&model.job.title)));
        files::make_folder(&folder)
            .map_err(|e| fail(&format!("{}: the folder can't be made: {e}", folder.display())))?;
        for document in &documents {
            let path = folder.join(&document.name);
            files::write(&path, &document.bytes)
                .map_err(|e| fail(&format!("{}: it can't be written: {e}", path.display())))?;
            print(&format!("wrote {}\n", path.display()));
        }
        if book.findings.errors > 0 { Err(ExitCode::from(FINDINGS)) } else { Ok(()) }
    }))
}
