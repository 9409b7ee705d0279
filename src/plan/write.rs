//! The text of a proposal: the wish's own text, with the new parts, splices and wires after what it has.

use crate::harness::{Assembled, NewConnector, NewSplice};
use crate::lay::Laid;
use crate::sections::flow_items;
use crate::wish::{Button, WishRead};
use form::{Kind, Node, Place, Placed};
use quantity::{Amps, Gauge};
use std::collections::BTreeMap;

/// What is written into the wish.
pub struct Additions<'a> {
    pub assembled: &'a Assembled,
    pub ratings: &'a [Amps],
    pub laid: &'a Laid,
    /// The gauges of wires by number, where they are chosen.
    pub gauges: &'a BTreeMap<String, Gauge>,
    /// Whether what an earlier plan has is written as it stands there; else its sizes are chosen again.
    pub verbatim: bool,
    /// The numbers of an earlier plan's wires: no new wire takes one.
    pub numbers: &'a [String],
    /// Lines of an earlier plan that say nothing about wiring, by section.
    pub carried: &'a [(&'static str, Vec<String>)],
    /// What each part and wire is for, by its name or number.
    pub purposes: &'a BTreeMap<String, String>,
}

/// What plan says a part or a wire is for begins with this.
pub const PURPOSE: &str = "   # for ";

/// A wish with everything that it needs.
pub fn text(wish: &WishRead, additions: &Additions) -> String {
    let (parts, connectors) = (parts(wish, additions), connectors(wish, additions));
    let (splices, wires) = (splices(wish, additions), wires(wish, additions));
    let mut all = vec![("parts", parts), ("connectors", connectors), ("splices", splices), ("wires", wires)];
    all.extend(additions.carried.iter().cloned());
    with_lines(wish, &all)
}

/// A wish with lines added to its sections.
pub fn with_lines(wish: &WishRead, all: &[(&str, Vec<String>)]) -> String {
    let Ok(root) = form::node::parse(0, &wish.text) else { return wish.text.clone() };
    let Kind::Map(sections) = &root.kind else { return wish.text.clone() };
    let mut edits: Vec<(usize, usize, String)> = Vec::new();
    for button in &wish.buttons {
        edits.extend(button_edits(&wish.text, sections, button));
    }
    let mut end = String::new();
    for (section, lines) in all.iter().filter(|(_, lines)| !lines.is_empty()) {
        match extended(&wish.text, sections, section, lines) {
            Some(edit) => edits.push(edit),
            None => end += &format!("\n{section}:\n{}", indented(lines, 2)),
        }
    }
    edits.sort_by_key(|(start, ..)| std::cmp::Reverse(*start));
    let mut text = wish.text.clone();
    for (start, stop, replacement) in edits {
        text.replace_range(start..stop, &replacement);
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text + &end
}

fn indented(lines: &[String], indent: usize) -> String {
    lines.iter().map(|line| format!("{:indent$}{line}\n", "")).collect()
}

fn place(wish: &WishRead, at: usize) -> &str {
    wish.form.places.get(at).map_or("", |place| place.value.as_str())
}

fn quoted(text: &str) -> String {
    let plain = text.chars().all(|c| c.is_alphanumeric() || " -.()/".contains(c)) && !text.ends_with(' ');
    let word = matches!(text, "yes" | "no" | "on" | "off" | "true" | "false" | "null" | "");
    if plain && !word && text.starts_with(char::is_alphabetic) {
        text.to_string()
    } else {
        format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
    }
}

fn parts(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let mut lines = Vec::new();
    let mut add = |name: &str, written: Vec<String>| lines.extend(purposed(written, name, additions));
    for button in &wish.buttons {
        let title = wish.form.inputs.get(&button.input).and_then(|input| input.title.as_ref());
        let title = title.map_or_else(|| button.input.to_string(), |title| title.0.clone());
        let line = format!("{}: {{use: {}, at: {}, title: {}}}", button.part, button.kind, button.at, quoted(&title));
        add(&button.part, button.kept.clone().unwrap_or_else(|| vec![line]));
    }
    for (index, part) in additions.assembled.parts.iter().enumerate() {
        let fuse = additions.assembled.fuses.iter().position(|fuse| fuse.part == index);
        let rating = fuse.map(|fuse| additions.ratings[fuse]);
        if let Some(kept) = part.kept.as_ref().filter(|kept| kept.rating == rating && additions.verbatim)
            && !kept.lines.is_empty()
        {
            add(&part.name, kept.lines.clone());
            continue;
        }
        let rating = rating.map_or_else(String::new, |rating| format!(", rating: {rating}"));
        let more: String = part.more.iter().map(|(key, value)| format!(", {key}: {value}")).collect();
        let (name, kind, at) = (&part.name, &part.kind, place(wish, part.at));
        let title = quoted(part.kept.as_ref().and_then(|kept| kept.title.as_ref()).unwrap_or(&part.title));
        add(name, vec![format!("{name}: {{use: {kind}, at: {at}{rating}{more}, title: {title}}}")]);
    }
    if !lines.is_empty() {
        lines.insert(0, "# planned".to_string());
    }
    lines
}

/// An entry with a comment behind its first line: its purpose, in place of that from an earlier plan.
fn purposed(mut lines: Vec<String>, name: &str, additions: &Additions) -> Vec<String> {
    if let (Some(first), Some(purpose)) = (lines.first_mut(), additions.purposes.get(name)) {
        let own = first.split(PURPOSE).next().unwrap_or_default();
        *first = format!("{}{PURPOSE}{purpose}", own.trim_end());
    }
    lines
}

/// A spec's text with what each planned part and wire is for as it is now, where it says so.
pub fn retold(text: &str, purposes: &BTreeMap<String, String>) -> String {
    let retold = |line: &str| {
        let Some((entry, _)) = line.split_once(PURPOSE) else { return line.to_string() };
        let inner = entry.trim_start().trim_start_matches("- {id:").trim_start();
        let name = inner.split([':', ',', ' ']).next().unwrap_or_default();
        purposes.get(name).map_or_else(|| entry.to_string(), |purpose| format!("{entry}{PURPOSE}{purpose}"))
    };
    text.lines().map(retold).collect::<Vec<_>>().join("\n") + "\n"
}

fn connectors(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let line = |half: &NewConnector| {
        let line = || {
            let mates = half.mates.as_ref().map_or_else(String::new, |mate| format!(", mates: {mate}"));
            let (name, at) = (&half.name, place(wish, half.at));
            vec![format!("{name}: {{use: {}, at: {at}{mates}, title: {}}}", half.kind, quoted(&half.title))]
        };
        purposed(half.kept.clone().unwrap_or_else(line), &half.name, additions)
    };
    additions.laid.connectors.iter().flat_map(line).collect()
}

fn splices(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let line = |splice: &NewSplice| {
        let line = || vec![format!("{}: {{at: {}}}   # {}", splice.name, place(wish, splice.at), splice.group)];
        purposed(splice.kept.clone().unwrap_or_else(line), &splice.name, additions)
    };
    additions.laid.splices.iter().flat_map(line).collect()
}

fn wires(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let mut lines = Vec::new();
    let mut groups: Vec<&str> = Vec::new();
    for wire in &additions.laid.wires {
        if !groups.contains(&wire.group.as_str()) {
            groups.push(&wire.group);
        }
    }
    let mut number = first_number(wish, additions.numbers);
    for group in groups {
        lines.push(format!("# {group}"));
        for wire in additions.laid.wires.iter().filter(|wire| wire.group == group) {
            let id = wire.id.clone().unwrap_or_else(|| {
                number += 1;
                (number - 1).to_string()
            });
            if let Some(kept) = wire.kept.clone().filter(|_| additions.verbatim) {
                lines.extend(purposed(kept, &id, additions));
                continue;
            }
            let gauge = additions.gauges.get(&id).map_or_else(String::new, |gauge| format!(", gauge: {gauge}"));
            let picture = match wire.picture.as_str() {
                "" => String::new(),
                name => format!(", make: coax, signal: {}", quoted(name)),
            };
            let gauge = if picture.is_empty() { gauge } else { String::new() };
            let (from, to) = (&wire.from, &wire.to);
            let line = format!("- {{id: {id}, from: {from}, to: {to}{gauge}, colour: {}{picture}}}", wire.colour);
            lines.extend(purposed(vec![line], &id, additions));
        }
    }
    lines
}

/// The first number after those of the wish's own wires, and after those of an earlier plan.
fn first_number(wish: &WishRead, earlier: &[String]) -> usize {
    let numbers = wish.form.wires.iter().filter_map(|wire| wire.id.value.parse::<usize>().ok());
    let after_own = numbers.max().map_or(1, |largest| (largest / 10 + 1) * 10);
    let largest = earlier.iter().filter_map(|number| number.parse::<usize>().ok()).max();
    largest.map_or(after_own, |largest| after_own.max(largest + 1))
}

/// The edit that adds lines to a section: after its last entry. A section in braces becomes lines first.
fn extended(
    text: &str,
    sections: &[(Placed<String>, Node)],
    name: &str,
    lines: &[String],
) -> Option<(usize, usize, String)> {
    let index = sections.iter().position(|(key, _)| key.value == name)?;
    let (key, _) = &sections[index];
    let start = key.place.end + text[key.place.end..].find(':')? + 1;
    let stop = sections.get(index + 1).map_or(text.len(), |(next, _)| line_start(text, next.place));
    let body = &text[start..stop];
    // Comments and blank lines above the next section belong to it.
    let mut kept = body;
    while let Some((before, last)) = kept.trim_end_matches('\n').rsplit_once('\n') {
        let last = last.trim_end();
        if !last.is_empty() && !last.starts_with('#') {
            break;
        }
        kept = before;
    }
    let kept = kept.trim_end();
    let flow = kept.trim_start().starts_with(['{', '[']);
    let written = match flow {
        true => {
            let items = flow_items(kept);
            let dash = if matches!(name, "wires" | "accept") { "- " } else { "" };
            format!("\n{}", items.iter().map(|item| format!("  {dash}{item}\n")).collect::<String>())
        }
        false => format!("{kept}\n"),
    };
    let entry = |line: &&str| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    let indent =
        if flow { 2 } else { kept.lines().skip(1).find(entry).map_or(2, |line| line.len() - line.trim_start().len()) };
    let end = start + kept.len();
    let rest = if text[end..].starts_with('\n') { 1 } else { 0 };
    Some((start, end + rest, written + &indented(lines, indent)))
}

fn line_start(text: &str, place: Place) -> usize {
    text[..place.start].rfind('\n').map_or(0, |at| at + 1)
}

/// The edits that give a button its part.
fn button_edits(text: &str, sections: &[(Placed<String>, Node)], button: &Button) -> Vec<(usize, usize, String)> {
    let value = |entries: &[(Placed<String>, Node)], key: &str| {
        entries.iter().find(|(k, _)| k.value == key).map(|(k, node)| (k.place, node.clone()))
    };
    let Some((_, inputs)) = value(sections, "inputs") else { return Vec::new() };
    let Kind::Map(inputs) = &inputs.kind else { return Vec::new() };
    let Some((_, input)) = value(inputs, &button.input) else { return Vec::new() };
    let Kind::Map(keys) = &input.kind else { return Vec::new() };
    let Some((_, kind)) = value(keys, "kind") else { return Vec::new() };
    let word = if button.stays { "toggle" } else { &text[kind.place.start..kind.place.end] };
    let mut edits = vec![(kind.place.start, kind.place.end, format!("{word}, part: {}", button.part))];
    let first = keys.first().map_or(0, |(key, _)| key.place.start);
    let flow = text[line_start(text, keys[0].0.place)..first].contains('{');
    if !flow {
        let indent = first - line_start(text, keys[0].0.place);
        edits[0].2 = format!("{word}\n{:indent$}part: {}", "", button.part);
    }
    let gone = |key: &Placed<String>| matches!(key.value.as_str(), "acts" | "at");
    for (index, (key, node)) in keys.iter().enumerate().filter(|(_, (key, _))| gone(key)) {
        // With the comma before it; of the first ones, with the comma behind.
        let leads = keys[..index].iter().all(|(before, _)| gone(before));
        let after = &text[node.place.end..];
        let comma = after.trim_start().strip_prefix(',').map_or(after, str::trim_start);
        let span = match (flow, leads) {
            (true, true) => (key.place.start, text.len() - comma.len()),
            (true, false) => (text[..key.place.start].trim_end().trim_end_matches(',').len(), node.place.end),
            (false, _) => {
                (line_start(text, key.place), node.place.end + after.find('\n').map_or(after.len(), |at| at + 1))
            }
        };
        edits.push((span.0, span.1, String::new()));
    }
    edits
}

#[cfg(test)]
mod tests {
    use super::button_edits;
    use crate::wish::Button;
    use form::{Kind, Name};

    /// Wherever `acts` and `at` stand in a button's entry, it reads as a toggle with a part.
    #[test]
    fn a_button_gets_its_part_in_every_order_of_its_keys() {
        let keys = ["kind: push", "acts: toggles", "at: dash", "title: Arm"];
        let button = Button {
            input: Name::new("arm"),
            part: Name::new("SW1"),
            kind: String::new(),
            at: Name::new("dash"),
            stays: true,
            kept: None,
        };
        for number in 0..256usize {
            let order: Vec<usize> = (0..4).map(|i| number >> (2 * i) & 3).collect();
            if (0..4).any(|i| !order.contains(&i)) {
                continue;
            }
            let entry: Vec<&str> = order.iter().map(|i| keys[*i]).collect();
            let lines: String = entry.iter().map(|key| format!("    {key}\n")).collect();
            for text in [format!("inputs:\n  arm: {{{}}}\n", entry.join(", ")), format!("inputs:\n  arm:\n{lines}")] {
                let Kind::Map(sections) = form::node::parse(0, &text).expect("it reads").kind else { panic!("{text}") };
                let mut edits = button_edits(&text, &sections, &button);
                edits.sort_by_key(|(start, ..)| std::cmp::Reverse(*start));
                let mut edited = text.clone();
                edits.into_iter().for_each(|(start, end, new)| edited.replace_range(start..end, &new));
                let root = form::node::parse(0, &edited).unwrap_or_else(|_| panic!("{text}{edited}"));
                let shown = format!("{root:?}");
                assert!(shown.contains("toggle") && shown.contains("SW1") && shown.contains("Arm"), "{edited}");
                assert!(!shown.contains("acts") && !shown.contains("dash") && !shown.contains("push"), "{edited}");
            }
        }
    }
}
