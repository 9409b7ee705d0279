//! A tracing session as a file: the answers in their order, bound to the spec that they are about.

use form::form;
use form::{Form, Place, Placed, Problem, Reader, Text};

/// Version of the file's form.
const VERSION: &str = "1";

/// A file is not larger than this, in bytes.
pub const LARGEST_SESSION: usize = 1_000_000;

/// The spec that a session is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TracedSpec {
    /// Checksum of the values in the spec and in the parts files that it includes.
    pub checksum: String,
    /// The spec's revision.
    pub revision: String,
}

/// What a tech answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SessionAnswer {
    /// Something seen in a state: `dash black`.
    Seen(String),
    /// Something read in a state: `K1.86 11.9 V`.
    Read(String),
    /// A pin that can't be reached.
    Cannot(String),
    /// A question without a certain answer, in a state: `K1.86`.
    Unknown(String),
}

/// An answer with its state, as `states` names it; empty where it does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionEntry {
    /// The answer.
    pub answer: SessionAnswer,
    /// The state.
    pub when: String,
    /// Its line in the session's file; `None` for a new answer.
    pub place: Option<Place>,
}

/// A session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TraceSession {
    /// What it is about.
    pub of: TracedSpec,
    /// The answers, the complaint first.
    pub entries: Vec<SessionEntry>,
}

form! {
    /// A tracing session.
    pub struct SessionForm ("a tracing session") {
        /// Version of the form.
        pub version: Placed<Text>,
        /// Checksum of the spec.
        pub checksum: Placed<Text>,
        /// The spec's revision.
        pub revision: Placed<Text>,
        /// The answers, in their order.
        pub answers: Vec<AnswerForm>,
        /// How many answers there are. It comes last, so that a file that was cut short is noticed.
        pub count: Placed<Text>,
    }
}

form! {
    /// An answer.
    pub struct AnswerForm ("an answer") {
        /// What was seen.
        pub seen: Option<Placed<Text>>,
        /// What was read.
        pub read: Option<Placed<Text>>,
        /// A pin that can't be reached.
        pub cannot: Option<Placed<Text>>,
        /// What is not known.
        pub unknown: Option<Placed<Text>>,
        /// The state.
        pub when: Option<Text>,
    }
}

impl TraceSession {
    /// Reads a session about a spec. `file` is the file's number among the sources of messages.
    ///
    /// # Errors
    /// A text that is no session, is cut short, has another version, or is about another spec or revision.
    pub fn read(file: usize, text: &str, of: &TracedSpec) -> Result<TraceSession, Vec<Problem>> {
        let node = form::node::parse(file, text)?;
        let mut reader = Reader::default();
        let read = SessionForm::read(&node, &mut reader);
        let Some(read) = read.filter(|_| reader.problems.is_empty()) else {
            let cut = Problem::at(node.place, "the session is not whole").hint(CUT_SHORT);
            reader.problems.push(cut);
            return Err(reader.problems);
        };
        let problem = |place: Place, message: String, hint: &str| vec![Problem::at(place, message).hint(hint)];
        if read.version.value.0 != VERSION {
            let message = format!("version {} of a session can't be read, only version {VERSION}", read.version.value);
            return Err(problem(read.version.place, message, "use the program that wrote it"));
        }
        if read.revision.value.0 != of.revision {
            let message =
                format!("the session is about revision `{}`, the spec is `{}`", read.revision.value, of.revision);
            return Err(problem(read.revision.place, message, OTHER_SPEC));
        }
        if read.checksum.value.0 != of.checksum {
            let message = "the session is about another spec, or the spec was changed since".to_string();
            return Err(problem(read.checksum.place, message, OTHER_SPEC));
        }
        if read.count.value.0 != read.answers.len().to_string() {
            let message = format!("{} answers are listed, {} were written", read.answers.len(), read.count.value);
            return Err(problem(read.count.place, message, CUT_SHORT));
        }
        let entries: Result<Vec<SessionEntry>, Vec<Problem>> = read.answers.iter().map(|a| entry(a, &node)).collect();
        Ok(TraceSession { of: of.clone(), entries: entries? })
    }

    /// The file.
    pub fn text(&self) -> String {
        let quoted = |text: &str| form::macros::serde_json::to_string(text).unwrap_or_default();
        let mut out = format!(
            "# Answers of a trace, in their order. Delete the last line of `answers` to take one back, and correct `count`.\n\
             version: {VERSION}\nchecksum: {}\nrevision: {}\nanswers:\n",
            quoted(&self.of.checksum),
            quoted(&self.of.revision)
        );
        for entry in &self.entries {
            let (key, what) = match &entry.answer {
                SessionAnswer::Seen(what) => ("seen", what),
                SessionAnswer::Read(what) => ("read", what),
                SessionAnswer::Cannot(what) => ("cannot", what),
                SessionAnswer::Unknown(what) => ("unknown", what),
            };
            let when = if entry.when.is_empty() { String::new() } else { format!(", when: {}", quoted(&entry.when)) };
            out.push_str(&format!("  - {{{key}: {}{when}}}\n", quoted(what)));
        }
        out + &format!("count: {}\n", self.entries.len())
    }

    /// The observations in words, in their order.
    pub fn observed(&self) -> Vec<String> {
        let words = |entry: &SessionEntry| match &entry.answer {
            SessionAnswer::Seen(what) | SessionAnswer::Read(what) if entry.when.is_empty() => Some(what.clone()),
            SessionAnswer::Seen(what) | SessionAnswer::Read(what) => Some(format!("{what} when {}", entry.when)),
            _ => None,
        };
        self.entries.iter().filter_map(words).collect()
    }

    /// What it found, for the record: what was wrong, and each repair with what was seen then.
    pub fn found(&self) -> Vec<String> {
        let observed = self.observed();
        let repairs = observed
            .iter()
            .skip(1)
            .filter(|words| words.starts_with("mended ") || words.ends_with(" new holds"))
            .cloned();
        observed.first().cloned().into_iter().chain(repairs).collect()
    }

    /// Takes the last answer back, and gives it.
    pub fn undo(&mut self) -> Option<SessionEntry> {
        self.entries.pop()
    }
}

const CUT_SHORT: &str = "if the file was cut short, correct `count` to the answers that are there, or restore a copy";

const OTHER_SPEC: &str = "name the spec that it was made for, or begin another session file";

fn entry(read: &AnswerForm, node: &form::Node) -> Result<SessionEntry, Vec<Problem>> {
    let kinds = [
        read.seen.as_ref().map(|what| (what, SessionAnswer::Seen as fn(String) -> SessionAnswer)),
        read.read.as_ref().map(|what| (what, SessionAnswer::Read as fn(String) -> SessionAnswer)),
        read.cannot.as_ref().map(|what| (what, SessionAnswer::Cannot as fn(String) -> SessionAnswer)),
        read.unknown.as_ref().map(|what| (what, SessionAnswer::Unknown as fn(String) -> SessionAnswer)),
    ];
    let given: Vec<_> = kinds.into_iter().flatten().collect();
    match given[..] {
        [(what, answer)] => Ok(SessionEntry {
            answer: answer(what.value.0.clone()),
            when: read.when.as_ref().map_or_else(String::new, |when| when.0.clone()),
            place: Some(what.place),
        }),
        _ => {
            let place = given.last().map_or(node.place, |(what, _)| what.place);
            let problem = Problem::at(place, "an answer is one of seen, read, cannot and unknown");
            Err(vec![problem.hint("write `- {seen: \"dash black\", when: \"key run\"}`")])
        }
    }
}
