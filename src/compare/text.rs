//! A comparison for the terminal and for the bench.

use super::Comparison;
use super::behaviour::{Behaviour, CurrentChange, ShownChange};
use super::found::{FindingsChange, FoundLine};
use super::inventory::{Fitted, Strand, What};
use super::rework::{Exchanged, MovedEnd, Renamed, Replaced, Rework};
use facts::small_currents::current_words;

/// States that a line names; the rest are counted.
const NAMED_STATES: usize = 3;

/// The comparison as text: rework first, then behaviour, then findings.
pub fn text(comparison: &Comparison) -> String {
    if comparison.is_empty() {
        return format!("no difference between {} and {}\n", comparison.old, comparison.new);
    }
    let mut out = format!("from {}\nto   {}\n", comparison.old, comparison.new);
    for section in sections(comparison) {
        out.push_str(&format!("\n{}\n", section.title));
        section.lines.iter().for_each(|line| out.push_str(&format!("  {line}\n")));
    }
    out
}

/// A heading with its lines.
pub(crate) struct Section {
    /// The heading.
    pub title: String,
    /// The lines, in the order of the work.
    pub lines: Vec<String>,
}

/// Every section that has lines, in the order of the work.
pub(crate) fn sections(comparison: &Comparison) -> Vec<Section> {
    let mut sections = rework(&comparison.rework);
    sections.extend(behaviour(&comparison.behaviour));
    sections.extend(findings(&comparison.findings));
    sections.retain(|section| !section.lines.is_empty());
    sections
}

fn section(title: impl Into<String>, lines: Vec<String>) -> Section {
    Section { title: title.into(), lines }
}

fn rework(rework: &Rework) -> Vec<Section> {
    let renamed = |one: &Renamed| format!("{} becomes {}", one.from, one.to);
    let wire = |one: &Renamed| format!("wire {} becomes wire {}", one.from, one.to);
    let moved = |one: &MovedEnd| {
        let stays = if one.then.ends[0] == one.to { &one.then.ends[1] } else { &one.then.ends[0] };
        format!("wire {}: from {} to {}; its end at {stays} stays", one.wire, one.from, one.to)
    };
    vec![
        section(
            "Change labels",
            [
                rework.renamed_parts.iter().map(renamed).collect::<Vec<_>>(),
                rework.renumbered_wires.iter().map(wire).collect(),
            ]
            .concat(),
        ),
        section("Take out wires", rework.removed_wires.iter().map(strand).collect()),
        section("Take out parts", rework.removed_parts.iter().map(fitted).collect()),
        section("Exchange parts", rework.exchanged_parts.iter().map(exchanged).collect()),
        section("Fit parts", rework.added_parts.iter().map(fitted).collect()),
        section("Move ends of wires", rework.moved_ends.iter().map(moved).collect()),
        section("Shorten or reroute", rework.trimmed_wires.iter().map(trimmed).collect()),
        section("Replace wires", rework.replaced_wires.iter().map(replaced).collect()),
        section("Run wires", rework.added_wires.iter().map(strand).collect()),
    ]
}

fn fitted(part: &Fitted) -> String {
    let what = match part.what {
        What::Part => "",
        What::Connector => "connector ",
        What::Splice => "splice ",
        What::Ground => "ground point ",
        What::Vehicle => "tap or supply of the vehicle ",
    };
    let rating = part.rating.map_or_else(String::new, |amps| format!(", {amps}"));
    let place = if part.place.is_empty() { String::new() } else { format!(", at {}", part.place) };
    let kind = if part.what == What::Part || part.what == What::Connector {
        format!(" ({})", part.kind)
    } else {
        String::new()
    };
    format!("{what}{}{kind}{rating}{place}", part.name)
}

fn exchanged(one: &Exchanged) -> String {
    let (old, new) = (&one.old, &one.new);
    let mut changes = Vec::new();
    if old.kind != new.kind {
        changes.push(format!("{} instead of {}", new.kind, old.kind));
    }
    if old.rating != new.rating {
        let words = |part: &Fitted| part.rating.map_or_else(|| "no rating".to_string(), |amps| amps.to_string());
        changes.push(format!("{} instead of {}", words(new), words(old)));
    }
    if old.place != new.place {
        changes.push(format!("moves from {} to {}", old.place, new.place));
    }
    if old.plugged != new.plugged {
        let words =
            |part: &Fitted| if part.plugged.is_empty() { "nothing".to_string() } else { part.plugged.join(", ") };
        changes.push(format!("plugged to {} instead of {}", words(new), words(old)));
    }
    if old.existing != new.existing {
        changes.push(
            if new.existing { "is already in the vehicle" } else { "is no longer the vehicle's own" }.to_string(),
        );
    }
    format!("{}: {}", new.name, changes.join(", "))
}

/// A wire with its ends, colour, size and cut length.
fn strand(wire: &Strand) -> String {
    let [from, to] = &wire.ends;
    let cut = wire.cut.map(|cut| format!("cut {cut}"));
    let facts: Vec<String> =
        [reel(wire), cut.unwrap_or_default()].into_iter().filter(|word| !word.is_empty()).collect();
    let facts = if facts.is_empty() { String::new() } else { format!(", {}", facts.join(", ")) };
    format!("wire {}: {from} – {to}{facts}", wire.id)
}

/// What a wire is cut from: `RD 0.75 mm²`.
fn reel(wire: &Strand) -> String {
    let colour = wire.colour.map(|colour| colour.to_string());
    let gauge = wire.gauge.map(|gauge| gauge.to_string());
    let make = (wire.make != spec::WireMake::Single).then(|| wire.make.to_string());
    [colour, gauge, make].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn trimmed(one: &Replaced) -> String {
    let (old, new) = (&one.old, &one.new);
    match (old.cut, new.cut) {
        (Some(from), Some(to)) if from != to => format!("wire {}: {to} is enough, it has {from}", old.id),
        _ => format!("wire {}: goes by {}", old.id, new.way.join(", ")),
    }
}

fn replaced(one: &Replaced) -> String {
    let (old, new) = (&one.old, &one.new);
    let mut why = Vec::new();
    if reel(old) != reel(new) {
        why.push(format!("{} instead of {}", reel(new), reel(old)));
    }
    if let (Some(from), Some(to)) = (old.cut, new.cut)
        && from < to
    {
        why.push(format!("{from} is too short"));
    }
    format!("{}: {}", strand(new), why.join(", "))
}

fn behaviour(behaviour: &Behaviour) -> Vec<Section> {
    let [before, after] = behaviour.states;
    let mut lines = Vec::new();
    let inputs = |names: &[String], words: &str| (!names.is_empty()).then(|| format!("{words}: {}", names.join(", ")));
    lines.extend(inputs(&behaviour.gone_inputs, "inputs that are gone"));
    lines.extend(inputs(&behaviour.new_inputs, "new inputs (the old states are compared with these at rest)"));
    let shown = |one: &ShownChange| {
        format!("screen {}: {} instead of {}, {}", one.what, one.to, one.from, in_states(&one.states))
    };
    lines.extend(behaviour.screens.iter().map(shown));
    let relay =
        |one: &ShownChange| format!("{} is {} instead of {}, {}", one.what, one.to, one.from, in_states(&one.states));
    lines.extend(behaviour.relays.iter().map(relay));
    lines.extend(behaviour.currents.iter().map(current));
    let states = |names: &[String], words: &str| (!names.is_empty()).then(|| format!("{words}: {}", few(names)));
    lines.extend(states(&behaviour.gone_states, "states that it no longer reaches"));
    lines.extend(states(&behaviour.new_states, "states that it did not reach before"));
    let count =
        if before == after { format!("{after} states") } else { format!("{before} states before, {after} after") };
    vec![section(format!("What it does otherwise ({count})"), lines)]
}

fn current(one: &CurrentChange) -> String {
    let more = match one.states {
        1 => String::new(),
        2 => ", and changes in 1 more state".to_string(),
        n => format!(", and changes in {} more states", n - 1),
    };
    format!(
        "{} carries {} instead of {} in state {}{more}",
        one.fuse,
        current_words(one.to),
        current_words(one.from),
        one.state
    )
}

fn in_states(states: &[String]) -> String {
    let word = if states.len() == 1 { "state" } else { "states" };
    format!("in {} {word}: {}", states.len(), few(states))
}

/// The first few names; the rest as a number.
fn few(names: &[String]) -> String {
    let shown = names.iter().take(NAMED_STATES).cloned().collect::<Vec<_>>().join(" | ");
    match names.len().saturating_sub(NAMED_STATES) {
        0 => shown,
        n => format!("{shown} | and {n} more"),
    }
}

fn findings(findings: &FindingsChange) -> Vec<Section> {
    let line = |found: &FoundLine| format!("{}[{}]: {}", found.severity.word(), found.rule, found.message);
    let changed = |[_, now]: &[FoundLine; 2]| line(now);
    vec![
        section("Findings that are gone", findings.gone.iter().map(line).collect()),
        section("New findings", findings.new.iter().map(line).collect()),
        section("Findings with other figures", findings.changed.iter().map(changed).collect()),
    ]
}
