//! `build`: every document of a job, in a folder of its own.

use super::papers::PaperChoice;
use super::{code, complain, fail, load, print, save, stopped, text_file, unusable_list};
use book::BookAddress;
use book::folder::folder;
use book::lists::prices::PriceList;
use clap::Args;
use files::{Origin, Replace, Unwritten, Written};
use job::Job;
use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `build`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright build van.yaml                                 into out/<job>/
  loomwright build van.yaml --out book --state \"key run, reverse\"
  loomwright build van.yaml --wish wish.yaml                with the proposals of the wish side by side
  loomwright build van.yaml --paper letter                  on Letter and Tabloid
  loomwright build van.yaml --address https://shop.example/jobs/7   labels with QR codes
  loomwright build van.yaml --write-chosen van-complete.yaml    the spec with all that was chosen

Files: build-book.html (everything, to read on a tablet), build-book.pdf (the same, to print), pin-list.csv, wire-list.csv, splices.csv, fuses.csv,
parts.csv, labels.csv, bench-test.csv, bench-coverage.csv, states.csv, service-sheet.csv, lists.xlsx
(all of these lists), signal-map.svg, state-chart.svg,
connection-diagram.svg, connector-faces.svg, harness-layout.svg, current-path-diagram.svg, symbols.svg (-1, -2 and so on where a
drawing has several sheets), signal-graph.dot, job.json (everything, for programs), contents.json (the list of these files).

With --state, connection-diagram-live.svg and current-path-diagram-live.svg as well (-1, -2 and so on): the currents in that
state, with voltages at the pins. Inputs that are not named stay at rest, except those that the named ones need.

The folder is out/<job>/, named after the job's title. contents.json there lists the files of the last build. The next build
replaces these files, removes those that it no longer writes, and leaves all other files alone. It writes nothing if the spec
can't be read, if the folder belongs to another job, or if somebody changed one of the files (--replace writes all the same).

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
    /// Write even if the folder belongs to another job or somebody changed its files.
    #[arg(long)]
    replace: bool,
    /// Also write the spec with every gauge and colour that was chosen into this file; comments stay. The next build then
    /// chooses the same.
    #[arg(long, value_name = "FILE")]
    write_chosen: Option<PathBuf>,
    /// The wish that the spec was planned from: the book shows its proposals side by side, and which of them this is.
    #[arg(long, value_name = "WISH")]
    wish: Option<PathBuf>,
    /// The shop's costs and minutes for these proposals: a CSV file with the heading thing,cost,minutes.
    #[arg(long, value_name = "FILE", requires = "wish")]
    costs: Option<PathBuf>,
    /// The shop's prices: a CSV file with the columns What to order, Size and Price, such as parts.csv with a column of prices
    /// of a piece or a metre. The order says what each line costs, and the total.
    #[arg(long, value_name = "FILE")]
    prices: Option<PathBuf>,
    /// Print a QR code on each label that leads to its wire or part in the book at this address.
    #[arg(long, value_name = "URL")]
    address: Option<BookAddress>,
    /// Also draw the currents in this state, as `states` names it: "key run, reverse", or "key run; K2 set".
    #[arg(long, value_name = "STATE")]
    state: Option<String>,
    /// The papers that the shop prints on.
    #[arg(long, value_enum, default_value_t)]
    paper: PaperChoice,
}

/// Exit status when there are findings of severity error.
const FINDINGS: u8 = 1;

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(build(arguments))
}

fn build(arguments: &Arguments) -> Result<(), ExitCode> {
    let job = load(&arguments.spec)?.on(arguments.paper.papers()).kept_at(arguments.address.clone());
    let job = match &arguments.wish {
        Some(wish) => job.proposed(crate::plan::proposals(wish, arguments.costs.as_deref(), &arguments.spec)?),
        None => job,
    };
    let job = match &arguments.prices {
        Some(prices) => job.priced(price_list(prices)?),
        None => job,
    };
    let chosen = arguments.write_chosen.as_deref().map(|file| chosen(&job, file, arguments.replace)).transpose()?;
    let live = arguments.state.as_deref().map(|text| job.live(text)).transpose().map_err(stopped)?;
    let documents = job.documents(live.as_ref()).map_err(stopped)?;
    let book = job.book().map_err(stopped)?;
    let folder = arguments.out.clone().unwrap_or_else(|| Path::new("out").join(folder(&book.job.title)));
    let all: Vec<(&str, &[u8])> = documents.iter().map(|d| (d.name.as_str(), d.bytes.as_slice())).collect();
    let spec = arguments.spec.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let origin = Origin { job: book.job.title.clone(), spec };
    let replace = if arguments.replace { Replace::Anything } else { Replace::Own };
    let done = files::write_folder(&folder, &origin, &all, replace).map_err(|e| fail(&unwritten(&folder, e)))?;
    print(&report(&done));
    if let (Some(file), Some(text)) = (&arguments.write_chosen, chosen) {
        save(file, text.as_bytes())?;
    }
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

/// Largest price list, bytes.
const MOST_BYTES: usize = 4_000_000;

fn price_list(path: &Path) -> Result<PriceList, ExitCode> {
    let text = text_file(path, MOST_BYTES)?;
    PriceList::read(&text).map_err(|wrong| unusable_list(path, Some(wrong.line), &wrong.what, &wrong.hint))
}

/// The complete spec for a file; a file that is there is kept unless it may be replaced.
fn chosen(job: &Job, file: &Path, replace: bool) -> Result<String, ExitCode> {
    if files::is_there(file) && !replace {
        return Err(fail(&format!(
            "{}: the file is there already, and nothing is written\n  do: name another file with --write-chosen, or add \
             --replace to replace it",
            file.display()
        )));
    }
    job.with_chosen().map_err(stopped)
}

/// A line for each file that was written, removed or kept.
fn report(done: &Written) -> String {
    let lines = |word: &str, paths: &[PathBuf], why: &str| -> String {
        paths.iter().map(|path| format!("{word} {}{why}\n", path.display())).collect()
    };
    let removed = lines("removed", &done.removed, ": this build no longer has it");
    let kept = lines("kept", &done.kept, ": this build no longer has it, but somebody changed it");
    lines("wrote", &done.written, "") + &removed + &kept
}

/// Most files that a message names.
const NAMED: usize = 5;

/// Why nothing was written, and what to do.
fn unwritten(folder: &Path, why: Unwritten) -> String {
    match why {
        Unwritten::System(path, e) => format!("{}: {}", path.display(), system(path == folder, &e)),
        Unwritten::OtherJob(other) => format!(
            "{}: the folder holds the documents of another job, `{}` from {}\n  do: name another folder with --out, or add \
             --replace to replace them",
            folder.display(),
            other.job,
            other.spec
        ),
        Unwritten::Changed(files) => {
            let mut names: Vec<String> = files.iter().take(NAMED).map(|file| file.display().to_string()).collect();
            if files.len() > NAMED {
                names.push(format!("{} more", files.len() - NAMED));
            }
            let (have, them) = if files.len() == 1 { ("file has", "it") } else { ("files have", "them") };
            format!(
                "nothing is written: the {have} contents that are not from the last build: {}\n  why: a build would replace \
                 {them}, with anything filled in by hand\n  do: move {them} away, name another folder with --out, or add \
                 --replace to replace {them}",
                names.join(", ")
            )
        }
    }
}

/// What the system says about a folder or a file that can't be written, and what to do.
fn system(folder: bool, e: &io::Error) -> String {
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
