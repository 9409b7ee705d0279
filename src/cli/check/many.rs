//! Many specs: the findings of each, a table, one log for all.

use super::one::printed;
use super::{Checked, Detail, Format, UNUSABLE, complain, print};
use crate::table::table;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Checks specs side by side and prints what was found.
pub fn run(specs: &[PathBuf], format: Format, detail: Detail) -> Result<(), ExitCode> {
    // One spec a thread: none of them starts threads of its own.
    let all = threads::each(specs, |spec: &PathBuf| threads::serially(|| Checked::of(spec, detail)));
    let status = all.iter().map(Checked::status).max().unwrap_or(UNUSABLE);
    match format {
        Format::Text => {
            all.iter().for_each(report);
            print(&summary(&all));
        }
        Format::Json => {
            let specs: Vec<_> = all.into_iter().map(|one| one.json).collect();
            print(&printed(&json!({ "version": 1, "specs": specs })));
        }
        Format::Sarif => print(&check::log(all.into_iter().map(|one| one.sarif))),
    }
    if status == 0 { Ok(()) } else { Err(ExitCode::from(status)) }
}

/// Prints what was found in one of them, if anything.
fn report(one: &Checked) {
    let heading = |path: &Path| format!("{}\n{}\n\n", path.display(), "═".repeat(path.display().to_string().len()));
    match &one.found {
        Ok(found) if found.lines.is_empty() && found.status == 0 => {}
        Ok(found) => print(&format!("{}{}\n", heading(&one.path), found.text)),
        Err(problems) => complain(&format!("{}{problems}\n", heading(&one.path))),
    }
}

/// A line for each spec, and how many pass.
fn summary(all: &[Checked]) -> String {
    let headings = ["spec", "errors", "warnings", "notes", "result"].map(str::to_string);
    let count = |n: usize| if n == 0 { "–".to_string() } else { n.to_string() };
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|one| {
            let path = one.path.display().to_string();
            match &one.found {
                Ok(found) => {
                    let result = match (found.status, found.errors) {
                        (0, _) => "passes",
                        (_, 0) => "not all states solved",
                        _ => "has errors",
                    };
                    vec![path, count(found.errors), count(found.warnings), count(found.notes), result.to_string()]
                }
                Err(_) => vec![path, "–".into(), "–".into(), "–".into(), "can't be read".into()],
            }
        })
        .collect();
    let pass = all.iter().filter(|one| one.status() == 0).count();
    let specs = if all.len() == 1 { "spec passes" } else { "specs pass" };
    format!("{}{pass} of {} {specs}\n", table(&headings, &rows), all.len())
}
