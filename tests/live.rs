//! `--state` from outside: live drawings, in the book too, and what is said about a state that can't be shown.

use assert_cmd::cargo::cargo_bin_cmd;
use std::path::Path;

fn spec(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs").join(name).with_extension("yaml").display().to_string()
}

/// What the program says, and whether it is content.
fn run(arguments: &[&str]) -> (bool, String) {
    let output = cargo_bin_cmd!("loomwright").args(arguments).output().unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(text).unwrap())
}

#[test]
fn build_writes_the_live_drawings_and_the_book_says_which_state() {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().display().to_string();
    let (well, said) = run(&["build", &spec("first-harness"), "--state", "reverse", "--out", &folder]);
    assert!(well, "{said}");
    let read = |name: &str| std::fs::read_to_string(out.path().join(name)).unwrap();
    for name in ["connection-diagram-live.svg", "current-path-diagram-live.svg"] {
        // What reverse needs is put there too, and said.
        assert!(said.contains(name) && read(name).contains("Live: key run, reverse."), "{said}");
    }
    assert!(read("build-book.html").contains("the state ‘key run, reverse’"));
    let plain = tempfile::tempdir().unwrap();
    assert!(run(&["build", &spec("first-harness"), "--out", &plain.path().display().to_string()]).0);
    for name in ["connection-diagram.svg", "current-path-diagram.svg", "job.json"] {
        assert_eq!(read(name), std::fs::read_to_string(plain.path().join(name)).unwrap(), "{name}");
    }
    assert!(!plain.path().join("connection-diagram-live.svg").exists());
}

#[test]
fn a_state_that_cant_be_shown_is_told_what_why_and_what_to_do() {
    let out = tempfile::tempdir().unwrap();
    let file = out.path().join("drawing.svg").display().to_string();
    let sprayer = spec("orchard-sprayer-pickup");
    for (drawing, state, what) in [
        ("connection-diagram", "revers", ["not an input of this spec", "did you mean `reverse`?"]),
        ("connection-diagram", "key stop", ["a position that it has not got", "positions: off, accessory, run"]),
        ("connection-diagram", "reverse, key off", ["is excluded: `reverse` needs `key`", "leave `reverse` out"]),
        ("current-path-diagram", "key run, key off", ["to two positions", "name `key` once"]),
        ("harness-layout", "reverse", ["can't be drawn in one state", "current-path-diagram"]),
    ] {
        let (well, said) = run(&["draw", &sprayer, drawing, "--state", state, "--out", &file]);
        let whole = ["error: ", "\n  why: ", "\n  do: "].iter().chain(&what).all(|part| said.contains(part));
        assert!(!well && whole, "{state}: {said}");
        assert!(!Path::new(&file).exists());
    }
}

/// Both turn signals at once are the hazards; the order in which inputs are named does not matter.
#[test]
fn the_same_state_is_drawn_the_same_however_it_is_asked_for() {
    let out = tempfile::tempdir().unwrap();
    let drawn = |state: &str| {
        let file = out.path().join("drawing.svg");
        let path = file.display().to_string();
        let (well, said) =
            run(&["draw", &spec("first-harness"), "connection-diagram", "--state", state, "--out", &path]);
        assert!(well, "{said}");
        std::fs::read(&file).unwrap()
    };
    assert_eq!(drawn("reverse"), drawn("reverse = on, key run"));
    assert_eq!(drawn(""), drawn("at rest"));
    assert_ne!(drawn("reverse"), drawn("key run"));
}
