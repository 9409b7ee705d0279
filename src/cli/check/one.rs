//! One spec.

use super::{Detail, Format, UNUSABLE, found_style, status};
use crate::{load, print, read, stopped};
use check::{Report, Results, Severity};
use diagnostic::Style;
use job::Job;
use model::Model;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// What the other commands need of a spec that was checked.
pub struct Checked {
    /// Its path, as it was given.
    pub path: PathBuf,
    /// Every file that was read for it.
    pub files: Vec<PathBuf>,
    /// What was found, or the problems that keep it from being read, as text.
    pub found: Result<SpecFindings, String>,
    /// The same for programs.
    pub json: Value,
    /// The same for editors.
    pub sarif: Results,
}

/// What was found in a spec that can be read.
pub struct SpecFindings {
    pub errors: usize,
    pub warnings: usize,
    pub notes: usize,
    /// Exit status for this spec alone.
    pub status: u8,
    /// The whole report.
    pub text: String,
    /// Its last line: the counts.
    pub summary: String,
    /// One line for each finding that follows from no other.
    pub lines: Vec<String>,
}

/// Checks one spec and prints what was found.
pub fn run(spec: &Path, format: Format, detail: Detail) -> Result<(), ExitCode> {
    let job = load(spec)?;
    let report = job.report().map_err(stopped)?;
    let model = job.model().map_err(stopped)?;
    print(&match format {
        Format::Text => text(model, report, detail, found_style()),
        Format::Json => printed(&check::json(model, report)),
        Format::Sarif => check::log([check::results(model, report)]),
    });
    match status(report) {
        0 => Ok(()),
        found => Err(ExitCode::from(found)),
    }
}

/// A value as text.
pub fn printed(value: &Value) -> String {
    format!("{}\n", serde_json::to_string_pretty(value).unwrap_or_default())
}

fn text(model: &Model, report: &Report, detail: Detail, style: Style) -> String {
    match detail {
        Detail::Brief => check::brief(model, report, style),
        Detail::Long => check::text(model, report, style),
        Detail::Full => check::text_in_full(model, report, style),
    }
}

impl Checked {
    /// Checks a spec.
    pub fn of(path: &Path, detail: Detail) -> Checked {
        let job = match read(path) {
            Ok(job) => job,
            Err(unreadable) => {
                let text = diagnostic::problems(&unreadable.sources, &unreadable.problems, found_style());
                let problems = unreadable.problems.iter().map(|problem| problem.message.as_str());
                return Checked {
                    path: path.to_path_buf(),
                    files: files(path, &unreadable.sources),
                    json: json!({ "spec": path.display().to_string(), "problems": problems.collect::<Vec<&str>>() }),
                    sarif: Results::unreadable(&unreadable.sources, &unreadable.problems),
                    found: Err(text),
                };
            }
        };
        Checked::of_job(path, &job, detail)
    }

    fn of_job<'j>(path: &Path, job: &'j Job<'j>, detail: Detail) -> Checked {
        let stages = job.report().and_then(|report| Ok((report, job.model()?)));
        // OK because nothing watches this job, so nothing ends it.
        let (report, model) = stages.unwrap_or_else(|_| unreachable!("nobody interrupts"));
        let lines = report.roots().map(|finding| {
            let (severity, rule) = (finding.severity.word(), finding.rule);
            format!("{severity}[{rule}] {}: {}", finding.about, finding.message)
        });
        let found = SpecFindings {
            errors: report.count(Severity::Error),
            warnings: report.count(Severity::Warning),
            notes: report.count(Severity::Note),
            status: status(report),
            text: text(model, report, detail, found_style()),
            summary: check::summary(report),
            lines: lines.collect(),
        };
        Checked {
            path: path.to_path_buf(),
            files: files(path, &model.sources),
            found: Ok(found),
            json: json!({ "spec": path.display().to_string(), "report": check::json(model, report) }),
            sarif: check::results(model, report),
        }
    }

    /// Exit status for this spec alone.
    pub fn status(&self) -> u8 {
        self.found.as_ref().map_or(UNUSABLE, |found| found.status)
    }
}

/// The files that were read, with the spec itself even if it could not be read.
fn files(path: &Path, sources: &form::Sources) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = sources.files.iter().map(|file| file.path.clone()).collect();
    if !files.iter().any(|file| file == path) {
        files.push(path.to_path_buf());
    }
    files
}
