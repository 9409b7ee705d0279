//! The entries of a spec's sections as text, with the comments above them.

use form::{Kind, Node, Placed};

/// An entry of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SectionEntry {
    /// Its name; of a wire, its number.
    pub name: String,
    /// The comments above it, each a line.
    pub above: Vec<String>,
    /// The entry itself, without its indent.
    pub lines: Vec<String>,
}

impl SectionEntry {
    /// Whether it has the same name, or, without one, the same text.
    pub fn same_as(&self, other: &SectionEntry) -> bool {
        self.name == other.name && (!self.name.is_empty() || self.lines == other.lines)
    }
}

/// The entries of a section, in their order; none if there is no such section.
pub fn entries(text: &str, section: &str) -> Vec<SectionEntry> {
    let Ok(root) = form::node::parse(0, text) else { return Vec::new() };
    let Kind::Map(sections) = &root.kind else { return Vec::new() };
    let Some(index) = sections.iter().position(|(key, _)| key.value == section) else { return Vec::new() };
    let (key, node) = &sections[index];
    let end = sections.get(index + 1).map_or(usize::MAX, |(next, _)| next.place.line);
    let starts = starts(node);
    let body = text[key.place.end..].trim_start_matches([':', ' ']);
    if body.starts_with(['{', '[']) {
        let stop = sections.get(index + 1).map_or(text.len(), |(next, _)| next.place.start);
        let dash = if body.starts_with('[') { "- " } else { "" };
        let items = flow_items(text[key.place.end..stop].trim_start_matches(':'));
        let entry = |((name, _), item): (&(String, usize), &String)| SectionEntry {
            name: name.clone(),
            above: Vec::new(),
            lines: vec![format!("{dash}{item}")],
        };
        return starts.iter().zip(&items).map(entry).collect();
    }
    let lines: Vec<&str> = text.lines().collect();
    let mut all = Vec::new();
    let mut from = key.place.line;
    for (i, (name, line)) in starts.iter().enumerate() {
        let next = starts.get(i + 1).map_or(end.min(lines.len() + 1), |(_, line)| *line);
        let first = &lines[line - 1];
        let indent = first.len() - first.trim_start().len();
        let own: Vec<&str> = lines[line - 1..next - 1].to_vec();
        let used = own.iter().rposition(|line| !blank(line)).map_or(1, |last| last + 1);
        let without = |line: &&str| line.get(indent..).unwrap_or(line.trim_start()).trim_end().to_string();
        let above = lines[from..(line - 1).max(from)].iter().filter(|line| line.trim_start().starts_with('#'));
        all.push(SectionEntry {
            name: name.clone(),
            above: above.map(|line| line.trim().to_string()).collect(),
            lines: own[..used].iter().map(without).collect(),
        });
        from = line - 1 + used;
    }
    all
}

fn blank(line: &str) -> bool {
    line.trim().is_empty() || line.trim_start().starts_with('#')
}

/// Name and first line of each entry.
fn starts(node: &Node) -> Vec<(String, usize)> {
    match &node.kind {
        Kind::Map(entries) => entries.iter().map(|(key, _)| (key.value.clone(), key.place.line)).collect(),
        Kind::List(items) => items.iter().map(|item| (id(item), item.place.line)).collect(),
        _ => Vec::new(),
    }
}

fn id(item: &Node) -> String {
    let Kind::Map(keys) = &item.kind else { return String::new() };
    let id = keys.iter().find(|(key, _): &&(Placed<String>, Node)| key.value == "id");
    id.map_or_else(String::new, |(_, node)| match &node.kind {
        Kind::Scalar(text) => text.clone(),
        _ => String::new(),
    })
}

/// The entries inside the outer braces or brackets of a text.
pub fn flow_items(text: &str) -> Vec<String> {
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

#[cfg(test)]
mod tests {
    use super::{entries, flow_items};

    #[test]
    fn entries_in_braces_are_split_at_their_commas_alone() {
        let items = flow_items(" {F1: {use: fuse-blade, rating: 3 A}, HU1: {title: \"a, b\"}}");
        assert_eq!(items, ["F1: {use: fuse-blade, rating: 3 A}", "HU1: {title: \"a, b\"}"]);
        assert_eq!(flow_items("[{id: 1, from: a}, {id: 2}]"), ["{id: 1, from: a}", "{id: 2}"]);
        assert_eq!(flow_items("{}"), Vec::<String>::new());
    }

    #[test]
    fn entries_keep_their_comments_and_their_lines() {
        let text = "parts:\n  # two\n  A: {use: x}   # of A\n  B:\n    use: y\n    note: b\n\n  # of C\n  C: {use: z}\n# of wires\nwires:\n  - {id: 7, from: a, to: b}\n  # more\n  - {id: x1,\n     from: c}\n";
        let parts = entries(text, "parts");
        assert_eq!(parts[0].lines, ["A: {use: x}   # of A"]);
        assert_eq!(
            (&parts[0].above[..], &parts[2].above[..]),
            (&["# two".to_string()][..], &["# of C".to_string()][..])
        );
        assert_eq!(parts[1].lines, ["B:", "  use: y", "  note: b"]);
        let wires = entries(text, "wires");
        assert_eq!(wires.iter().map(|wire| wire.name.as_str()).collect::<Vec<_>>(), ["7", "x1"]);
        assert_eq!(wires[1].lines, ["- {id: x1,", "   from: c}"]);
        let flow = entries("parts: {A: {use: x},\n  B: {use: y}}\nwires: [{id: 1, from: a}]\n", "parts");
        assert_eq!(flow[1].lines, ["B: {use: y}"]);
        assert_eq!(entries("wires: [{id: 1, from: a}]\n", "wires")[0].lines, ["- {id: 1, from: a}"]);
    }
}
