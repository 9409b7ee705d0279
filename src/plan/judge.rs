//! The judge of every candidate: the same job and the same checks as the command line uses.

use crate::costs::CostTable;
use crate::explain::{PlannedReason, reasons};
use crate::figures::{AddedThings, ProposalFigures, measure};
use check::Severity;
use form::Texts;
use job::{Job, Stop};
use quantity::Gauge;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What a job says about a spec's text.
pub struct Judgement {
    /// Whether every state could be solved.
    pub solved: bool,
    /// Notes.
    pub notes: usize,
    /// States that were solved.
    pub states: usize,
    /// Each error and warning that follows from no other.
    pub findings: Vec<SeriousFinding>,
    /// The gauge of each wire, by number.
    pub gauges: BTreeMap<String, Gauge>,
}

/// An error or a warning.
#[derive(Debug, Clone)]
pub struct SeriousFinding {
    /// Its rule.
    pub rule: String,
    /// Whether it is an error.
    pub error: bool,
    /// What it is about.
    pub about: String,
    /// What it says.
    pub message: String,
    /// The line of the spec's text that it marks.
    pub line: String,
}

/// The texts of a wish, with a proposal in place of the wish's own.
struct Instead<'a> {
    texts: &'a dyn Texts,
    path: &'a Path,
    text: &'a str,
}

impl Texts for Instead<'_> {
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String> {
        if path == self.path { Ok(self.text.as_bytes().to_vec()) } else { self.texts.contents(path, most) }
    }
    fn identity(&self, path: &Path) -> PathBuf {
        self.texts.identity(path)
    }
    fn may_include(&self, spec: &Path, include: &Path) -> bool {
        self.texts.may_include(spec, include)
    }
}

/// Judges a spec's text. `path` is that of the wish, so that includes are found.
///
/// # Errors
/// The messages of a text that does not read; when the job is ended.
pub fn judge(texts: &dyn Texts, path: &Path, text: &str) -> Result<Judgement, String> {
    let job = Job::read(&Instead { texts, path, text }, path).map_err(|unreadable| {
        let lines = unreadable.problems.iter().map(|problem| match problem.place {
            Some(place) => format!("line {}: {}\n", place.line, problem.message),
            None => format!("{}\n", problem.message),
        });
        lines.collect::<String>()
    })?;
    verdict(&job).map_err(|_| "interrupted".to_string())
}

/// What each part and wire of a spec's text is for; `None` when the job is ended.
pub fn reasons_of(texts: &dyn Texts, path: &Path, text: &str) -> Option<Vec<PlannedReason>> {
    let job = Job::read(&Instead { texts, path, text }, path).ok()?;
    reasons(&job).ok()
}

/// The figures of a spec's text that was judged; `None` when the job is ended.
pub fn figures(
    texts: &dyn Texts,
    path: &Path,
    text: &str,
    added: &AddedThings,
    costs: &CostTable,
) -> Option<ProposalFigures> {
    let job = Job::read(&Instead { texts, path, text }, path).ok()?;
    measure(&job, added, costs).ok()
}

fn verdict<'j>(job: &'j Job<'j>) -> Result<Judgement, Stop> {
    let (report, model) = (job.report()?, job.model()?);
    let text = model.sources.files.first().map_or("", |file| file.text.as_str());
    let serious = |finding: &check::Finding| SeriousFinding {
        rule: finding.rule.to_string(),
        error: finding.severity == Severity::Error,
        about: finding.about.clone(),
        message: finding.message.clone(),
        line: text.lines().nth(finding.place.line.saturating_sub(1)).unwrap_or("").to_string(),
    };
    let findings: Vec<SeriousFinding> =
        report.roots().filter(|finding| finding.severity != Severity::Note).map(serious).collect();
    Ok(Judgement {
        solved: report.passes() || report.count(Severity::Error) > 0,
        notes: report.count(Severity::Note),
        states: job.solved()?.table().rows.len(),
        findings,
        gauges: model.wires.iter().map(|wire| (wire.id.to_string(), wire.gauge)).collect(),
    })
}
