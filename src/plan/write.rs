//! The text of a proposal: the wish's own text, with the new parts, splices and wires after what it has.

use crate::harness::Assembled;
use crate::lay::{NewSplice, NewWire};
use crate::wish::{Button, WishRead};
use form::{Kind, Node, Place, Placed};
use quantity::{Amps, Gauge};
use std::collections::BTreeMap;

/// What is written into the wish.
pub struct Additions<'a> {
    pub assembled: &'a Assembled,
    pub ratings: &'a [Amps],
    pub wires: &'a [NewWire],
    pub splices: &'a [NewSplice],
    /// The gauges of wires by number, where they are chosen.
    pub gauges: &'a BTreeMap<String, Gauge>,
}

/// A wish with everything that it needs.
pub fn text(wish: &WishRead, additions: &Additions) -> String {
    let Ok(root) = form::node::parse(0, &wish.text) else { return wish.text.clone() };
    let Kind::Map(sections) = &root.kind else { return wish.text.clone() };
    let mut edits: Vec<(usize, usize, String)> = Vec::new();
    for button in &wish.buttons {
        edits.extend(button_edits(&wish.text, sections, button));
    }
    let mut end = String::new();
    let all =
        [("parts", parts(wish, additions)), ("splices", splices(wish, additions)), ("wires", wires(wish, additions))];
    for (section, lines) in all {
        if lines.is_empty() {
            continue;
        }
        match extended(&wish.text, sections, section, &lines) {
            Some(edit) => edits.push(edit),
            None => end += &format!("\n{section}:\n{}", indented(&lines, 2)),
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
    for button in &wish.buttons {
        let title = wish.form.inputs.get(&button.input).and_then(|input| input.title.as_ref());
        let title = title.map_or_else(|| button.input.to_string(), |title| title.0.clone());
        lines.push(format!("{}: {{use: {}, at: {}, title: {}}}", button.part, button.kind, button.at, quoted(&title)));
    }
    for (index, part) in additions.assembled.parts.iter().enumerate() {
        let fuse = additions.assembled.fuses.iter().position(|fuse| fuse.part == index);
        let rating = fuse.map_or_else(String::new, |fuse| format!(", rating: {}", additions.ratings[fuse]));
        let more: String = part.more.iter().map(|(key, value)| format!(", {key}: {value}")).collect();
        let at = place(wish, part.at);
        lines.push(format!(
            "{}: {{use: {}, at: {at}{rating}{more}, title: {}}}",
            part.name,
            part.kind,
            quoted(&part.title)
        ));
    }
    if !lines.is_empty() {
        lines.insert(0, "# planned".to_string());
    }
    lines
}

fn splices(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let line = |splice: &NewSplice| format!("{}: {{at: {}}}   # {}", splice.name, place(wish, splice.at), splice.group);
    additions.splices.iter().map(line).collect()
}

fn wires(wish: &WishRead, additions: &Additions) -> Vec<String> {
    let mut lines = Vec::new();
    let mut groups: Vec<&str> = Vec::new();
    for wire in additions.wires {
        if !groups.contains(&wire.group.as_str()) {
            groups.push(&wire.group);
        }
    }
    let mut number = first_number(wish);
    for group in groups {
        lines.push(format!("# {group}"));
        for wire in additions.wires.iter().filter(|wire| wire.group == group) {
            let id = number.to_string();
            number += 1;
            let gauge = additions.gauges.get(&id).map_or_else(String::new, |gauge| format!(", gauge: {gauge}"));
            let picture = match wire.picture.as_str() {
                "" => String::new(),
                name => format!(", make: coax, signal: {}", quoted(name)),
            };
            let gauge = if picture.is_empty() { gauge } else { String::new() };
            let (from, to) = (&wire.from, &wire.to);
            lines.push(format!("- {{id: {id}, from: {from}, to: {to}{gauge}, colour: {}{picture}}}", wire.colour));
        }
    }
    lines
}

/// The first number after those of the wish's own wires.
fn first_number(wish: &WishRead) -> usize {
    let numbers = wish.form.wires.iter().filter_map(|wire| wire.id.value.parse::<usize>().ok());
    numbers.max().map_or(1, |largest| (largest / 10 + 1) * 10)
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
            let dash = if name == "wires" { "- " } else { "" };
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

/// The entries inside the outer braces or brackets of a text.
fn flow_items(text: &str) -> Vec<String> {
    let (mut items, mut item) = (Vec::new(), String::new());
    let (mut depth, mut quote) = (0usize, None);
    for c in text.trim().chars() {
        match (quote, c) {
            (Some(q), c) if c == q => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(c),
            (None, '{' | '[') => depth += 1,
            (None, '}' | ']') => depth = depth.saturating_sub(1),
            _ => {}
        }
        let outer = (depth == 1 && item.is_empty() && matches!(c, '{' | '[')) || depth == 0;
        match c {
            ',' if depth == 1 && quote.is_none() => items.push(std::mem::take(&mut item)),
            _ if outer && items.is_empty() && item.is_empty() => {}
            _ if depth == 0 => {}
            '\n' => item.push(' '),
            _ => item.push(c),
        }
    }
    items.push(item);
    items.iter().map(|item| item.trim().to_string()).filter(|item| !item.is_empty()).collect()
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
    use super::{button_edits, flow_items};
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

    #[test]
    fn entries_in_braces_are_split_at_their_commas_alone() {
        let items = flow_items(" {F1: {use: fuse-blade, rating: 3 A}, HU1: {title: \"a, b\"}}");
        assert_eq!(items, ["F1: {use: fuse-blade, rating: 3 A}", "HU1: {title: \"a, b\"}"]);
        assert_eq!(flow_items("[{id: 1, from: a}, {id: 2}]"), ["{id: 1, from: a}", "{id: 2}"]);
        assert_eq!(flow_items("{}"), Vec::<String>::new());
    }
}
