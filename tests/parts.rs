//! `parts` from outside.

use assert_cmd::Command;

fn parts(arguments: &[&str]) -> (String, String, Option<i32>) {
    let output = Command::cargo_bin("loomwright").unwrap().arg("parts").args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

#[test]
fn every_part_is_listed_on_a_line_of_its_own() {
    let (out, err, code) = parts(&[]);
    assert_eq!((err.as_str(), code), ("", Some(0)));
    assert!(out.lines().count() >= 60);
    let column = |line: &str| line.find("  ").map(|at| at + line[at..].len() - line[at..].trim_start().len());
    let columns: Vec<_> = out.lines().map(column).collect();
    assert!(columns.iter().all(|c| c.is_some() && *c == columns[0]), "titles line up");
    assert!(out.contains("relay-mini-spdt-12v-diode  "), "{out}");
}

#[test]
fn each_listed_part_can_be_shown() {
    let (list, _, _) = parts(&[]);
    for name in list.lines().step_by(9).filter_map(|line| line.split_whitespace().next()) {
        let (out, err, code) = parts(&[name]);
        assert_eq!((err.as_str(), code), ("", Some(0)), "{name}");
        assert!(out.starts_with(&format!("{name}\n")) && !out.contains("no source"), "{out}");
    }
}

#[test]
fn parts_are_shown_with_pins_figures_and_sources() {
    let shown: Vec<String> =
        ["relay-mini-spdt-12v-diode", "fuse-blade", "screen-2in-12v", "connector-6-sealed", "hold-module-12v"]
            .iter()
            .map(|name| parts(&[name]).0)
            .collect();
    insta::assert_snapshot!(shown.join("\n────\n\n"));
}

#[test]
fn an_unknown_part_is_reported_with_the_nearest_name() {
    let (out, err, code) = parts(&["relay-mni-spdt-12v"]);
    assert_eq!((out.as_str(), code), ("", Some(2)));
    assert!(err.contains("did you mean `relay-mini-spdt-12v`?"), "{err}");
}

/// The page of sources: a line for each figure of the tables and of the catalogue, none without a source, each with how far
/// that was checked.
#[test]
fn every_figure_has_its_source_on_one_page() {
    let output = Command::cargo_bin("loomwright").unwrap().arg("sources").output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = text.lines().skip(2).collect();
    assert!(lines.len() > 500, "{}", lines.len());
    let words = ["  no: from memory  ", "  common practice  ", "  source named  "];
    for word in words {
        assert!(lines.iter().any(|line| line.contains(word)), "{word}");
    }
    for line in &lines {
        let (_, source) = words.iter().find_map(|word| line.split_once(word)).unwrap_or_else(|| panic!("{line}"));
        assert!(!source.trim().is_empty() && source.trim() != "no source given", "{line}");
        assert_eq!(source.contains("from memory"), line.contains(words[0]), "{line}");
    }
    for figure in ["fuse-distance", "glows-share", "allowable current", "relay-mini-spst-12v"] {
        assert!(lines.iter().any(|line| line.contains(figure)), "{figure}");
    }
}
