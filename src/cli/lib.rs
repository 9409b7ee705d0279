//! The command line: a thin layer that reads arguments, calls the stages, and prints. Nothing else prints.

#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "the terminal, the clock and the process are here"
)]

mod asked;
mod bench;
mod build;
mod check;
mod compare;
mod draw;
mod explain;
mod long;
mod manual;
mod netlist;
mod new;
mod papers;
mod parts;
mod picture;
mod plan;
mod replay;
mod sources;
mod states;
mod table;
mod trace;

use catalogue::Catalogue;
use clap::{Parser, Subcommand, ValueEnum};
use diagnostic::Style;
use files::Disk;
use form::Texts;
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
    Check(check::Arguments),
    /// Judges the results of a bench test: what passes, what fails and what that means, what is missing.
    Bench(bench::Arguments),
    /// Compares two revisions: the rework for the bench, and what changes in behaviour.
    Compare(compare::Arguments),
    /// Explains a rule; without one, lists every rule.
    #[command(after_help = "\
Examples:
  loomwright explain                         every rule
  loomwright explain load/drop --specs       one rule, with a spec that has this fault and one that has not")]
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
    #[command(after_help = "\
Examples:
  loomwright graph van.yaml --domain power
  loomwright graph van.yaml --picture graph.svg")]
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
    /// Prints every state: what each screen shows, which relays are in, the current in each fuse; or what you ask for.
    States(states::Arguments),
    /// Prints one state of the circuit as a netlist for a circuit simulator, to verify the results.
    Netlist(netlist::Arguments),
    /// Lists every kind of part that a spec can use, or prints one with its pins, figures and sources.
    #[command(after_help = "\
Examples:
  loomwright parts                           every kind of part
  loomwright parts relay-mini-spdt-12v       one, with pins, figures and sources")]
    Parts {
        /// The part to show.
        name: Option<String>,
    },
    /// Writes a wish from a few answers, and plans it.
    New(new::Arguments),
    /// Proposes the wiring for a wish: a spec with views and without wires.
    Plan(plan::Arguments),
    /// Prints every figure that the program calculates with, its source, and whether that was checked.
    #[command(after_help = "\
Example:
  loomwright sources | less")]
    Sources,
    /// Replays the drives of a spec: what each screen shows when, and which promises are kept.
    Replay(replay::Arguments),
    /// Finds a fault from what screens show and a meter reads, and says where to probe next.
    Trace(trace::Arguments),
    /// Prints the JSON Schema of a spec or of a parts file, for editors, or of job.json, for programs that read it.
    #[command(after_help = "\
Examples:
  loomwright schema > harness.schema.json
  loomwright schema parts > parts.schema.json
  loomwright schema job > job.schema.json")]
    Schema {
        /// The kind of file: a spec, a parts file or job.json.
        #[arg(value_enum, default_value_t = SchemaOf::Spec)]
        of: SchemaOf,
    },
    /// Prints a script that completes commands and options in a shell.
    #[command(after_help = "\
Examples:
  loomwright completions bash > ~/.local/share/bash-completion/completions/loomwright
  loomwright completions fish > ~/.config/fish/completions/loomwright.fish")]
    Completions {
        /// The shell.
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// Prints the manual page, or writes one for each command.
    #[command(after_help = "\
Examples:
  loomwright man | man -l -
  loomwright man --out ~/.local/share/man/man1")]
    Man {
        /// Write loomwright.1 and a page for each command into this folder.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
    },
}

/// The files that have a JSON Schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SchemaOf {
    /// A spec.
    Spec,
    /// A parts file.
    Parts,
    /// The job.json that `build` writes.
    Job,
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
        Command::Check(arguments) => check::run(&arguments),
        Command::Bench(arguments) => bench::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Explain { rule, specs } => explain::run(rule.as_deref(), specs),
        Command::Draw(arguments) => draw::run(&arguments),
        Command::Graph { spec, domain, picture } => code(draw_graph(&spec, domain, picture)),
        Command::States(arguments) => states::run(&arguments),
        Command::Netlist(arguments) => netlist::run(&arguments),
        Command::Parts { name } => code(list_parts(name.as_deref())),
        Command::New(arguments) => new::run(&arguments),
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Sources => code(catalogue().map(|catalogue| print(&sources::text(&catalogue)))),
        Command::Replay(arguments) => replay::run(&arguments),
        Command::Trace(arguments) => trace::run(&arguments),
        Command::Completions { shell } => {
            print(&manual::completions(shell));
            ExitCode::SUCCESS
        }
        Command::Man { out } => code(manual::pages(out.as_deref())),
        Command::Schema { of } => {
            let pretty = |schema| serde_json::to_string_pretty(schema).unwrap_or_default() + "\n";
            print(&match of {
                SchemaOf::Spec => pretty(&spec::schema()),
                SchemaOf::Parts => pretty(&spec::parts_schema()),
                SchemaOf::Job => book::JOB_SCHEMA.to_string(),
            });
            ExitCode::SUCCESS
        }
    }
}

fn domain(text: &str) -> Result<Domain, String> {
    let found = Domain::ALL.iter().find(|(word, _)| *word == text).map(|(_, domain)| *domain);
    found.ok_or_else(|| suggestion(text, Domain::ALL.iter().map(|(word, _)| *word), "domains"))
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

/// A file of text besides the spec.
fn text_file(path: &Path, most: usize) -> Result<String, ExitCode> {
    let bytes = disk().contents(path, most).map_err(|why| fail(&format!("{}: {why}", path.display())))?;
    String::from_utf8(bytes).map_err(|_| fail(&format!("{}: it is not UTF-8 text", path.display())))
}

/// Says what is wrong in a list that somebody filled in, with its line, and what to do.
fn unusable_list(path: &Path, line: Option<u64>, what: &str, hint: &str) -> ExitCode {
    let line = line.map_or_else(String::new, |line| format!(":{line}"));
    complain(&format!("error: {}{line}: {what}\n  do: {hint}\n", path.display()));
    ExitCode::from(UNUSABLE)
}

/// A value as JSON with the version of its form.
fn versioned_json(value: &impl serde::Serialize, version: u32) -> Result<String, ExitCode> {
    let mut whole = serde_json::to_value(value).map_err(|e| fail(&e.to_string()))?;
    whole["version"] = version.into();
    let text = serde_json::to_string_pretty(&whole).map_err(|e| fail(&e.to_string()))?;
    Ok(format!("{text}\n"))
}

/// Reads a spec, or prints everything that is wrong with it.
fn load<'j>(path: &Path) -> Result<Job<'j>, ExitCode> {
    Ok(read(path)
        .map_err(|unreadable| {
            complain(&diagnostic::problems(&unreadable.sources, &unreadable.problems, style()));
            ExitCode::from(UNUSABLE)
        })?
        .watched(&long::watch))
}

/// Reads a spec.
fn read<'j>(path: &Path) -> Result<Job<'j>, Unreadable> {
    Job::read(&disk(), path)
}

/// Where specs are read from.
fn disk() -> Disk {
    DISK.get().copied().unwrap_or_default()
}

/// A stage without a result: prints why.
fn stopped(stop: Stop) -> ExitCode {
    match stop {
        Stop::Interrupted => ExitCode::from(UNUSABLE),
        Stop::Because(why) => fail(&why),
    }
}

/// Messages about what can't be read go to standard error, so that is where a terminal counts.
fn style() -> Style {
    style_for(std::io::stderr().is_terminal())
}

/// Colour and the width of the terminal, for what is printed on one.
fn style_for(terminal: bool) -> Style {
    // NO_COLOR counts when it is set and not empty (no-color.org).
    let colour = terminal && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    let width = terminal.then(terminal_size::terminal_size).flatten();
    Style { colour, width: width.map(|(terminal_size::Width(letters), _)| letters.into()) }
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
