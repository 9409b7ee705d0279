//! Findings, drawings and documents solve nothing: what they need solved is a fact.

use std::path::{Path, PathBuf};

/// What starts a solver, an exploration, a walk or a timeline.
const SOLVES: [&str; 8] =
    ["Solver", "explore(", "explore_all(", ".visit", ".hold(", "Walk::new(", "replay_all(", "ReplayCircuit::new("];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && path.file_name().is_some_and(|name| name != "tests") {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

/// The text of a source without the tests at its end.
fn code(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    text.split("#[cfg(test)]").next().unwrap_or_default().to_string()
}

#[test]
fn findings_drawings_and_documents_solve_nothing() {
    for room in ["check", "draw", "book"] {
        let mut files = Vec::new();
        sources(&Path::new("src").join(room), &mut files);
        assert!(files.len() > 20, "{room}");
        for path in files {
            let code = code(&path);
            let solves: Vec<&&str> = SOLVES.iter().filter(|word| code.contains(**word)).collect();
            assert!(solves.is_empty(), "{} solves: {solves:?}; make what it needs a fact", path.display());
        }
    }
    // The search finds what it looks for.
    let mut files = Vec::new();
    sources(Path::new("src/facts"), &mut files);
    assert!(SOLVES[..1].iter().chain(&SOLVES[5..7]).all(|word| files.iter().any(|path| code(path).contains(word))));
}
