//! Comments, messages and pages are plain technical English: turns that a reader has to read twice don't come back.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A turn to avoid, and what to write.
const TURNS: &[(&str, &str)] = &[
    ("is told", "reported, printed or named: say who does it"),
    ("are told", "reported, printed or named: say who does it"),
    ("been told", "already reported"),
    ("told apart", "distinguished"),
    ("what of", "name the thing: the parts of it that …"),
    ("what comes of", "the effect or the result"),
    ("what else hangs", "the other loads"),
    ("hangs on", "depends on, is fed from, is connected to"),
    ("hang on", "depend on, are fed from, are connected to"),
    ("so many", "the given number, or the number itself"),
    ("as ever", "as before, unchanged"),
    ("to be had", "available, found"),
    ("nought", "zero"),
    ("reckoned", "calculated"),
    ("stands otherwise", "differs"),
    ("stand otherwise", "differ"),
    ("otherwise than", "differs from, unlike"),
    ("anew", "again; a part restarts"),
    ("by turns", "in turn, alternately"),
    ("over and over", "repeatedly"),
    ("for long", "continuously"),
    ("comes to rest", "settles"),
    ("come to rest", "settle"),
    ("goes on working", "keeps working"),
    ("to mend", "to correct, to repair"),
    ("in its stead", "instead"),
    ("screen of the coax", "shield: a screen shows pictures"),
    ("of which", "name the thing again"),
    ("next to no", "almost no"),
    ("next to nothing", "almost nothing"),
    ("all told", "in total"),
    ("none where", "`None` if, or empty if"),
    ("for ever", "without end, permanently"),
    ("slip of the pen", "typing mistake"),
    ("stands twice", "appears twice"),
    ("in the vehicle before", "already in the vehicle"),
    ("passes by itself", "ends by itself"),
    ("hangs there", "is connected there"),
    ("what hangs", "what is connected"),
    ("speaks of", "names, describes"),
    ("speak of", "name, describe"),
    ("tells", "says, shows, reports or returns"),
    ("glass", "display: what a screen shows"),
    ("greatest", "highest, largest, longest or maximum"),
    ("not to be had", "not available"),
    ("is nothing in this spec", "nothing in this spec is named"),
    ("counts for nothing", "does not count"),
    ("sum on paper", "calculation by hand"),
    ("sums on paper", "calculations by hand"),
    ("turns over", "toggles"),
    ("turned over", "toggled"),
    ("breaks a promise", "fails: what was asked for, and what comes"),
    ("the way back", "the path to ground, or the return path"),
    ("say it shorter", "shorten it"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below a folder with one of these endings, in order.
fn files(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            files(&path, endings, found);
        } else if path.extension().is_some_and(|end| endings.iter().any(|one| end == *one)) {
            found.push(path);
        }
    }
}

/// The prose of a Rust file by paragraph, each with its first line: comments on consecutive lines as one, the texts of
/// each other line by themselves.
fn rust_prose(text: &str) -> Vec<(usize, String)> {
    let mut all: Vec<(usize, String)> = Vec::new();
    let mut in_comment = false;
    for (i, line) in text.lines().enumerate() {
        let line = line.trim();
        if let Some(comment) = line.strip_prefix("//") {
            let words = comment.trim_start_matches(['/', '!']).trim();
            match all.last_mut().filter(|_| in_comment) {
                Some((_, paragraph)) => *paragraph = format!("{paragraph} {words}"),
                None => all.push((i + 1, words.to_string())),
            }
            in_comment = true;
            continue;
        }
        in_comment = false;
        let texts: Vec<&str> = line.split('"').skip(1).step_by(2).collect();
        let comment = line.split_once("// ").map_or("", |(_, comment)| comment);
        all.push((i + 1, format!("{} {comment}", texts.join(" "))));
    }
    all
}

/// The prose of a page: its paragraphs.
fn page_prose(text: &str) -> Vec<(usize, String)> {
    let mut all = vec![(1, String::new())];
    for (i, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            all.push((i + 2, String::new()));
        } else if let Some((_, paragraph)) = all.last_mut() {
            *paragraph = format!("{paragraph} {}", line.trim());
        }
    }
    all
}

/// Whether a text holds a turn as whole words, in any case.
fn holds(text: &str, turn: &str) -> bool {
    let text = text.to_lowercase();
    let outside = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    text.match_indices(turn)
        .any(|(at, _)| outside(text[..at].chars().next_back()) && outside(text[at + turn.len()..].chars().next()))
}

/// Every turn to avoid in a file, with its line.
fn faults(path: &Path) -> Vec<String> {
    let text = fs::read_to_string(path).unwrap();
    let prose = if path.extension().is_some_and(|end| end == "rs") { rust_prose(&text) } else { page_prose(&text) };
    let name = path.strip_prefix(root()).unwrap().display().to_string();
    let found = prose.iter().flat_map(|(line, words)| {
        let turns = TURNS.iter().filter(|(turn, _)| holds(words, turn));
        let name = &name;
        turns.map(move |(turn, instead)| format!("{name}:{line}: `{turn}`; {instead}"))
    });
    found.collect()
}

#[test]
fn comments_messages_and_pages_avoid_turns_that_are_read_twice() {
    let mut all = Vec::new();
    for folder in ["src", "tests", "benches"] {
        files(&root().join(folder), &["rs", "md", "html"], &mut all);
    }
    all.extend(["README.md", "DEVELOPERS.md", "harness-specs/FORM.md"].map(|page| root().join(page)));
    all.retain(|path| !path.ends_with(file!()));
    assert!(all.len() > 300, "{} files", all.len());
    let faults: Vec<String> = all.iter().flat_map(|path| faults(path)).collect();
    assert!(faults.is_empty(), "{} turns to avoid:\n{}", faults.len(), faults.join("\n"));
}

/// The search itself finds what it should: across lines of a comment, in a text, and not in code.
#[test]
fn the_search_reads_comments_and_texts_but_no_code() {
    let code = "/// A wire is\n/// told.\nlet what = of;\nlet nought = \"Nought volts\"; // hangs on\n";
    let found: BTreeMap<&str, usize> = TURNS
        .iter()
        .filter_map(|(turn, _)| {
            let count = rust_prose(code).iter().filter(|(_, words)| holds(words, turn)).count();
            (count > 0).then_some((*turn, count))
        })
        .collect();
    assert_eq!(found, BTreeMap::from([("hangs on", 1), ("is told", 1), ("nought", 1)]));
    assert!(!holds("anewly", "anew") && holds("Anew.", "anew"));
}
