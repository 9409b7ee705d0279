//! What a file seems to be that is given for a spec and is none: reported by its first bytes or by the shape of its
//! lines.

use serde_json::Value;

/// First bytes of files that are no text, as registered for their media types, with what to call them.
const BEGINNINGS: &[(&[u8], &str)] = &[
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"II*\0", "a picture (TIFF)"),
    (b"MM\0*", "a picture (TIFF)"),
    (b"%PDF-", "a document (PDF)"),
    (b"PK\x03\x04", "a ZIP archive, as office programs save their documents and tables in"),
    (b"\xd0\xcf\x11\xe0", "a document or a table of an office program"),
    (b"{\\rtf", "a document (RTF)"),
    (b"\x1f\x8b", "a compressed file (gzip)"),
    (b"\x7fELF", "a program"),
];

/// Lines checked to recognise a table.
const LINES: usize = 20;

/// What a file seems to be, by its first bytes; `None` for what may be a spec.
pub fn by_beginning(bytes: &[u8]) -> Option<&'static str> {
    BEGINNINGS.iter().find(|(beginning, _)| bytes.starts_with(beginning)).map(|(_, what)| *what)
}

/// What a text seems to be; `None` for what may be a spec or an attempt at one.
pub fn by_text(text: &str) -> Option<&'static str> {
    let text = text.trim_start_matches('\u{feff}').trim_start();
    let beginning: String = text.chars().take(200).collect::<String>().to_lowercase();
    if beginning.starts_with("<!doctype html") || beginning.starts_with("<html") {
        return Some("a web page (HTML)");
    }
    if beginning.starts_with("<svg") || (beginning.starts_with("<?xml") && beginning.contains("<svg")) {
        return Some("a drawing (SVG)");
    }
    if beginning.starts_with("<?xml") {
        return Some("XML");
    }
    if beginning.starts_with("digraph ") || beginning.starts_with("graph ") && beginning.contains('{') {
        return Some("a graph (DOT)");
    }
    if is_other_json(text) {
        return Some("JSON");
    }
    is_table(text).then_some("a table (CSV)")
}

/// JSON is YAML as well, so only JSON without the version of a form of ours counts.
fn is_other_json(text: &str) -> bool {
    if !text.starts_with(['{', '[']) {
        return false;
    }
    match serde_json::from_str::<Value>(text) {
        Ok(Value::Object(keys)) => !keys.contains_key("harness") && !keys.contains_key("parts-file"),
        Ok(_) => true,
        Err(_) => false,
    }
}

/// Whether every line has as many commas, semicolons or tabs as the first, and none a key of YAML.
fn is_table(text: &str) -> bool {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(LINES).collect();
    let is_key = |line: &&str| line.contains(": ") || line.trim_end().ends_with(':') || line.starts_with(['-', '#']);
    let cells = |line: &str, between: char| {
        let mut quoted = false;
        let parts = line.chars().filter(|&c| {
            quoted ^= c == '"';
            c == between && !quoted
        });
        parts.count()
    };
    let Some(first) = lines.first().filter(|first| !is_key(first)) else { return false };
    [',', ';', '\t'].into_iter().any(|between| {
        let columns = cells(first, between);
        columns > 0 && (lines.len() > 1 || columns > 1) && lines.iter().all(|line| cells(line, between) == columns)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_reported_from_attempts_at_a_spec() {
        for table in ["Wire,Colour\n1,RD\n2,\"BK, thin\"\n", "a;b;c\n1;2;3\n", "Wire\tColour\n1\tRD\n", "a,b,c\n"] {
            assert_eq!(by_text(table), Some("a table (CSV)"), "{table}");
        }
        for other in ["harness: 1\njob: {title: a, nominal: 12 V}\n", "a, b\n", "- a, b\n- c, d\n", "", "word\nword\n"]
        {
            assert_eq!(by_text(other), None, "{other}");
        }
    }

    #[test]
    fn a_spec_written_as_json_is_a_spec() {
        assert_eq!(by_text("{\"harness\": 1}"), None);
        assert_eq!(by_text("{\"parts-file\": 1}"), None);
        assert_eq!(by_text("{\"job\": 1}"), Some("JSON"));
        assert_eq!(by_text("[1, 2]"), Some("JSON"));
        assert_eq!(by_text("{harness: 1}"), None, "YAML in braces");
    }
}
