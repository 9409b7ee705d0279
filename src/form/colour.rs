//! Insulation colours as IEC 60757 codes, and the code to write in place of a word that is none.

use super::node::Node;
use super::place::Problem;
use super::reader::{Form, Reader, Schemas};
use serde::Serialize;
use serde_json::{Value, json};
use std::fmt;

/// IEC 60757 colour codes (from memory of the standard) with their names.
pub const COLOURS: [(&str, &str); 13] = [
    ("BK", "black"),
    ("BN", "brown"),
    ("RD", "red"),
    ("OG", "orange"),
    ("YE", "yellow"),
    ("GN", "green"),
    ("BU", "blue"),
    ("VT", "violet"),
    ("GY", "grey"),
    ("WH", "white"),
    ("PK", "pink"),
    ("TQ", "turquoise"),
    ("GNYE", "green-and-yellow"),
];

/// An insulation colour with an optional tracer, as IEC 60757 codes: `RD/WH`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Colour {
    /// The insulation.
    pub base: &'static str,
    /// The tracer stripe.
    pub tracer: Option<&'static str>,
}

impl Colour {
    /// From text such as `RD` or `RD/WH`.
    pub fn parse(text: &str) -> Option<Colour> {
        let code = |t: &str| COLOURS.iter().find(|(c, _)| *c == t).map(|(c, _)| *c);
        match text.split_once('/') {
            Some((base, tracer)) => Some(Colour { base: code(base)?, tracer: Some(code(tracer)?) }),
            None => Some(Colour { base: code(text)?, tracer: None }),
        }
    }
}

/// What to write for a colour that is none: by its names, in capitals, or the codes of the colours that begin alike.
fn colour_hint(text: &str) -> String {
    let upper = text.to_uppercase();
    let code = |t: &str| {
        let meant = |(c, name): &&(&str, &str)| *c == t || name.eq_ignore_ascii_case(t);
        COLOURS.iter().find(meant).map(|(code, _)| *code)
    };
    let halves: Vec<&str> = upper.split('/').map(str::trim).collect();
    let meant: Option<Vec<&str>> = halves.iter().map(|half| code(half)).collect();
    if let Some(meant) = meant.filter(|meant| meant.len() <= 2) {
        return format!("write `{}`", meant.join("/"));
    }
    let wrong = halves.iter().find(|half| code(half).is_none()).copied().unwrap_or_default();
    let begins = |(_, name): &&(&str, &str)| !wrong.is_empty() && name.starts_with(&wrong.to_lowercase());
    let alike: Vec<String> = COLOURS.iter().filter(begins).map(|(code, name)| format!("`{code}` is {name}")).collect();
    match alike.is_empty() {
        false => alike.join(", "),
        true => {
            let all: Vec<String> = COLOURS.iter().map(|(code, name)| format!("{code} {name}")).collect();
            format!("its codes: {}", all.join(", "))
        }
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.tracer {
            Some(tracer) => f.pad(&format!("{}/{tracer}", self.base)),
            None => f.pad(self.base),
        }
    }
}

impl Serialize for Colour {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Form for Colour {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "a colour code such as RD or RD/WH")?;
        let found = Colour::parse(text);
        if found.is_none() {
            let message = format!("`{text}` is not a colour code of IEC 60757");
            reader.report(Problem::at(node.place, message).hint(colour_hint(text)));
        }
        found
    }
    fn schema(_: &mut Schemas) -> Value {
        let codes: Vec<&str> = COLOURS.iter().map(|(c, _)| *c).collect();
        let one = codes.join("|");
        let pattern = format!("^({one})(/({one}))?$");
        json!({ "title": "a colour code", "type": "string", "pattern": pattern, "examples": ["RD", "RD/WH"] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Codes by IEC 60757: BL and GR are none; people use each of them for two colours.
    #[test]
    fn colours_are_proposed_by_name_and_never_guessed() {
        assert_eq!(colour_hint("blue"), "write `BU`");
        assert_eq!(colour_hint("rd/wh"), "write `RD/WH`");
        assert_eq!(colour_hint("red/white"), "write `RD/WH`");
        assert_eq!(colour_hint("RD/BL"), "`BK` is black, `BU` is blue");
        assert_eq!(colour_hint("GR"), "`GN` is green, `GY` is grey, `GNYE` is green-and-yellow");
        assert!(colour_hint("XX").starts_with("its codes: BK black, BN brown,"));
    }
}
