//! A diagnosis for the terminal.

use super::belief::TraceVerdict;
use super::dialog;
use super::probe::{NextStep, Probe, ProbePin};
use super::{Diagnosis, SuspectedFault};

/// Suspects that are listed; the rest are counted.
const LISTED: usize = 8;

/// Faults that are listed with a suspect because they show the same or need the same repair.
const ALIKE: usize = 5;

/// Suspects below this probability are only counted.
const LEAST_SHOWN: f64 = 0.01;

/// What to mind when measuring on a live harness.
pub(crate) const CAUTION: &str = "Measure only. Leave airbag (SRS) and bus wiring alone, bridge no fuse, pierce no insulation. Before a step that moves\nthe vehicle or something on it: parking brake on, wheels blocked, nobody in the way.\n";

/// The diagnosis as text, with the next step, how to answer it, and what to mind. `observed` are the observations in words,
/// in their order.
pub fn text(diagnosis: &Diagnosis, observed: &[String]) -> String {
    let next = diagnosis.next.as_ref().map(|next| step(next) + &flag(next)).unwrap_or_default();
    suspects_text(diagnosis, observed) + &next + "\n" + CAUTION
}

/// The question of a step, with the answers that it takes.
pub fn question(next: &NextStep) -> String {
    let (answers, _) = dialog::answers(next);
    format!("{}answer: {answers}; cannot (reach it), ? (do not know), undo, quit\n", step(next))
}

/// How a step is answered with a flag, beside the flags that were given before.
fn flag(next: &NextStep) -> String {
    let when = if next.state.is_empty() { String::new() } else { format!(" when {}", next.state) };
    let flag = if dialog::is_seen(&next.probe) { "--seen" } else { "--read" };
    let (answers, example) = dialog::answers(next);
    format!("to answer, add {flag} '{} {example}{when}' or another answer: {answers}\n", next.ask)
}

/// The suspects as text.
pub fn suspects_text(diagnosis: &Diagnosis, observed: &[String]) -> String {
    let mut out = String::from(match diagnosis.verdict {
        TraceVerdict::Mended => "mended, and it works again:\n",
        TraceVerdict::MendedInPart => "mended in part: what it was mended for works again:\n",
        TraceVerdict::Found => "found:\n",
        TraceVerdict::Open => "suspects:\n",
        TraceVerdict::AlmostCertain => "almost certain, to be confirmed by the repair:\n",
        TraceVerdict::Inseparable => "suspects that no measurement from here distinguishes:\n",
        TraceVerdict::NothingFits => "no single fault explains this; nearest:\n",
    });
    let shown = diagnosis.suspects.iter().take(LISTED).filter(|suspect| suspect.probability >= LEAST_SHOWN);
    let lines: Vec<String> = shown.map(line).collect();
    lines.iter().for_each(|line| out.push_str(line));
    if let Some(more) = diagnosis.suspects.len().checked_sub(lines.len() + 1) {
        out.push_str(&format!("         and {} more\n", more + 1));
    }
    for pair in &diagnosis.pairs {
        out.push_str(&format!("  together {:.0} %: {}\n", pair.probability * 100.0, pair.faults.join(", and ")));
    }
    let named = |number: usize| match number.checked_sub(1).and_then(|at| observed.get(at)) {
        Some(words) => format!("{number} (`{words}`)"),
        None => number.to_string(),
    };
    if let Some(repeat) = diagnosis.repeat {
        out.push_str(&format!(
            "make observation {} again: without it, one fault explains the rest best\n",
            named(repeat)
        ));
    } else if !diagnosis.doubtful.is_empty() {
        let all: Vec<String> = diagnosis.doubtful.iter().map(|number| named(*number)).collect();
        let why = match diagnosis.verdict {
            TraceVerdict::MendedInPart => {
                "this repair does not explain it. If it is still so, trace it in a new session"
            }
            _ => "the first suspect does not explain it",
        };
        out.push_str(&format!("make observation {} again: {why}\n", all.join(", ")));
    }
    out
}

fn line(suspect: &SuspectedFault) -> String {
    let places = if suspect.places.is_empty() { String::new() } else { format!("  [{}]", suspect.places.join(", ")) };
    let mut faults = suspect.faults.iter();
    let first = faults.next().cloned().unwrap_or_default();
    // Nothing that was read is certain.
    let percent = match suspect.probability * 100.0 {
        all if all > 99.0 => ">99".to_string(),
        part => format!("{part:>3.0}"),
    };
    let mut out = format!("  {percent} %  {first}{places}\n");
    let more = faults.len().saturating_sub(ALIKE);
    faults.take(ALIKE).for_each(|fault| out.push_str(&format!("         or {fault}\n")));
    if more > 0 {
        out.push_str(&format!("         or one of {more} more that show the same or need the same repair\n"));
    }
    out
}

/// A step in words, with its cautions and answers.
pub(crate) fn step(next: &NextStep) -> String {
    let set = set_words(&next.state);
    let again = if next.again { "once more, to be sure: " } else { "" };
    let mut out = String::from("\n");
    // What to mind is read before the step, not after it.
    next.cautions.iter().for_each(|caution| out.push_str(&format!("caution: {caution}\n")));
    out.push_str(&format!("next ({:.1} min): {again}{set}{}\n", next.minutes, what(&next.probe)));
    for answer in &next.answers {
        let more = if answer.more == 0 { String::new() } else { format!(", and {} more", answer.more) };
        out.push_str(&format!(
            "  {} ({:.0} %): {}{more}\n",
            answer.shows,
            answer.probability * 100.0,
            answer.suspects.join("; ")
        ));
    }
    out
}

/// What to set before a step, from the name of a state: `set key run, reverse, so that K5 is out, then `. Nothing where the
/// state does not matter.
pub(crate) fn set_words(state: &str) -> String {
    let (inputs, follows) = state.split_once("; ").unwrap_or((state, ""));
    let follows = follows.split(", ").filter_map(|part| part.rsplit_once(' '));
    let follows: Vec<String> = follows.map(|(part, is)| format!("{part} is {is}")).collect();
    // A fault may keep it from that.
    let so =
        if follows.is_empty() { String::new() } else { format!(" (without the fault {} then)", follows.join(" and ")) };
    match inputs {
        "" => String::new(),
        "at rest" => format!("set everything to rest{so}, then "),
        _ => format!("set {inputs}{so}, then "),
    }
}

/// What to do at a probe.
pub fn what(probe: &Probe) -> String {
    let at = |pin: &ProbePin| {
        let wires = if pin.wires.is_empty() { String::new() } else { format!(", wire {}", pin.wires.join(", ")) };
        match pin.by_wire && !pin.wires.is_empty() {
            true => format!("the end of wire {} at {} ({})", pin.wires.join(", "), pin.pin, pin.place),
            false => format!("{} ({}{wires})", pin.pin, pin.place),
        }
    };
    let part = |pin: &ProbePin| pin.pin.split('.').next().unwrap_or_default().to_string();
    match probe {
        Probe::Mend { action, state } => {
            let set = set_words(state);
            let set = set.strip_suffix(", then ").map_or_else(String::new, |set| format!("{set} and "));
            format!("{action}; then {set}see whether what was wrong works now")
        }
        Probe::NewFuse { fuse, rating, states } => format!(
            "compare the old fuse's rating with {rating}, which is drawn, put a new {rating} fuse in for {fuse}, and set one \
             state after the other ({}): does it hold, or in which state does it blow?",
            match &states[..] {
                [] => "those in which it is needed".to_string(),
                _ => states.join("; "),
            }
        ),
        Probe::Input(pin) => {
            format!("put the plug of another camera, whose picture is right, into {pin}: does its picture show?")
        }
        Probe::Plug(part) => format!("compare the plugs and wires at {part} with its drawing, cavity by cavity"),
        Probe::Battery(limit) => {
            format!("measure the current from the battery with everything at rest: more than {limit}?")
        }
        Probe::Wire(wire) => format!(
            "take wire {wire} off at both ends and measure it from end to end, to the body and to the wires beside it"
        ),
        Probe::Screen(screen) => format!("look at screen {screen}"),
        Probe::Part(part) => format!("see or hear whether {part} works"),
        Probe::Fuse(fuse) => format!("look whether fuse {fuse} is whole"),
        Probe::Cable(wire) => {
            format!("unplug picture cable {wire} at both ends and measure its core from end to end and to its shield")
        }
        Probe::Wiggle(place) => format!("move wires and plugs at {place} and watch what failed"),
        Probe::Pin(pin) => format!("measure the voltage at {} against the battery's negative", at(pin)),
        Probe::Unplugged(pin) => {
            format!("unplug {} and measure the voltage at {} against the battery's negative", part(pin), at(pin))
        }
        Probe::Lamp(pin) => format!("hold a test lamp between {} and the battery's negative", at(pin)),
        Probe::Drop(from, to) => format!("measure the voltage from {} to {}", at(from), at(to)),
        Probe::Ohms(from, to) => format!("measure the resistance from {} to {}", at(from), at(to)),
        Probe::ToGround(pin) => format!("measure the resistance from {} to the battery's negative lead", at(pin)),
        Probe::Apart(pin) => {
            format!("unplug {} and measure the resistance from {} to the battery's negative lead", part(pin), at(pin))
        }
        Probe::Amps(wire) => format!("measure the current in wire {wire}, with the meter in series"),
    }
}
