//! Reads the results of a bench test: `bench-test.csv` or its short form with the column `Read` filled in, or a record that
//! the build book saved.

use crate::bench::BenchTest;
use crate::bench::judge::{StepResult, numbered};
use crate::lists::csv::{plain, reader, with_plain_ends};
use serde_json::Value;
use std::collections::BTreeMap;

/// The form of a record that the book saves.
const RECORD: &str = "loomwright record 1";

/// What was found, by the number of the step.
pub type BenchResults = BTreeMap<String, StepResult>;

/// Why results can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongResults {
    /// The line of the file, from 1, where one is at fault.
    pub line: Option<u64>,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: String,
}

/// Reads results of `test`. `title` is the book's: `Van, revision B`.
///
/// # Errors
/// If the text is neither form, is cut off, or belongs to another harness or revision.
pub fn read(text: &str, test: &BenchTest, title: &str) -> Result<BenchResults, WrongResults> {
    let text = with_plain_ends(text);
    if text.trim_start().starts_with('{') { from_record(&text, test, title) } else { from_csv(&text, test) }
}

fn wrong(line: Option<u64>, what: impl Into<String>, hint: &str) -> WrongResults {
    WrongResults { line, what: what.into(), hint: hint.to_string() }
}

const OTHER_REVISION: &str =
    "use the results of this spec and revision, or build the documents again and repeat the test";

fn from_csv(text: &str, test: &BenchTest) -> Result<BenchResults, WrongResults> {
    let mut rows = reader(text);
    let heads = rows.headers().map_err(|e| wrong(None, e.to_string(), "save the sheet as CSV in UTF-8"))?.clone();
    let column = |name: &str| heads.iter().position(|head| head.trim().eq_ignore_ascii_case(name));
    let (Some(step), Some(read)) = (column("Step"), column("Read")) else {
        let hint = "fill in bench-test.csv, or save the bench results or the record from the build book";
        return Err(wrong(Some(1), "the columns `Step` and `Read` are missing", hint));
    };
    let known: BTreeMap<String, [String; 3]> = numbered(test)
        .map(|(number, _, step)| (number, [&step.what, &step.red, &step.black].map(|cell| bare(&plain(cell)))))
        .collect();
    let compared = ["Check", "Red tip", "Black tip"].map(column);
    let mut found = BenchResults::new();
    for row in rows.records() {
        let row = row.map_err(|e| {
            wrong(e.position().map(csv::Position::line), "the row can't be read", "save the sheet as CSV in UTF-8")
        })?;
        let line = row.position().map(csv::Position::line);
        let cell = |at: usize| row.get(at).unwrap_or_default().trim().trim_start_matches('\'');
        let number = cell(step).to_string();
        if number.is_empty() && row.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let Some(wanted) = known.get(&number) else {
            return Err(wrong(line, format!("the test has no step `{number}`"), OTHER_REVISION));
        };
        for (at, wanted) in compared.iter().zip(wanted) {
            let Some(at) = at else { continue };
            let given = bare(&plain(cell(*at)));
            if given != *wanted {
                let what = format!("step {number} is `{given}` here, but `{wanted}` in the test of this spec");
                return Err(wrong(line, what, OTHER_REVISION));
            }
        }
        let result = StepResult { read: cell(read).to_string(), ticked: false };
        if found.insert(number.clone(), result).is_some() {
            return Err(wrong(line, format!("step {number} is there twice"), "keep one row for each step"));
        }
    }
    Ok(found)
}

/// A cell without what spreadsheets and lists add: a first apostrophe, double spaces.
fn bare(cell: &str) -> String {
    cell.trim_start_matches('\'').split_whitespace().collect::<Vec<_>>().join(" ")
}

fn from_record(text: &str, test: &BenchTest, title: &str) -> Result<BenchResults, WrongResults> {
    let record: Value = serde_json::from_str(text).map_err(|e| {
        let what = format!("the record is cut off or damaged: {e}");
        wrong(Some(e.line() as u64), what, "save it once more from the build book")
    })?;
    if record["form"] != RECORD {
        return Err(wrong(None, "this is no record of a build book", "save the record from the build book"));
    }
    let book = record["book"].as_str().unwrap_or_default();
    if !book.starts_with(&format!("{title} ")) {
        return Err(wrong(None, format!("the record belongs to `{book}`, not to `{title}`"), OTHER_REVISION));
    }
    let mut found = BenchResults::new();
    for (number, ..) in numbered(test) {
        let read = record["readings"][format!("step {number}")].as_str().unwrap_or_default().to_string();
        let tick = |end: &str| record["ticks"][format!("bench: step {number} {end}")] == true;
        found.insert(number.clone(), StepResult { read, ticked: tick("passed") || tick("done") });
    }
    let strange = record["readings"]
        .as_object()
        .into_iter()
        .flat_map(|all| all.keys())
        .find(|key| key.strip_prefix("step ").is_some_and(|number| !found.contains_key(number)));
    match strange {
        Some(key) => Err(wrong(None, format!("the test has no {key}"), OTHER_REVISION)),
        None => Ok(found),
    }
}
