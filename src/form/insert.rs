//! Adds entries to the maps of a YAML text and leaves every other byte as it is, comments included.

/// An entry for the map in which a value stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEntry {
    /// The byte after a value of the map: the entry follows it.
    pub after: usize,
    /// The entry: `colour: RD`.
    pub text: String,
}

/// The text with the entries, those behind one value in their order. In a map in braces `{…}` an entry becomes the last
/// one; in other maps it gets a line of its own behind the value.
pub fn with_entries(text: &str, entries: &[NewEntry]) -> String {
    let mut entries: Vec<&NewEntry> = entries.iter().collect();
    entries.sort_by_key(|entry| entry.after);
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let mut out = String::with_capacity(text.len() + 32 * entries.len());
    let mut written = 0;
    for entry in entries {
        let brace = closing_brace(text, entry.after);
        let at = brace.unwrap_or_else(|| line_end(text, entry.after));
        out.push_str(&text[written..at.max(written)]);
        written = at.max(written);
        match brace.is_some() {
            true => out.push_str(&format!(", {}", entry.text)),
            false => out.push_str(&format!("{newline}{}{}", " ".repeat(key_column(text, entry.after)), entry.text)),
        }
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
        with_entries(text, &[NewEntry { after, text: entry.to_string() }])
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
        let entry = |text: &str| NewEntry { after, text: text.to_string() };
        assert_eq!(
            with_entries(text, &[entry("gauge: 1 mm²"), entry("colour: RD")]),
            "{to: B, gauge: 1 mm², colour: RD}"
        );
    }
}
