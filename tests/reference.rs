//! The reference of the spec form, `harness-specs/FORM.md`: its tables are generated from the form's declarations, and
//! its examples are run.

use assert_cmd::cargo::cargo_bin_cmd;
use form::colour::COLOURS;
use quantity::{
    AmpHours, AmpSquaredSeconds, Amps, Celsius, Gauge, Metres, Ohms, PerMinute, Quantity, Seconds, Share, Volts, Watts,
};
use serde_json::{Map, Value};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

#[path = "kept/mod.rs"]
mod kept;

const REFERENCE: &str = "harness-specs/FORM.md";

fn reference() -> String {
    fs::read_to_string(kept::root().join(REFERENCE)).unwrap()
}

/// Every named form of a spec and of a parts file.
fn forms() -> Map<String, Value> {
    let mut all = Map::new();
    for schema in [spec::schema(), spec::parts_schema()] {
        all.extend(schema["$defs"].as_object().unwrap().clone());
    }
    all
}

// ---- tables --------------------------------------------------------------------------------------------------------

/// A form's description as the name of a value: `A wire.` is `a wire`.
fn short(description: &str) -> String {
    let end = description.find([',', ';', ':', '.']).unwrap_or(description.len());
    let mut letters = description[..end].chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The value of a key, in words.
fn what(schema: &Value, forms: &Map<String, Value>) -> String {
    if let Some(name) = schema["$ref"].as_str().and_then(|r| r.rsplit('/').next()) {
        return format!("[{}](#{})", short(forms[name]["description"].as_str().unwrap()), name.to_lowercase());
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        return choices.iter().map(|choice| what(choice, forms)).collect::<Vec<_>>().join(" or ");
    }
    if let Some(word) = schema["const"].as_str() {
        return format!("`{word}`");
    }
    match (schema["title"].as_str(), schema["type"].as_str()) {
        (Some(title), _) => match schema["examples"][0].as_str() {
            Some(example) => format!("{title}, such as `{example}`"),
            None => title.to_string(),
        },
        (None, Some("array")) => format!("a list: {}", what(&schema["items"], forms)),
        (None, Some("object")) => format!("by name: {}", what(&schema["additionalProperties"], forms)),
        _ => panic!("no words for {schema}"),
    }
}

fn keys(name: &str, forms: &Map<String, Value>) -> String {
    let form = &forms[name];
    let must: BTreeSet<&str> =
        form["required"].as_array().into_iter().flatten().filter_map(|key| key.as_str()).collect();
    let mut rows = format!(
        "<a id=\"{}\"></a>\n{} Keys in bold are required.\n\n| key | value | meaning |\n|---|---|---|\n",
        name.to_lowercase(),
        form["description"].as_str().unwrap()
    );
    let mut row = |key: &str, schema: &Value| {
        let meaning = schema["description"].as_str().unwrap_or_else(|| panic!("{name}: {key} has no description"));
        let _ = writeln!(rows, "| {key} | {} | {meaning} |", what(schema, forms));
    };
    for (key, schema) in form["properties"].as_object().unwrap() {
        let code = if must.contains(key.as_str()) { format!("**`{key}`**") } else { format!("`{key}`") };
        row(&code, schema);
    }
    if form["additionalProperties"].is_object() {
        row("*a name*", &form["additionalProperties"]);
    }
    if must.is_empty() { rows.replacen(" Keys in bold are required.", "", 1) } else { rows }
}

fn words(name: &str, forms: &Map<String, Value>) -> String {
    let form = &forms[name];
    let mut rows = format!(
        "<a id=\"{}\"></a>\n{}\n\n| word | meaning |\n|---|---|\n",
        name.to_lowercase(),
        form["description"].as_str().unwrap()
    );
    for choice in form["oneOf"].as_array().unwrap() {
        let meaning = choice["description"].as_str().unwrap();
        let _ = match choice["properties"].as_object().and_then(|p| p.iter().next()) {
            Some((key, schema)) => writeln!(rows, "| `{key}` | {meaning} Its value: {}. |", what(schema, forms)),
            None => writeln!(rows, "| `{}` | {meaning} |", choice["const"].as_str().unwrap()),
        };
    }
    rows
}

fn quantities() -> String {
    fn row<Q: Quantity>() -> String {
        let units = Q::UNITS.iter().map(|unit| format!("`{unit}`")).collect::<Vec<_>>().join(" ");
        format!("| {} | {units} | `{}` |\n", Q::NAME, Q::EXAMPLE)
    }
    let rows = [
        row::<Volts>(),
        row::<Amps>(),
        row::<Ohms>(),
        row::<Watts>(),
        row::<Metres>(),
        row::<Gauge>(),
        row::<Seconds>(),
        row::<PerMinute>(),
        row::<Share>(),
        row::<Celsius>(),
        row::<AmpHours>(),
        row::<AmpSquaredSeconds>(),
    ];
    format!("| what | units | for example |\n|---|---|---|\n{}", rows.concat())
}

fn colours() -> String {
    let rows: String = COLOURS.iter().map(|(code, name)| format!("| `{code}` | {name} |\n")).collect();
    format!("| code | colour |\n|---|---|\n{rows}")
}

/// The reference with each of its tables regenerated.
fn fresh(text: &str) -> String {
    let forms = forms();
    let mut out = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let _ = writeln!(out, "{line}");
        let Some(table) = line.strip_prefix("<!-- ").and_then(|rest| rest.strip_suffix(" -->")) else { continue };
        let made = match table.split_once(" of ") {
            Some(("keys", name)) => keys(name, &forms),
            Some(("words", name)) => words(name, &forms),
            Some(("table", "quantities")) => quantities(),
            Some(("table", "colours")) => colours(),
            _ => panic!("unknown table: {table}"),
        };
        assert!(lines.by_ref().any(|line| line == "<!-- end -->"), "`{table}` has no end");
        let _ = writeln!(out, "\n{made}\n<!-- end -->");
    }
    out
}

#[test]
fn the_tables_are_up_to_date() {
    kept::hold(Path::new(REFERENCE), fresh(&reference()).as_bytes(), "reference");
}

#[test]
fn every_form_has_its_table() {
    let text = reference();
    for name in forms().keys() {
        let tables = [format!("<!-- keys of {name} -->"), format!("<!-- words of {name} -->")];
        let count: usize = tables.iter().map(|table| text.matches(table.as_str()).count()).sum();
        assert_eq!(count, 1, "{name} has {count} tables");
    }
}

#[test]
fn every_link_leads_somewhere() {
    let text = reference();
    let heading = |line: &str| -> String {
        let kept = |c: &char| c.is_alphanumeric() || *c == ' ' || *c == '-';
        line.trim_start_matches('#').trim().to_lowercase().chars().filter(kept).collect::<String>().replace(' ', "-")
    };
    let headings: BTreeSet<String> = text.lines().filter(|line| line.starts_with('#')).map(heading).collect();
    for link in text.split("](#").skip(1).filter_map(|rest| rest.split(')').next()) {
        let anchor = format!("<a id=\"{link}\"></a>");
        assert!(headings.contains(link) || text.contains(&anchor), "#{link} is nowhere");
    }
}

// ---- examples ------------------------------------------------------------------------------------------------------

/// The fenced blocks with their info strings.
fn blocks(text: &str) -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(info) = line.strip_prefix("```") {
            let body: String = lines.by_ref().take_while(|l| *l != "```").map(|l| format!("{l}\n")).collect();
            all.push((info.to_string(), body));
        }
    }
    all
}

/// Runs `check` on a text: exit status and output.
fn check(text: &str) -> (i32, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("spec.yaml");
    fs::write(&path, text).unwrap();
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(&path).output().unwrap();
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    (output.status.code().unwrap(), said)
}

#[test]
fn the_examples_together_are_one_sound_harness() {
    let examples: String =
        blocks(&reference()).into_iter().filter(|(info, _)| info == "yaml").map(|(_, body)| body).collect();
    let (status, said) = check(&examples);
    assert_eq!(status, 0, "{said}");
    assert!(!said.contains("error") && !said.contains("warning"), "{said}");
}

#[test]
fn mistakes_give_the_messages_on_the_page() {
    let blocks = blocks(&reference());
    let mistakes: Vec<_> = blocks.windows(2).filter(|pair| pair[0].0 == "yaml mistake").collect();
    assert!(mistakes.len() >= 5);
    for pair in mistakes {
        let (_, said) = check(&format!("harness: 1\njob: {{title: x, nominal: 12 V}}\n{}", pair[0].1));
        assert_eq!(pair[1].0, "text");
        assert!(said.contains(pair[1].1.trim()), "`{}` is not in:\n{said}", pair[1].1.trim());
    }
}
