//! YAML text to a tree that knows where everything stands.
//!
//! Built from the parser's event stream and not from its own tree, so that repeated keys are all reported, scalars
//! keep the text that was written (`off` stays `off`), and hostile input is cut short by the limits below.

use super::place::{Place, Placed, Problem};
use saphyr_parser::{Event, Parser, ScalarStyle, Span};
use std::cell::Cell;
use std::collections::BTreeMap;

/// Maximum size of one file, in bytes. A large real spec is some 50 kB.
pub const LARGEST_FILE: usize = 4 << 20;
/// Maximum depth of nesting; the form itself needs eight.
pub const DEEPEST: usize = 40;
/// Maximum number of values in one file, repeats through aliases counted.
pub const MOST_NODES: usize = 100_000;
/// Longest line and longest single value, in characters.
pub const LONGEST_LINE: usize = 4_000;

/// A value and where it stands.
#[derive(Debug, Clone)]
pub struct Node {
    /// Where; for a map or a list, its first element.
    pub place: Place,
    /// What.
    pub kind: Kind,
}

/// The four shapes of a value.
#[derive(Debug, Clone)]
pub enum Kind {
    /// Nothing was written.
    Empty,
    /// Text, a number, a quantity: as written.
    Scalar(String),
    /// A list.
    List(Vec<Node>),
    /// A map, in the order written; keys are scalars and unique.
    Map(Vec<(Placed<String>, Node)>),
}

impl Node {
    /// A word for messages.
    pub fn shape(&self) -> &'static str {
        match self.kind {
            Kind::Empty => "nothing",
            Kind::Scalar(_) => "a single value",
            Kind::List(_) => "a list",
            Kind::Map(_) => "a map",
        }
    }

    /// All values in their order, in one text: the same for two texts that differ in comments, blanks and layout only.
    pub fn values(&self) -> String {
        let mut out = String::new();
        self.write_values(&mut out);
        out
    }

    fn write_values(&self, out: &mut String) {
        match &self.kind {
            Kind::Empty => out.push('~'),
            Kind::Scalar(text) => out.push_str(&format!("{text:?}")),
            Kind::List(nodes) => {
                out.push('[');
                for node in nodes {
                    node.write_values(out);
                    out.push(',');
                }
                out.push(']');
            }
            Kind::Map(entries) => {
                out.push('{');
                for (key, node) in entries {
                    out.push_str(&format!("{:?}:", key.value));
                    node.write_values(out);
                    out.push(',');
                }
                out.push('}');
            }
        }
    }
}

/// Line starts of a text, to turn line and column into byte offsets.
struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
    /// Line, column and offset last asked for: the next are seldom before it, so a line is walked once.
    last: Cell<(usize, usize, usize)>,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for (i, &b) in bytes.iter().enumerate() {
            if b == b'\n' || (b == b'\r' && bytes.get(i + 1) != Some(&b'\n')) {
                starts.push(i + 1);
            }
        }
        Lines { text, starts, last: Cell::default() }
    }

    fn offset(&self, line: usize, column: usize) -> usize {
        let Some(&start) = self.starts.get(line.saturating_sub(1)) else { return self.text.len() };
        let end = self.starts.get(line).copied().unwrap_or(self.text.len());
        let (skipped, from) = match self.last.get() {
            (last_line, last_column, offset) if last_line == line && last_column <= column => (last_column, offset),
            _ => (0, start),
        };
        let rest = &self.text[from..end];
        let offset = from + rest.char_indices().nth(column - skipped).map_or(rest.len(), |(i, _)| i);
        self.last.set((line, column, offset));
        offset
    }

    fn place(&self, file: usize, span: Span) -> Place {
        let (line, column) = (span.start.line(), span.start.col());
        let start = self.offset(line, column);
        let end = self.offset(span.end.line(), span.end.col()).max(start);
        // A plain scalar's span may run over the blanks behind it.
        let end = start + self.text[start..end].trim_end().len();
        Place { file, start, end, line, column: column + 1 }
    }
}

/// A list or map whose end has not come yet.
struct Open {
    node: Node,
    anchor: usize,
    key: Option<Placed<String>>,
    keys: BTreeMap<String, Place>,
}

struct Builder<'t> {
    file: usize,
    lines: Lines<'t>,
    open: Vec<Open>,
    anchors: BTreeMap<usize, (Node, usize)>,
    count: usize,
    root: Option<Node>,
    problems: Vec<Problem>,
}

/// Reads one document.
///
/// # Errors
/// Every repeated key, or the first place where the text isn't YAML or goes beyond the limits of this module.
pub fn parse(file: usize, text: &str) -> Result<Node, Vec<Problem>> {
    if let Some(problem) = unreadable_line(file, text) {
        return Err(vec![problem]);
    }
    let mut builder = Builder {
        file,
        lines: Lines::new(text),
        open: Vec::new(),
        anchors: BTreeMap::new(),
        count: 0,
        root: None,
        problems: Vec::new(),
    };
    if let Err(problem) = builder.run(text) {
        builder.problems.push(*problem);
    }
    if !builder.problems.is_empty() {
        return Err(builder.problems);
    }
    builder.root.ok_or_else(|| vec![Problem::whole("the file is empty")])
}

/// The first line that is too long, or that holds a control character, which YAML does not allow.
fn unreadable_line(file: usize, text: &str) -> Option<Problem> {
    let mut start = 0;
    for (i, line) in text.split('\n').enumerate() {
        let at = |column: usize, offset: usize, len: usize| {
            let start = start + offset;
            Place { file, start, end: start + len, line: i + 1, column: column + 1 }
        };
        for (column, (offset, c)) in line.char_indices().enumerate() {
            if column >= LONGEST_LINE {
                let message = format!("line {} has more than {LONGEST_LINE} characters", i + 1);
                return Some(Problem::whole(message).hint("break it into several lines"));
            }
            if c.is_control() && !matches!(c, '\t' | '\r') {
                let message = format!("a control character (U+{:04X}) is here", u32::from(c));
                return Some(Problem::at(at(column, offset, c.len_utf8()), message).hint("remove it"));
            }
        }
        start += line.len() + 1;
    }
    None
}

impl Builder<'_> {
    fn run(&mut self, text: &str) -> Result<(), Box<Problem>> {
        let mut parser = Parser::new_from_str(text);
        let mut documents = 0;
        while let Some(next) = parser.next_event() {
            let (event, span) = next.map_err(|e| Box::new(self.syntax(&e)))?;
            let place = self.lines.place(self.file, span);
            match event {
                Event::StreamStart | Event::DocumentEnd | Event::Nothing => {}
                Event::StreamEnd => break,
                Event::DocumentStart(_) => {
                    documents += 1;
                    if documents > 1 {
                        return Err(Box::new(
                            Problem::at(place, "a second document starts here")
                                .hint("one file holds one document: remove the `---` line"),
                        ));
                    }
                }
                Event::Alias(anchor) => self.alias(anchor, place)?,
                Event::Scalar(value, style, anchor, tag) => {
                    self.refuse_tag(tag.is_some(), place)?;
                    if value.chars().nth(LONGEST_LINE).is_some() {
                        let message = format!("a value of more than {LONGEST_LINE} characters");
                        return Err(Box::new(Problem::at(place, message).hint("shorten it")));
                    }
                    let empty = style == ScalarStyle::Plain && (value.is_empty() || value == "~" || value == "null");
                    let kind = if empty { Kind::Empty } else { Kind::Scalar(value.into_owned()) };
                    self.value(Node { place, kind }, 1, anchor)?;
                }
                Event::SequenceStart(anchor, tag) => {
                    self.refuse_tag(tag.is_some(), place)?;
                    self.start(Node { place, kind: Kind::List(Vec::new()) }, anchor)?;
                }
                Event::MappingStart(anchor, tag) => {
                    self.refuse_tag(tag.is_some(), place)?;
                    self.start(Node { place, kind: Kind::Map(Vec::new()) }, anchor)?;
                }
                Event::SequenceEnd | Event::MappingEnd => self.finish()?,
            }
        }
        Ok(())
    }

    fn syntax(&self, error: &saphyr_parser::ScanError) -> Problem {
        let at = *error.marker();
        let place = self.lines.place(self.file, Span::new(at, at));
        if error.info().contains("recursion limit") {
            return Problem::at(place, format!("nested more than {DEEPEST} levels deep"));
        }
        Problem::at(place, format!("this is not YAML: {}", error.info()))
            .hint("look at the indentation, and for a missing quote, bracket or colon, here or just above")
    }

    fn refuse_tag(&self, tagged: bool, place: Place) -> Result<(), Box<Problem>> {
        if tagged {
            return Err(Box::new(Problem::at(place, "tags (`!…`) have no meaning here").hint("write the value alone")));
        }
        Ok(())
    }

    fn start(&mut self, node: Node, anchor: usize) -> Result<(), Box<Problem>> {
        if self.open.len() >= DEEPEST {
            return Err(Box::new(Problem::at(node.place, format!("nested more than {DEEPEST} levels deep"))));
        }
        self.open.push(Open { node, anchor, key: None, keys: BTreeMap::new() });
        Ok(())
    }

    fn finish(&mut self) -> Result<(), Box<Problem>> {
        let Some(mut open) = self.open.pop() else { return Ok(()) };
        let first = match &open.node.kind {
            Kind::Map(entries) => entries.first().map(|(key, _)| key.place),
            Kind::List(items) => items.first().map(|item| item.place),
            _ => None,
        };
        if let Some(first) = first {
            open.node.place =
                if open.node.place.start == open.node.place.end { first } else { open.node.place.to(first) };
        }
        self.value(open.node, 1, open.anchor)
    }

    fn alias(&mut self, anchor: usize, place: Place) -> Result<(), Box<Problem>> {
        match self.anchors.get(&anchor).cloned() {
            Some((node, size)) => self.value(Node { place, kind: node.kind }, size, 0),
            None => Err(Box::new(Problem::at(place, "this alias is inside the value that it repeats"))),
        }
    }

    /// Takes a finished value of `size` nodes to where it belongs.
    fn value(&mut self, node: Node, size: usize, anchor: usize) -> Result<(), Box<Problem>> {
        self.count += size;
        if self.count > MOST_NODES {
            return Err(Box::new(
                Problem::at(node.place, format!("more than {MOST_NODES} values, repeats by alias counted"))
                    .hint("a spec of a real vehicle has a few thousand"),
            ));
        }
        if anchor != 0 {
            let size = count(&node);
            // What is kept counts as well, else anchors around anchors would keep the same values again and again.
            self.count += size;
            self.anchors.insert(anchor, (node.clone(), size));
        }
        let Some(open) = self.open.last_mut() else {
            self.root = Some(node);
            return Ok(());
        };
        match &mut open.node.kind {
            Kind::List(items) => items.push(node),
            Kind::Map(entries) => match open.key.take() {
                Some(key) => entries.push((key, node)),
                None => {
                    let Kind::Scalar(text) = node.kind else {
                        return Err(Box::new(Problem::at(node.place, format!("{} can't be a key", node.shape()))));
                    };
                    if let Some(first) = open.keys.insert(text.clone(), node.place) {
                        self.problems.push(
                            Problem::at(node.place, format!("`{text}` appears twice in this map"))
                                .label("again here")
                                .also(first, "first here")
                                .hint("keep one of the two"),
                        );
                    }
                    open.key = Some(Placed { value: text, place: node.place });
                }
            },
            Kind::Empty | Kind::Scalar(_) => {}
        }
        Ok(())
    }
}

fn count(node: &Node) -> usize {
    match &node.kind {
        Kind::Empty | Kind::Scalar(_) => 1,
        Kind::List(items) => 1 + items.iter().map(count).sum::<usize>(),
        Kind::Map(entries) => 1 + entries.iter().map(|(_, value)| 1 + count(value)).sum::<usize>(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first(text: &str) -> Problem {
        parse(0, text).unwrap_err().remove(0)
    }

    #[test]
    fn comments_and_layout_are_no_values() {
        let values = |text: &str| parse(0, text).unwrap().values();
        assert_eq!(values("a: [1, {b: x y}]\nc:\n"), "{\"a\":[\"1\",{\"b\":\"x y\",},],\"c\":~,}");
        assert_eq!(values("a: [1, {b: x y}]\nc:\n"), values("# why\na:\n- 1 # one\n- b: 'x y'\nc:\n"));
        assert_ne!(values("a: [1, 2]"), values("a: [\"1, 2\"]"));
    }

    #[test]
    fn places_count_from_one_and_by_characters() {
        let root = parse(0, "a: 1\nµ: {b: 0.75 mm² }\r\n").unwrap();
        let Kind::Map(entries) = root.kind else { panic!() };
        let Kind::Map(inner) = &entries[1].1.kind else { panic!() };
        let place = inner[0].1.place;
        assert_eq!((place.line, place.column, place.end - place.start), (2, 8, "0.75 mm²".len()));
    }

    #[test]
    fn every_repeated_key_is_reported() {
        let problems = parse(0, "a: 1\na: 2\nb: {c: 1, c: 2}\n").unwrap_err();
        assert_eq!(problems.len(), 2);
        assert!(problems[1].message.contains("`c` appears twice"));
    }

    #[test]
    fn hostile_input_is_cut_short() {
        assert!(first(&"[[[[[\n".repeat(20_000)).message.contains("levels deep"));
        let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
        for i in 1..30 {
            bomb += &format!("a{i}: &a{i} [{}]\n", vec![format!("*a{}", i - 1); 10].join(", "));
        }
        assert!(first(&bomb).message.contains("repeats by alias"));
        assert!(first("a: &a [*a]\n").message.contains("inside the value"));
        assert!(first("a: !x 1\n").message.contains("tags"));
        assert!(first("a: [1\n").message.contains("not YAML"));
        assert!(first("? [a]\n: 1\n").message.contains("can't be a key"));
        assert!(first(&format!("a: [{}]\n", "x,".repeat(5000))).message.contains("more than 4000 characters"));
        assert!(first(&format!("a: >\n{}", "  x x x\n".repeat(2000))).message.contains("value of more than"));
        assert!(first("a: \"b\0c\"\n").message.contains("U+0000"));
        let nest = |i: usize| format!("&a{i} [");
        let anchors = format!("{}{}", (0..35).map(nest).collect::<String>(), "x,\n ".repeat(5000));
        assert!(first(&format!("a: {anchors}{}\n", "]".repeat(35))).message.contains("repeats by alias"));
    }
}
