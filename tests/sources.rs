//! The page of sources lists every figure that stands in the code: each constant whose comment says where it comes from.
//! `REWRITE=1 cargo test --test sources` writes the list again.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// The list that `sources` prints.
const LIST: &str = "src/cli/figures_in_code.csv";

/// What a comment says that names a source, or that there is none.
const SAYS: [&str; 4] = ["no source", "from memory", "typical", "common practice"];

fn files_in(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            files_in(&entry, into);
        } else if entry.extension().is_some_and(|ending| ending == "rs") {
            into.push(entry);
        }
    }
}

/// A constant of the code: its name, its value as it stands there, and its comment.
struct Constant {
    name: String,
    value: String,
    comment: String,
}

fn constants(text: &str) -> Vec<Constant> {
    let mut found = Vec::new();
    let mut comment: Vec<&str> = Vec::new();
    for line in text.lines().map(str::trim) {
        if let Some(words) = line.strip_prefix("///") {
            comment.push(words.trim());
            continue;
        }
        if let Some((name, value)) = constant(line) {
            found.push(Constant { name: name.to_string(), value: value.to_string(), comment: comment.join(" ") });
        }
        comment.clear();
    }
    found
}

/// The name and the value in `pub const NAME: Type = value;`.
fn constant(line: &str) -> Option<(&str, &str)> {
    let at = line.find("const ")?;
    let before = &line[..at];
    if !before.is_empty() && !before.starts_with("pub") {
        return None;
    }
    let (name, rest) = line[at + 6..].split_once(": ")?;
    let (_, value) = rest.split_once(" = ")?;
    name.chars().all(|c| c.is_ascii_uppercase() || c == '_').then_some((name, value.trim_end_matches(';')))
}

/// A value for people: `Amps::new(30.0)` is `30 A`.
fn in_words(value: &str) -> String {
    const UNITS: [(&str, &str); 6] = [
        ("Amps::new(", " A"),
        ("Ohms::new(", " Ω"),
        ("Volts::new(", " V"),
        ("Seconds::new(", " s"),
        ("Time::milliseconds(", " ms"),
        ("Share::new(", ""),
    ];
    let plain = |number: &str| number.trim_end_matches(".0").replace('_', "");
    let mut words = value.replace("Time::ZERO", "0 ms").trim_matches('"').to_string();
    if words == "[" {
        return "a table".to_string();
    }
    for (begin, unit) in UNITS {
        while let Some(at) = words.find(begin) {
            let rest = &words[at + begin.len()..];
            let end = rest.find(')').unwrap();
            words = format!("{}{}{unit}{}", &words[..at], plain(&rest[..end]), &rest[end + 1..]);
        }
    }
    let words = words.trim_start_matches('[').trim_end_matches(']').replace("), (", "; ").replace(['(', ')'], "");
    plain(&words)
}

/// The list as it should be.
fn list(root: &Path) -> String {
    let mut files = Vec::new();
    files_in(&root.join("src"), &mut files);
    files.sort();
    let mut out = String::from("room,figure,value,source\n");
    for file in files {
        let place = file.strip_prefix(root.join("src")).unwrap().to_string_lossy().into_owned();
        if place.contains("tests") {
            continue;
        }
        let room = place.split('/').next().unwrap();
        for constant in constants(&fs::read_to_string(&file).unwrap()) {
            if SAYS.iter().any(|says| constant.comment.contains(says)) {
                let name = constant.name.to_lowercase().replace('_', "-");
                let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
                let (value, source) = (quoted(&in_words(&constant.value)), quoted(&constant.comment));
                writeln!(out, "{room},{name},{value},{source}").unwrap();
            }
        }
    }
    out
}

#[test]
fn the_page_of_sources_has_every_figure_of_the_code() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let wanted = list(root);
    assert!(wanted.lines().count() > 30, "the search finds hardly any constant:\n{wanted}");
    if std::env::var_os("REWRITE").is_some() {
        fs::write(root.join(LIST), &wanted).unwrap();
    }
    let found = fs::read_to_string(root.join(LIST)).unwrap_or_default();
    assert_eq!(found, wanted, "run REWRITE=1 cargo test --test sources");
}
