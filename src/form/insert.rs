//! Adds to a YAML text and leaves every other byte as it is, comments included.

/// An addition to a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Addition {
    /// The byte after a value.
    pub after: usize,
    /// Where it goes from there.
    pub kind: AdditionKind,
    /// The addition: `colour: RD`.
    pub text: String,
}

/// Where an addition goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AdditionKind {
    /// An entry for the map in which the value stands: in a map in braces `{…}` it becomes the last one; in other maps it
    /// gets a line of its own behind the value.
    Entry,
    /// The end of the value itself.
    Suffix,
}

/// The text with the additions; those for one spot keep their order.
pub fn with_additions(text: &str, additions: &[Addition]) -> String {
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let spot = |addition: &Addition| match addition.kind {
        AdditionKind::Suffix => {
            // Within the quotes of a quoted value.
            let quoted = text[..addition.after].ends_with(['"', '\'']);
            (addition.after - usize::from(quoted), addition.text.clone())
        }
        AdditionKind::Entry => match closing_brace(text, addition.after) {
            Some(brace) => (brace, format!(", {}", addition.text)),
            None => {
                let indent = " ".repeat(key_column(text, addition.after));
                (line_end(text, addition.after), format!("{newline}{indent}{}", addition.text))
            }
        },
    };
    let mut spots: Vec<(usize, String)> = additions.iter().map(spot).collect();
    spots.sort_by_key(|(at, _)| *at);
    let mut out = String::with_capacity(text.len() + 32 * spots.len());
    let mut written = 0;
    for (at, added) in spots {
        out.push_str(&text[written..at]);
        out.push_str(&added);
        written = at;
    }
    out.push_str(&text[written..]);
    out
}

/// Where the map in braces ends in which a byte stands, before blanks and the brace; `None` for a map without braces.
fn closing_brace(text: &str, from: usize) -> Option<usize> {
    let (mut depth, mut quote, mut last, mut before) = (0, None, from, ' ');
    let mut chars = text[from..].char_indices();
    let mut is_first = true;
    while let Some((at, c)) = chars.next() {
        match (quote, c) {
            (Some(open), _) if c == open => quote = None,
            (Some('"'), '\\') => drop(chars.next()),
            (Some(_), _) => {}
            (None, '#') if before.is_whitespace() => {
                chars.find(|(_, c)| matches!(c, '\r' | '\n'));
                before = '\n';
                continue;
            }
            (None, ',' | '}') if depth == 0 => {
                if c == '}' {
                    return Some(last);
                }
                is_first = false;
            }
            // What follows the value in a map without braces is another key, not a comma.
            (None, _) if is_first && !c.is_whitespace() => return None,
            (None, '"' | '\'') if !before.is_alphanumeric() => quote = Some(c),
            (None, '{' | '[') => depth += 1,
            (None, '}' | ']') => depth -= 1,
            _ => {}
        }
        if !c.is_whitespace() {
            last = from + at + c.len_utf8();
        }
        before = c;
    }
    None
}

/// How many characters precede the key in the line of a byte.
fn key_column(text: &str, at: usize) -> usize {
    let start = text[..at].rfind(['\r', '\n']).map_or(0, |end| end + 1);
    text[start..at].chars().take_while(|c| matches!(c, ' ' | '-')).count()
}

/// Where the line of a byte ends, before its line break.
fn line_end(text: &str, at: usize) -> usize {
    text[at..].find(['\r', '\n']).map_or(text.len(), |end| at + end)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn add(text: &str, value: &str, entry: &str) -> String {
        let after = text.find(value).unwrap() + value.len();
        with_additions(text, &[Addition { after, kind: AdditionKind::Entry, text: entry.to_string() }])
    }

    #[test]
    fn a_map_of_one_line_and_a_map_of_many_get_the_entry_and_keep_comments() {
        assert_eq!(
            add("- {from: A, to: B.1} # to the dash\n", "B.1", "colour: RD"),
            "- {from: A, to: B.1, colour: RD} # to the dash\n"
        );
        assert_eq!(
            add("- from: A\n  to: B.1   # to the dash\n  note: x\n", "B.1", "colour: RD"),
            "- from: A\n  to: B.1   # to the dash\n  colour: RD\n  note: x\n"
        );
        assert_eq!(add("- from: A\n  to: B.1", "B.1", "colour: RD"), "- from: A\n  to: B.1\n  colour: RD");
        assert_eq!(
            add("- {to: B.1,   note: \"a } {\", x: [1, 2]  }\n", "B.1", "colour: RD"),
            "- {to: B.1,   note: \"a } {\", x: [1, 2], colour: RD  }\n"
        );
        // A map of one line that is broken over several.
        let broken = "- {from: A, # here\n   to: B.1 # there\n  }\n";
        assert_eq!(add(broken, "B.1", "colour: RD"), "- {from: A, # here\n   to: B.1, colour: RD # there\n  }\n");
        assert_eq!(
            add("- from: A\r\n  to: B.1\r\n", "B.1", "gauge: 1 mm²"),
            "- from: A\r\n  to: B.1\r\n  gauge: 1 mm²\r\n"
        );
    }

    #[test]
    fn several_entries_follow_one_value_in_their_order() {
        let text = "{to: B}";
        let after = text.find('B').unwrap() + 1;
        let entry = |text: &str| Addition { after, kind: AdditionKind::Entry, text: text.to_string() };
        assert_eq!(
            with_additions(text, &[entry("gauge: 1 mm²"), entry("colour: RD")]),
            "{to: B, gauge: 1 mm², colour: RD}"
        );
    }

    #[test]
    fn a_value_grows_within_its_quotes_and_before_the_entries_behind_it() {
        let text = "{from: X1, to: \"X2\"}";
        let after = |value: &str| text.find(value).unwrap() + value.len();
        let suffix = |after: usize| Addition { after, kind: AdditionKind::Suffix, text: ".3".to_string() };
        let entry = Addition { after: after("\"X2\""), kind: AdditionKind::Entry, text: "id: 4".to_string() };
        assert_eq!(
            with_additions(text, &[entry, suffix(after("\"X2\"")), suffix(after("X1"))]),
            "{from: X1.3, to: \"X2.3\", id: 4}"
        );
    }
}
