//! The command line: a thin layer that reads arguments, calls the stages, and prints. Nothing else prints.

#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "the terminal, the clock and the process are here"
)]

mod build;
mod check;
mod draw;
mod explain;
mod long;
mod netlist;
mod parts;
mod picture;
mod replay;
mod sources;
mod states;
mod table;

use catalogue::Catalogue;
use clap::{Parser, Subcommand, ValueEnum};
use diagnostic::Style;
use files::Disk;
use form::place::suggestion;
use job::{Job, Stop};
use model::{Domain, Unreadable};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::OnceLock;

/// Designs the wiring harness that connects a vehicle's cameras, accessories and trigger signals to its screens.
#[derive(Debug, Parser)]
#[command(name = "loomwright", version)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// Let the spec include parts files from outside its own folder.
    #[arg(long, global = true)]
    outside: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Writes every document of a job: the build book, the lists, the drawings, the service sheets.
    Build(build::Arguments),
    /// Solves a spec in every state and reports what is wrong, where and what to do.
    Check {
        /// The spec.
        spec: PathBuf,
        /// How findings are printed.
        #[arg(long, value_enum, default_value_t = check::Format::Text)]
        format: check::Format,
        /// Also print in full the notes that nearly every harness has.
        #[arg(long)]
        full: bool,
    },
    /// Explains a rule; without one, lists every rule.
    Explain {
        /// The rule, for example load/drop.
        rule: Option<String>,
        /// Also print a spec with this fault, and one without.
        #[arg(long, requires = "rule")]
        specs: bool,
    },
    /// Draws one drawing of a job, or lists the drawings.
    Draw(draw::Arguments),
    /// Prints the signal graph as DOT, or draws it if Graphviz is installed.
    Graph {
        /// The spec.
        spec: PathBuf,
        /// Only links of this domain: power, ground, trigger, video, audio or data.
        #[arg(long, value_parser = domain)]
        domain: Option<Domain>,
        /// Draw it as SVG into this file instead of printing DOT.
        #[arg(long, value_name = "FILE")]
        picture: Option<PathBuf>,
    },
    /// Prints every state: what each screen shows, which relays are in, the current in each fuse.
    States {
        /// The spec.
        spec: PathBuf,
        /// How it is printed.
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
    },
    /// Prints one state of the circuit as a netlist for a circuit simulator, to verify the results.
    Netlist(netlist::Arguments),
    /// Lists every kind of part that a spec can use, or prints one with its pins, figures and sources.
    Parts {
        /// The part to show.
        name: Option<String>,
    },
    /// Prints every figure that the program calculates with, its source, and whether that was checked.
    Sources,
    /// Replays the drives of a spec: what each screen shows when, and which promises are kept.
    Replay(replay::Arguments),
    /// Prints the JSON Schema of a spec or of a parts file, for editors.
    Schema {
        /// Which of the two.
        #[arg(value_enum, default_value_t = SchemaOf::Spec)]
        of: SchemaOf,
    },
}

/// The files that have a JSON Schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SchemaOf {
    /// A spec.
    Spec,
    /// A parts file.
    Parts,
}

/// How results are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
}

/// Where specs are read from, as the arguments say.
static DISK: OnceLock<Disk> = OnceLock::new();

/// Exit status for a spec that can't be read or a wrong call.
const UNUSABLE: u8 = 2;

/// Runs the program.
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    long::begin();
    let _ = DISK.set(Disk { outside: arguments.outside });
    match arguments.command {
        Command::Build(arguments) => build::run(&arguments),
        Command::Check { spec, format, full } => check::run(&spec, format, full),
        Command::Explain { rule, specs } => explain::run(rule.as_deref(), specs),
        Command::Draw(arguments) => draw::run(&arguments),
        Command::Graph { spec, domain, picture } => code(draw_graph(&spec, domain, picture)),
        Command::States { spec, format } => code(list_states(&spec, format)),
        Command::Netlist(arguments) => netlist::run(&arguments),
        Command::Parts { name } => code(list_parts(name.as_deref())),
        Command::Sources => code(catalogue().map(|catalogue| print(&sources::text(&catalogue)))),
        Command::Replay(arguments) => replay::run(&arguments),
        Command::Schema { of } => {
            let schema = match of {
                SchemaOf::Spec => spec::schema(),
                SchemaOf::Parts => spec::parts_schema(),
            };
            let text = serde_json::to_string_pretty(&schema).unwrap_or_default();
            print(&format!("{text}\n"));
            ExitCode::SUCCESS
        }
    }
}

fn domain(text: &str) -> Result<Domain, String> {
    let found = Domain::ALL.iter().find(|(word, _)| *word == text).map(|(_, domain)| *domain);
    found.ok_or_else(|| suggestion(text, Domain::ALL.iter().map(|(word, _)| *word), "domains"))
}

fn list_states(spec: &Path, format: Format) -> Result<(), ExitCode> {
    let job = load(spec)?;
    let solved = job.solved().map_err(stopped)?;
    print(&match format {
        Format::Text => states::text(solved),
        Format::Json => states::json(solved),
    });
    Ok(())
}

fn draw_graph(spec: &Path, domain: Option<Domain>, picture: Option<PathBuf>) -> Result<(), ExitCode> {
    let job = load(spec)?;
    let wiring = job.wiring().map_err(stopped)?;
    let text = graph::dot(wiring.model, &wiring.graph, domain);
    let Some(path) = picture else {
        print(&text);
        return Ok(());
    };
    let drawn = picture::picture(&text).map_err(|e| fail(&e.to_string()))?;
    save(&path, &drawn)
}

/// Writes a file and says so.
fn save(path: &Path, bytes: &[u8]) -> Result<(), ExitCode> {
    files::write(path, bytes).map_err(|e| fail(&format!("{}: it can't be written: {e}", path.display())))?;
    print(&format!("wrote {}\n", path.display()));
    Ok(())
}

/// Prints what went wrong, and gives the exit status for it.
fn fail(message: &str) -> ExitCode {
    complain(&format!("error: {message}\n"));
    ExitCode::from(UNUSABLE)
}

/// The result of a command as the program's exit status.
fn code(outcome: Result<(), ExitCode>) -> ExitCode {
    outcome.map_or_else(|code| code, |()| ExitCode::SUCCESS)
}

fn list_parts(name: Option<&str>) -> Result<(), ExitCode> {
    let catalogue = catalogue()?;
    let Some(name) = name else {
        print(&parts::list(&catalogue));
        return Ok(());
    };
    let hint = || suggestion(name, catalogue.names(), "kinds of part");
    let part = catalogue.get(name).ok_or_else(|| fail(&format!("`{name}` is not a kind of part\n  do: {}", hint())))?;
    print(&parts::one(name, part));
    Ok(())
}

/// The program's own parts.
fn catalogue() -> Result<Catalogue, ExitCode> {
    Catalogue::builtin().map_err(|(sources, problems)| {
        complain(&diagnostic::problems(&sources, &problems, style()));
        ExitCode::from(UNUSABLE)
    })
}

/// Reads a spec, or prints everything that is wrong with it.
fn load<'j>(path: &Path) -> Result<Job<'j>, ExitCode> {
    read(path).map_err(|unreadable| {
        complain(&diagnostic::problems(&unreadable.sources, &unreadable.problems, style()));
        ExitCode::from(UNUSABLE)
    })
}

/// Reads a spec.
fn read<'j>(path: &Path) -> Result<Job<'j>, Unreadable> {
    let disk = DISK.get().copied().unwrap_or_default();
    Ok(Job::read(&disk, path)?.watched(&long::watch))
}

/// A stage without a result: prints why.
fn stopped(stop: Stop) -> ExitCode {
    match stop {
        Stop::Interrupted => ExitCode::from(UNUSABLE),
        Stop::Because(why) => fail(&why),
    }
}

fn style() -> Style {
    let plain = std::env::var_os("NO_COLOR").is_some() || !std::io::stderr().is_terminal();
    if plain { Style::Plain } else { Style::Colour }
}

/// To standard output; a closed pipe is not an error of ours.
fn print(text: &str) {
    long::clear();
    let _ = std::io::stdout().write_all(text.as_bytes());
}

/// To standard error.
fn complain(text: &str) {
    let _ = std::io::stderr().write_all(text.as_bytes());
}
