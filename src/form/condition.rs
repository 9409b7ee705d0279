//! Conditions: `boom-arm and left-turn and not right-turn`, `key = run`, with brackets; `not` binds closest, then
//! `and`, then `or`.

use super::node::{Kind, Node};
use super::place::{Place, Problem};
use super::reader::{Form, Reader, Schemas};
use super::values::Name;
use serde_json::{Value, json};
use std::fmt;

/// A condition as written. Names are not looked up yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Expr {
    /// A name alone: it is on, or not in its rest position.
    Name(Name, Place),
    /// `name = position`.
    Is(Name, Place, Name),
    /// `not …`
    Not(Box<Expr>),
    /// All of them.
    All(Vec<Expr>),
    /// Any of them.
    Any(Vec<Expr>),
}

/// A condition with its place and its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// What it says.
    pub expr: Expr,
    /// As written, blanks tidied.
    pub text: String,
    /// Where.
    pub place: Place,
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// Deepest nesting of brackets and `not`.
const DEEPEST: usize = 30;

struct Tokens<'t> {
    words: Vec<(&'t str, usize)>,
    next: usize,
    place: Place,
}

fn words(text: &str) -> Vec<(&str, usize)> {
    let mut all = Vec::new();
    let mut start = None;
    for (i, c) in text.char_indices() {
        let single = matches!(c, '(' | ')' | '=' | '!');
        if (single || c.is_whitespace())
            && let Some(s) = start.take()
        {
            all.push((&text[s..i], s));
        }
        if single {
            all.push((&text[i..i + c.len_utf8()], i));
        } else if !c.is_whitespace() && start.is_none() {
            start = Some(i);
        }
    }
    if let Some(s) = start {
        all.push((&text[s..], s));
    }
    all
}

type Parsed<T> = Result<T, Box<Problem>>;

impl Tokens<'_> {
    fn peek(&self) -> &str {
        self.words.get(self.next).map_or("", |(w, _)| w)
    }

    fn place(&self, index: usize) -> Place {
        match self.words.get(index) {
            // Offsets inside a quoted scalar may be off by its quote; the place of the whole is near enough then.
            Some((word, at)) if self.place.start + at + word.len() <= self.place.end => Place {
                start: self.place.start + at,
                end: self.place.start + at + word.len(),
                column: self.place.column + at,
                ..self.place
            },
            _ => self.place,
        }
    }

    fn problem<T>(&self, message: impl Into<String>) -> Parsed<T> {
        Err(Box::new(
            Problem::at(self.place(self.next), message)
                .hint("conditions are made of names, `name = position`, `and`, `or`, `not` and brackets"),
        ))
    }

    fn any(&mut self, depth: usize) -> Parsed<Expr> {
        let mut terms = vec![self.all(depth)?];
        while self.peek() == "or" {
            self.next += 1;
            terms.push(self.all(depth)?);
        }
        Ok(if terms.len() == 1 { terms.remove(0) } else { Expr::Any(terms) })
    }

    fn all(&mut self, depth: usize) -> Parsed<Expr> {
        let mut terms = vec![self.one(depth)?];
        while self.peek() == "and" {
            self.next += 1;
            terms.push(self.one(depth)?);
        }
        Ok(if terms.len() == 1 { terms.remove(0) } else { Expr::All(terms) })
    }

    fn one(&mut self, depth: usize) -> Parsed<Expr> {
        if depth > DEEPEST {
            return self.problem(format!("more than {DEEPEST} brackets deep"));
        }
        match self.peek() {
            "not" => {
                self.next += 1;
                Ok(Expr::Not(Box::new(self.one(depth + 1)?)))
            }
            "(" => {
                self.next += 1;
                let inner = self.any(depth + 1)?;
                if self.peek() != ")" {
                    return self.problem("a closing bracket is missing");
                }
                self.next += 1;
                Ok(inner)
            }
            "" => self.problem("the condition ends where a name is needed"),
            "and" | "or" | ")" | "=" | "!" => self.problem(format!("a name is needed here, not `{}`", self.peek())),
            _ => self.name(),
        }
    }

    fn name(&mut self) -> Parsed<Expr> {
        let (name, place) = self.checked()?;
        let negated = match (self.peek(), self.words.get(self.next + 1).map(|w| w.0)) {
            ("=", _) => false,
            ("!", Some("=")) => {
                self.next += 1;
                true
            }
            _ => return Ok(Expr::Name(name, place)),
        };
        self.next += 1;
        if self.peek() == "=" {
            let position = self.words.get(self.next + 1).map_or("on", |(word, _)| *word).to_string();
            return Err(Box::new(
                Problem::at(self.place(self.next), "a condition has one `=`, not two")
                    .hint(format!("write `{name} {} {position}`", if negated { "!=" } else { "=" })),
            ));
        }
        let (position, _) = self.checked()?;
        let is = Expr::Is(name, place, position);
        Ok(if negated { Expr::Not(Box::new(is)) } else { is })
    }

    fn checked(&mut self) -> Parsed<(Name, Place)> {
        let (word, place) = (self.peek().to_string(), self.place(self.next));
        if word.is_empty() {
            return self.problem("the condition ends where a name is needed");
        }
        let mut reader = Reader::default();
        // `LM.latched`, as states are printed: a part and what it remembers.
        let name = match word.split_once('.') {
            Some((part, signal)) => Name::checked(part, place, &mut reader)
                .and_then(|_| Name::checked(signal, place, &mut reader))
                .map(|_| Name::new(word.clone())),
            None => Name::checked(&word, place, &mut reader),
        };
        match name {
            Some(name) => {
                self.next += 1;
                Ok((name, place))
            }
            None => Err(Box::new(reader.problems.remove(0))),
        }
    }
}

impl Condition {
    /// Reads a condition; `place` is where its text stands.
    ///
    /// # Errors
    /// What is wrong, at the word where it is wrong.
    pub fn parse(text: &str, place: Place) -> Result<Condition, Box<Problem>> {
        let mut tokens = Tokens { words: words(text), next: 0, place };
        let expr = tokens.any(0)?;
        if tokens.next < tokens.words.len() {
            return tokens.problem(format!("`{}` is not expected here", tokens.peek()));
        }
        Ok(Condition { expr, text: text.split_whitespace().collect::<Vec<_>>().join(" "), place })
    }
}

fn scalar(item: &Node) -> Option<&str> {
    match &item.kind {
        Kind::Scalar(text) => Some(text),
        _ => None,
    }
}

impl Form for Condition {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if let Kind::List(items) = &node.kind {
            let words: Vec<&str> = items.iter().filter_map(scalar).collect();
            let hint = match words.is_empty() || words.len() < items.len() {
                true => "write one text: reverse and not left-turn".to_string(),
                false => format!("write one text: {}", words.join(" and ")),
            };
            reader.mark_unread(node);
            reader.report(Problem::at(node.place, "a condition is one text, not a list").hint(hint));
            return None;
        }
        let text = reader.scalar(node, "a condition")?;
        Condition::parse(text, node.place)
            .map_err(|problem| {
                if !reader.reported_in(text, problem.place.unwrap_or(node.place)) {
                    reader.report(*problem);
                }
            })
            .ok()
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "a condition", "type": "string", "examples": ["reverse and not left-turn", "key = run"] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn show(expr: &Expr) -> String {
        let list = |terms: &[Expr], word: &str| {
            format!("({})", terms.iter().map(show).collect::<Vec<_>>().join(&format!(" {word} ")))
        };
        match expr {
            Expr::Name(name, _) => name.to_string(),
            Expr::Is(name, _, position) => format!("{name}={position}"),
            Expr::Not(inner) => format!("!{}", show(inner)),
            Expr::All(terms) => list(terms, "&"),
            Expr::Any(terms) => list(terms, "|"),
        }
    }

    fn parsed(text: &str) -> String {
        match Condition::parse(text, Place::default()) {
            Ok(condition) => show(&condition.expr),
            Err(problem) => format!("! {}", problem.message),
        }
    }

    #[test]
    fn binds_as_written() {
        assert_eq!(parsed("a and not b or c"), "((a & !b) | c)");
        assert_eq!(parsed("not (a or key=run) and b != c"), "(!(a | key=run) & !b=c)");
        assert_eq!(parsed("boom-arm"), "boom-arm");
    }

    #[test]
    fn says_where_it_goes_wrong() {
        assert_eq!(parsed("a and"), "! the condition ends where a name is needed");
        assert_eq!(parsed("a b"), "! `b` is not expected here");
        assert_eq!(parsed("(a"), "! a closing bracket is missing");
        assert_eq!(parsed(&"(".repeat(5000)), "! more than 30 brackets deep");
        assert_eq!(parsed("key == off"), "! a condition has one `=`, not two");
        assert_eq!(parsed("LM.latched and not a"), "(LM.latched & !a)");
        assert_eq!(parsed("LM.a.b"), "! `.` isn't allowed in a name");
        assert!(parsed("a & b").contains("`&` is not expected"));
    }
}
