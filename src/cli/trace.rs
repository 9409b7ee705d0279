//! `trace`: from a symptom and readings to the fault.

mod record;

use super::{Format, UNUSABLE, code, complain, disk, fail, load, print, stopped, style, text_file, versioned_json};
use ::trace::dialog::{self, DialogAnswer};
use ::trace::{
    Diagnosis, FaultTracer, LARGEST_SESSION, NextStep, Observation, Rates, SessionAnswer, SessionEntry, SetState,
    Skipped, TraceSession, TraceVerdict, TracedSpec, WrongAnswer, pin_named, question, sheets_text, text,
};
use clap::Args;
use form::{Problem, Sources, Texts};
use job::Job;
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `trace`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  loomwright trace van.yaml --seen 'dash black when key run, left'
  loomwright trace van.yaml --seen 'dash black when key run, left' --read 'K1.86 11.9 V when key run, left'
  loomwright trace van.yaml --seen 'dash LEFT when reverse' --cannot X2.3 --format json
  loomwright trace van.yaml --session van-trace.yaml --dialog
  loomwright trace van.yaml --sheets
  loomwright trace van.yaml --visit '2026-05-01, 84000 km' --found 'wire 12 open at X2' --changed 'removed wire 7'

STATE is a state as `states` names it; inputs that are not named stay at rest, except those that the named ones need.
A screen shows black (or no picture), home, disturbed (it rolls, flickers or has bars), or a source by its name. `L1 off
when STATE` says that a lamp or another part does not work, `L1 glows` that it works weakly, `F2 blown` that a fuse is open,
`F2 new blows` that a new one blows too, `battery flat` that the battery empties while the vehicle stands. `dash black now
and then when STATE` is so only sometimes. Volts are between the pin and the battery's negative.
A meter reads 'K1.86 11.9 V', 'K1.86 unplugged 0 V', 'K1.30 to K1.87 0.2 V' (a drop), 'X1.3 to X2.3 0.4 ohm' or 'open'
(battery disconnected), 'F1.2 to ground 0.4 ohm', 'X1.3 unplugged to ground open', 'wire 12 0.8 A', 'wire 12 alone open' (taken off at both ends: whole, open, shorted, or high for
several ohms), 'battery 0.3 A', or a test lamp 'K1.86 lamp lit', 'dim' or 'dark'.

What can be typed, with --seen or --read (STATE only where it matters; 'now and then' before `when` if it comes and goes):
  SCREEN black|home|disturbed|CAMERA|frozen CAMERA when STATE    PART on|off|glows when STATE
  FUSE whole|blown    FUSE new holds|new blows when STATE        battery flat    battery 0.3 A
  input SCREEN.PIN shows|nothing    plug PART right|exchanged    cable WIRE whole|open|shorted
  wiggle PLACE changes|nothing      mended WHAT works|still, such as: mended wire 12 works, mended plugs at X1 still
  PIN 11.9 V|flashing 11.9 V when STATE    PIN unplugged 0 V when STATE    PIN lamp lit|dim|dark when STATE
  PIN to PIN 0.2 V when STATE    PIN to PIN 0.4 ohm|open    PIN to ground 0.4 ohm|open    PIN unplugged to ground open
  wire 12 0.8 A when STATE       wire 12 alone whole|open|shorted|high

On a terminal, and with --dialog, each step is asked as a question. With --session the answers are kept in a file, to go
on later; without it, each call needs all observations so far.

The trace begins with what the vehicle has: record.yaml beside the spec says what was changed. --visit adds to it.

The rates of faults are typical; --rates replaces them by a CSV file with the heading fault,rate.

Exit status, which JSON repeats as `exit_status`, beside `verdict`:
  0  found, or mended
  1  several suspects remain (`next` says how to go on, if a step separates them), or mended in part: another complaint remains
  2  something can't be understood
  3  almost certain: one suspect has 95 % or more, and its repair is what confirms it
  4  no single fault explains the answers: repeat the one that is named, or look for two faults")]
pub struct Arguments {
    /// The spec of the harness that is in the vehicle.
    spec: PathBuf,
    /// An observation: 'SCREEN PICTURE when STATE', 'LAMP off when STATE', 'FUSE blown'. The first is the complaint.
    #[arg(long, value_name = "TEXT")]
    seen: Vec<String>,
    /// What a meter or a test lamp shows: 'PIN VOLTS when STATE'. May be given several times.
    #[arg(long, value_name = "TEXT")]
    read: Vec<String>,
    /// Pins that can't be reached, such as X2.3.
    #[arg(long, value_name = "PIN", value_delimiter = ',')]
    cannot: Vec<String>,
    /// Keep the answers in this file, and begin with those that are there.
    #[arg(long, value_name = "FILE")]
    session: Option<PathBuf>,
    /// Take back the last answer of the session.
    #[arg(long, requires = "session")]
    undo: bool,
    /// Ask each step as a question, and read the answers from standard input.
    #[arg(long, conflicts_with = "format")]
    dialog: bool,
    /// Print a sheet for every wrong picture of every screen: the first five probes, and what each answer leads to.
    #[arg(long, conflicts_with_all = ["seen", "read", "cannot", "session", "dialog"])]
    sheets: bool,
    /// Add a visit to record.yaml beside the spec: its date as year-month-day, then the odometer: '2026-05-01, 84000 km'.
    /// With --session, what was wrong and what mended it are added to what was found.
    #[arg(long, value_name = "DATE, DISTANCE", conflicts_with_all = ["seen", "read", "cannot", "dialog", "sheets"])]
    visit: Option<String>,
    /// What was found at the visit. May be given several times, as the next two.
    #[arg(long, value_name = "TEXT", requires = "visit")]
    found: Vec<String>,
    /// What was changed at the visit: 'removed wire 7', 'removed D3', 'joined K1.30 to X2.3'.
    #[arg(long, value_name = "TEXT", requires = "visit")]
    changed: Vec<String>,
    /// What remains to be done.
    #[arg(long, value_name = "TEXT", requires = "visit")]
    remains: Vec<String>,
    /// Rates of faults of your own shop, as CSV.
    #[arg(long, value_name = "FILE")]
    rates: Option<PathBuf>,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// A file of rates is not larger than this.
const MOST_BYTES: usize = 100_000;

/// Exit status of a trace, by how far it is.
fn status(verdict: TraceVerdict) -> u8 {
    match verdict {
        TraceVerdict::Mended | TraceVerdict::Found => 0,
        TraceVerdict::Open | TraceVerdict::Inseparable | TraceVerdict::MendedInPart => 1,
        TraceVerdict::AlmostCertain => 3,
        TraceVerdict::NothingFits => 4,
    }
}

/// Runs the command.
pub fn run(arguments: &Arguments) -> ExitCode {
    code(traced(arguments))
}

fn traced(arguments: &Arguments) -> Result<(), ExitCode> {
    let rates = rates(arguments.rates.as_deref())?;
    let job = load(&arguments.spec)?;
    let facts = job.facts().map_err(stopped)?;
    let found = match (&arguments.visit, &arguments.session) {
        (Some(_), Some(_)) => begun(arguments, &job)?.found(),
        _ => Vec::new(),
    };
    let tracer = record::of_vehicle(facts, &rates, arguments, found)?;
    if arguments.visit.is_some() {
        return Ok(());
    }
    if arguments.sheets {
        let sheets = tracer.sheets();
        print(&match arguments.format {
            Format::Text => sheets_text(&sheets),
            Format::Json => versioned_json(&serde_json::json!({ "sheets": sheets }), VERSION)?,
        });
        return Ok(());
    }
    let mut session = begun(arguments, &job)?;
    if arguments.undo && session.undo().is_none() {
        return Err(refused(&WrongAnswer {
            what: "the session has no answer to take back".to_string(),
            hint: "give the complaint with --seen".to_string(),
        }));
    }
    session.entries.extend(given(arguments)?);
    let mut trace = Trace { job: &job, arguments, tracer };
    let mut diagnosis = trace.diagnose(&session)?;
    trace.save(&session)?;
    let is_terminal = std::io::stdin().is_terminal() && std::io::stdout().is_terminal();
    let has_given = !arguments.seen.is_empty() || !arguments.read.is_empty() || arguments.undo;
    if arguments.dialog || (is_terminal && arguments.format == Format::Text && !has_given) {
        diagnosis = trace.talk(&mut session, diagnosis)?;
    } else {
        print(&match arguments.format {
            Format::Text => text(&diagnosis, &session.observed()),
            Format::Json => {
                let mut json = serde_json::to_value(&diagnosis).map_err(|e| fail(&e.to_string()))?;
                json["exit_status"] = status(diagnosis.verdict).into();
                versioned_json(&json, VERSION)?
            }
        });
    }
    match status(diagnosis.verdict) {
        0 => Ok(()),
        other => Err(ExitCode::from(other)),
    }
}

/// The answers of the command line: what is seen, what is read, what cannot be reached, then repairs. A repair that works ends a
/// trace, so repairs come last.
fn given(arguments: &Arguments) -> Result<Vec<SessionEntry>, ExitCode> {
    let entry = |text: &String, kind: fn(String) -> SessionAnswer| dialog::entry(text, kind).map_err(|w| refused(&w));
    let (repairs, seen): (Vec<&String>, Vec<&String>) =
        arguments.seen.iter().partition(|text| text.starts_with("mended "));
    let seen = seen.into_iter().map(|text| entry(text, SessionAnswer::Seen));
    let read = arguments.read.iter().map(|text| entry(text, SessionAnswer::Read));
    let cannot = arguments
        .cannot
        .iter()
        .map(|pin| Ok(SessionEntry { answer: SessionAnswer::Cannot(pin.clone()), when: String::new(), place: None }));
    let repairs = repairs.into_iter().map(|text| entry(text, SessionAnswer::Seen));
    seen.chain(read).chain(cannot).chain(repairs).collect()
}

/// The session of the file, or a new one.
fn begun(arguments: &Arguments, job: &Job) -> Result<TraceSession, ExitCode> {
    let revision = job.model().map_err(stopped)?.job.revision.clone();
    let mut of = TracedSpec { checksum: String::new(), revision };
    let Some(path) = &arguments.session else { return Ok(TraceSession { of, entries: Vec::new() }) };
    of.checksum = checksum(&arguments.spec)?;
    if !files::is_there(path) {
        return Ok(TraceSession { of, entries: Vec::new() });
    }
    let text = text_file(path, LARGEST_SESSION)?;
    TraceSession::read(0, &text, &of).map_err(|problems| misread(path, text, &problems, WITH_SESSION))
}

/// The checksum of the values in a spec and in the parts files that it includes. Comments and layout do not count.
fn checksum(spec: &Path) -> Result<String, ExitCode> {
    if spec == Path::new(files::PIPE) {
        return Err(fail("a session needs a spec in a file, not from standard input"));
    }
    let read = spec::read(&disk(), spec);
    let mut hasher = crc32fast::Hasher::new();
    for file in &read.sources.files {
        let values = form::node::parse(0, &file.text).map_or_else(|_| file.text.clone(), |node| node.values());
        hasher.update(values.as_bytes());
    }
    Ok(format!("{:08x}", hasher.finalize()))
}

/// What needs the session.
const WITH_SESSION: &str = "the trace can go on";

/// A session or a record that can't be used.
fn misread(path: &Path, text: String, problems: &[Problem], before: &str) -> ExitCode {
    let mut sources = Sources::default();
    sources.add(path, text);
    complain(&diagnostic::problems_before(&sources, problems, style(), before));
    ExitCode::from(UNUSABLE)
}

/// A trace of a job.
struct Trace<'j> {
    job: &'j Job<'j>,
    arguments: &'j Arguments,
    tracer: FaultTracer<'j, 'j>,
}

impl Trace<'_> {
    /// What a session's answers say.
    fn diagnose(&mut self, session: &TraceSession) -> Result<Diagnosis, ExitCode> {
        let (mut observations, mut skipped) = (Vec::new(), Skipped::default());
        for entry in &session.entries {
            self.take(entry, &mut observations, &mut skipped).map_err(|wrong| self.at_its_place(entry, wrong))?;
        }
        if let ([complaint], Some(entry)) = (&observations[..], session.entries.first()) {
            self.tracer.complaint(complaint).map_err(|wrong| self.at_its_place(entry, wrong))?;
        }
        Ok(self.tracer.diagnose(&observations, &skipped))
    }

    fn take(
        &self,
        entry: &SessionEntry,
        observations: &mut Vec<Observation>,
        skipped: &mut Skipped,
    ) -> Result<(), WrongAnswer> {
        let facts = self.job.facts().map_err(|_| interrupted())?;
        match &entry.answer {
            SessionAnswer::Seen(what) => {
                let seen = Observation::seen(facts, what, self.setting(&entry.when)?)?;
                observations.push(if entry.when.is_empty() { seen.without_state() } else { seen });
            }
            SessionAnswer::Read(what) => observations.push(Observation::read(facts, what, self.setting(&entry.when)?)?),
            SessionAnswer::Cannot(pin) => skipped.pins.push(pin_named(facts, pin)?),
            SessionAnswer::Unknown(ask) => self.tracer.skip(skipped, ask, &entry.when)?,
        }
        Ok(())
    }

    /// The setting of a state's name.
    fn setting(&self, state: &str) -> Result<SetState, WrongAnswer> {
        if let Some(setting) = self.tracer.setting(state) {
            return Ok(setting.clone());
        }
        if state.is_empty() {
            return Ok(self.tracer.at_rest());
        }
        let facts = self.job.facts().map_err(|_| interrupted())?;
        let asked = self.job.state(state).map_err(|stop| match stop {
            job::Stop::Interrupted => interrupted(),
            job::Stop::Because(why) => {
                let (what, hint) = why.split_once("\n  do: ").unwrap_or((&why, "`states` lists every state"));
                WrongAnswer { what: what.to_string(), hint: hint.to_string() }
            }
        })?;
        SetState::of(facts, &asked.name, &asked.solution.state).ok_or_else(|| WrongAnswer {
            what: format!("`{state}` is not reached by moving inputs and waiting"),
            hint: "name another state; `states` lists them".to_string(),
        })
    }

    /// An answer that can't be understood: at its place in the session's file, if it stands there.
    fn at_its_place(&self, entry: &SessionEntry, wrong: WrongAnswer) -> ExitCode {
        match (&self.arguments.session, entry.place) {
            (Some(path), Some(place)) => match text_file(path, LARGEST_SESSION) {
                Ok(text) => misread(path, text, &[Problem::at(place, wrong.what).hint(wrong.hint)], WITH_SESSION),
                Err(code) => code,
            },
            _ => refused(&wrong),
        }
    }

    fn save(&self, session: &TraceSession) -> Result<(), ExitCode> {
        let Some(path) = &self.arguments.session else { return Ok(()) };
        files::write(path, session.text().as_bytes())
            .map_err(|e| fail(&format!("{}: it can't be written: {e}", path.display())))
    }

    /// Asks one question after the other, until the fault is found, nothing more can be asked, or the answers end.
    fn talk(&mut self, session: &mut TraceSession, mut diagnosis: Diagnosis) -> Result<Diagnosis, ExitCode> {
        let mut lines = std::io::stdin().lock().lines();
        // After a line that is no answer, only the question comes again, not the suspects.
        let mut is_new = true;
        loop {
            let has_complaint =
                session.entries.iter().any(|e| matches!(e.answer, SessionAnswer::Seen(_) | SessionAnswer::Read(_)));
            let next: Option<NextStep> = diagnosis.next.clone().filter(|_| has_complaint);
            let is_mended = matches!(diagnosis.verdict, TraceVerdict::Mended | TraceVerdict::MendedInPart);
            let is_over = has_complaint && (next.is_none() || is_mended);
            match &next {
                _ if is_over => {
                    print(&if is_new { text(&diagnosis, &session.observed()) } else { String::new() });
                    print(if is_mended { TO_RECORD } else { "answer: undo, quit\n" });
                }
                None => print(dialog::COMPLAINT),
                Some(next) => {
                    print(&if is_new {
                        ::trace::suspects_text(&diagnosis, &session.observed())
                    } else {
                        String::new()
                    });
                    print(&question(next));
                }
            }
            is_new = false;
            let Some(Ok(line)) = lines.next() else { return Ok(diagnosis) };
            if is_over && is_mended && line.contains('-') {
                match record::keep(&self.arguments.spec, &line, session) {
                    Ok(()) => return Ok(diagnosis),
                    // The message is printed; the question comes again.
                    Err(_) => continue,
                }
            }
            let answer = match dialog::answer(next.as_ref().filter(|_| !is_over), &line) {
                Ok(answer) => answer,
                Err(wrong) => {
                    refused(&wrong);
                    continue;
                }
            };
            let before = session.clone();
            match answer {
                DialogAnswer::Quit => return Ok(diagnosis),
                DialogAnswer::Undo => {
                    session.undo();
                }
                DialogAnswer::Entry(entry) => session.entries.push(entry),
            }
            match self.diagnose(session) {
                Ok(next) => {
                    diagnosis = next;
                    is_new = true;
                    self.save(session)?;
                }
                // The message is printed; the question comes again.
                Err(_) => *session = before,
            }
        }
    }
}

/// What can be answered once it works again.
const TO_RECORD: &str = "answer: date and odometer for the record, such as 2026-05-01, 84000 km; undo, quit\n";

fn interrupted() -> WrongAnswer {
    WrongAnswer { what: "it was interrupted".to_string(), hint: "begin again".to_string() }
}

fn refused(wrong: &WrongAnswer) -> ExitCode {
    complain(&format!("error: {}\n  do: {}\n", wrong.what, wrong.hint));
    ExitCode::from(UNUSABLE)
}

fn rates(path: Option<&Path>) -> Result<Rates, ExitCode> {
    let Some(path) = path else { return Ok(Rates::typical()) };
    let bytes = disk().contents(path, MOST_BYTES).map_err(|why| fail(&format!("{}: {why}", path.display())))?;
    let text = String::from_utf8_lossy(&bytes);
    Rates::read(&text).map_err(|wrong| fail(&format!("{}:{}: {}", path.display(), wrong.line, wrong.why)))
}

/// Version of the JSON form.
const VERSION: u32 = 2;
