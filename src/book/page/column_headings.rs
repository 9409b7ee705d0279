//! The heading of each column, before its cells on a phone: written once, in the style sheet, and not in every cell.

use super::css_string;
use std::collections::BTreeMap;

/// What a template writes in a cell: the heading of its column.
const LABEL: &str = " data-label=\"";

/// The page with a class in the place of each heading in a cell of a table, and the rules of these classes, for a narrow
/// screen. Each such cell has the class `L` too.
pub fn shared(page: &str) -> (String, String) {
    let mut known: BTreeMap<&str, usize> = BTreeMap::new();
    let mut out = String::with_capacity(page.len());
    let mut rest = page;
    while let Some((before, cell)) = next_cell(rest) {
        let (label, after) = cell.split_once('"').unwrap_or((cell, ""));
        let new = known.len();
        let number = *known.entry(label).or_insert(new);
        let (attributes, _) = after.split_once('>').unwrap_or((after, ""));
        out.push_str(before);
        match attributes.split_once(" class=\"") {
            Some((between, _)) => {
                out.push_str(&format!("{between} class=\"L L{number} "));
                rest = &after[between.len() + " class=\"".len()..];
            }
            None => {
                out.push_str(&format!(" class=\"L L{number}\""));
                rest = after;
            }
        }
    }
    out.push_str(rest);
    // Stronger than the rules for the line beside a chain.
    let cell = |number: usize| format!(".wide.wide>table>tbody>tr>.L{number}::before");
    let rule = |(label, number): (&str, usize)| format!("{}{{content:{}}}", cell(number), css_string(&plain(label)));
    let rules: String = known.into_iter().map(rule).collect();
    (out, format!("@media screen and (max-width: 40rem) {{{rules}}}"))
}

/// What stands before the heading of the next cell, and what begins with this heading. Drawings use the attribute too.
fn next_cell(page: &str) -> Option<(&str, &str)> {
    let mut from = 0;
    while let Some(at) = page[from..].find(LABEL).map(|at| from + at) {
        if page[..at].ends_with("<td") || page[..at].ends_with("<th") {
            return Some((&page[..at], &page[at + LABEL.len()..]));
        }
        from = at + LABEL.len();
    }
    None
}

/// The text of an attribute.
fn plain(escaped: &str) -> String {
    let escapes = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    escapes.iter().fold(escaped.to_string(), |text, (code, sign)| text.replace(code, sign))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_is_written_once() {
        let page = "<td data-label=\"A &amp; B\" class=\"x\">1</td><th data-label=\"C\" scope=\"row\">2</th>\
                    <td data-label=\"A &amp; B\"><g data-label=\"kept\"/></td>";
        let (page, rules) = shared(page);
        assert_eq!(
            page,
            "<td class=\"L L0 x\">1</td><th class=\"L L1\" scope=\"row\">2</th><td class=\"L L0\"><g data-label=\"kept\"/></td>"
        );
        assert!(rules.contains("L0::before{content:\"A\\20 \\26 \\20 B\"}"), "{rules}");
        assert!(rules.contains("L1::before{content:\"C\"}"), "{rules}");
    }
}
