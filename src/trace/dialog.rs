//! The dialog of a trace: one question at a time, and what an answer means.

use super::probe::{NextStep, Probe};
use super::seen::{UNSTEADY, WrongAnswer};
use super::session::{SessionAnswer, SessionEntry};

/// What a tech wants.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DialogAnswer {
    /// An answer to the question.
    Entry(SessionEntry),
    /// To take the last answer back.
    Undo,
    /// To end.
    Quit,
}

/// The question about the complaint.
pub const COMPLAINT: &str = "\nWhat is wrong, and in which state? For example: dash black when key run, left; L1 off when key run; F2 blown; battery flat; \
     dash black now and then when reverse\n";

/// The answers that a step takes, in words, and one of them as it is typed.
pub(crate) fn answers(next: &NextStep) -> (&'static str, String) {
    let example = |text: &str| text.to_string();
    match &next.probe {
        Probe::Screen(_) => {
            // What comes and goes is no picture that can be named.
            let typed = next.answers.iter().find(|answer| answer.shows != UNSTEADY);
            let first = typed.map_or("black", |answer| answer.shows.split(',').next().unwrap_or_default()).to_string();
            ("black, home, disturbed, frozen CAMERA, or the name of the camera that it shows", first)
        }
        Probe::Part(_) => ("on, off, glows", example("off")),
        Probe::Mend { .. } => ("works, still (what was wrong is still so)", example("works")),
        Probe::NewFuse { .. } => ("holds, blows, or blows when STATE (the state in which it blew)", example("holds")),
        Probe::Plug(_) => ("right, exchanged", example("right")),
        Probe::Input(_) => ("shows, nothing", example("shows")),
        Probe::Battery(_) => ("amperes, such as 0.3 A", example("0.3 A")),
        Probe::Wire(_) => ("whole, open, shorted, or high (several ohms)", example("whole")),
        Probe::Fuse(_) => ("whole, blown", example("whole")),
        Probe::Cable(_) => ("whole, open, shorted", example("whole")),
        Probe::Wiggle(_) => ("changes, nothing", example("nothing")),
        Probe::Pin(_) | Probe::Unplugged(_) => {
            let answers = match next.answers.iter().any(|answer| answer.shows.starts_with("flashing")) {
                true => "volts, such as 11.9; flashing 11.9 where the voltage comes and goes (write the highest)",
                false => "volts, such as 11.9",
            };
            (answers, example("11.9 V"))
        }
        Probe::Drop(..) => ("volts, such as 0.2", example("0.2 V")),
        Probe::Lamp(_) => ("lit, dim, dark", example("lit")),
        Probe::Ohms(..) | Probe::ToGround(_) | Probe::Apart(_) => {
            ("ohms, such as 0.4 ohm, or open", example("0.4 ohm"))
        }
        Probe::Amps(_) => ("amperes, such as 0.8", example("0.8 A")),
    }
}

/// What a line means as the answer to a step; without a step, as the complaint.
///
/// # Errors
/// An empty line, or a complaint without a state.
pub fn answer(next: Option<&NextStep>, line: &str) -> Result<DialogAnswer, WrongAnswer> {
    let line = line.trim();
    match line.to_lowercase().as_str() {
        "undo" | "u" => return Ok(DialogAnswer::Undo),
        "quit" | "q" => return Ok(DialogAnswer::Quit),
        "" => {
            return Err(WrongAnswer {
                what: "nothing was answered".to_string(),
                hint: "write one of the answers, or ? if you do not know".to_string(),
            });
        }
        _ => {}
    }
    let Some(next) = next else {
        return entry(line, SessionAnswer::Seen).map(DialogAnswer::Entry);
    };
    let unknown = || (SessionAnswer::Unknown(next.ask.clone()), next.state.clone());
    // A state with the answer is an observation of its own.
    if line.contains(" when ") {
        let what = format!("{} {line}", next.ask);
        return entry(&what, kind_of(&next.probe)).map(DialogAnswer::Entry);
    }
    let (answer, when) = match line.to_lowercase().as_str() {
        UNSTEADY => unknown(),
        "?" | "do not know" | "don't know" | "unknown" => unknown(),
        "cannot" | "cannot reach" | "can't" => match pin(&next.probe) {
            Some(pin) => (SessionAnswer::Cannot(pin), String::new()),
            None => unknown(),
        },
        _ => {
            let what = format!("{} {line}", next.ask);
            let answer = kind_of(&next.probe)(what);
            (answer, next.state.clone())
        }
    };
    Ok(DialogAnswer::Entry(SessionEntry { answer, when, place: None }))
}

/// Observations that need no state end so.
const ENDS: [&str; 4] = [" blown", " whole", " new holds", " new blows"];

/// `TEXT when STATE` as an entry; a fuse needs no state.
///
/// # Errors
/// A text without a state that needs one.
pub fn entry(text: &str, kind: fn(String) -> SessionAnswer) -> Result<SessionEntry, WrongAnswer> {
    if let Some((what, when)) = text.split_once(" when ") {
        return Ok(SessionEntry { answer: kind(what.trim().to_string()), when: when.trim().to_string(), place: None });
    }
    let needs_none = ENDS.iter().any(|end| text.ends_with(end))
        || text.starts_with("battery ")
        || text.starts_with("plug ")
        || text.starts_with("input ")
        || text.contains(" alone ")
        || text.starts_with("cable ")
        || text.starts_with("mended ")
        || text.starts_with("wiggle ")
        || (text.contains(" to ")
            && (text.ends_with("open") || text.to_lowercase().contains("ohm") || text.contains('Ω')));
    match needs_none {
        true => Ok(SessionEntry { answer: kind(text.to_string()), when: String::new(), place: None }),
        false => Err(WrongAnswer {
            what: format!("`{text}` does not say in which state"),
            hint: "add `when` and the state, such as `when key run, reverse`".to_string(),
        }),
    }
}

/// Whether the answer to a probe is seen, not read from a meter.
pub(crate) fn is_seen(probe: &Probe) -> bool {
    matches!(
        probe,
        Probe::Screen(_)
            | Probe::Part(_)
            | Probe::Fuse(_)
            | Probe::NewFuse { .. }
            | Probe::Plug(_)
            | Probe::Input(_)
            | Probe::Cable(_)
            | Probe::Mend { .. }
            | Probe::Wiggle(_)
    )
}

/// An answer to a probe.
fn kind_of(probe: &Probe) -> fn(String) -> SessionAnswer {
    if is_seen(probe) { SessionAnswer::Seen } else { SessionAnswer::Read }
}

/// The pin that a probe needs first.
fn pin(probe: &Probe) -> Option<String> {
    match probe {
        Probe::Pin(pin) | Probe::Unplugged(pin) | Probe::Lamp(pin) | Probe::ToGround(pin) | Probe::Apart(pin) => {
            Some(pin.pin.clone())
        }
        Probe::Drop(from, _) | Probe::Ohms(from, _) => Some(from.pin.clone()),
        _ => None,
    }
}
