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
