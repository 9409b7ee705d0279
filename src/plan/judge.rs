//! The judge of every candidate: the same job and the same checks as the command line uses.

use crate::costs::CostTable;
use crate::explain::{PlannedReason, reasons};
use crate::figures::{AddedThings, FeedFigure, ProposalFigures, feeds, measure};
use crate::texts::Instead;
use check::Severity;
use form::Texts;
use job::{Job, Stop};
use model::Model;
use quantity::Gauge;
use std::collections::BTreeMap;
use std::path::Path;

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
    /// The most that each feed of the vehicle supplies.
    pub feeds: Vec<FeedFigure>,
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

/// What else a judged job can be asked without solving it again.
pub trait Further {
    /// Its figures; `None` when the job is ended.
    fn figures(&self, added: &AddedThings, costs: &CostTable) -> Option<ProposalFigures>;
    /// What each part and wire is for; empty when the job is ended.
    fn reasons(&self) -> Vec<PlannedReason>;
}

struct JudgedJob<'j>(&'j Job<'j>);

impl Further for JudgedJob<'_> {
    fn figures(&self, added: &AddedThings, costs: &CostTable) -> Option<ProposalFigures> {
        measure(self.0, added, costs).ok()
    }
    fn reasons(&self) -> Vec<PlannedReason> {
        reasons(self.0).unwrap_or_default()
    }
}

/// Judges a spec's text; `then` may change the judgement and ask further. `path` is that of the wish, so that includes are
/// found.
///
/// # Errors
/// The messages of a text that does not read; when the job is ended.
pub fn judge<T>(
    texts: &dyn Texts,
    path: &Path,
    text: &str,
    then: impl FnOnce(&mut Judgement, &dyn Further) -> T,
) -> Result<(Judgement, T), String> {
    let job = read(texts, path, text)?;
    let mut judgement = verdict(&job).map_err(|_| "interrupted".to_string())?;
    let more = then(&mut judgement, &JudgedJob(&job));
    Ok((judgement, more))
}

fn read<'j>(texts: &dyn Texts, path: &Path, text: &str) -> Result<Job<'j>, String> {
    Job::read(&Instead { texts, path, text }, path).map_err(|unreadable| {
        let lines = unreadable.problems.iter().map(|problem| match problem.place {
            Some(place) => format!("line {}: {}\n", place.line, problem.message),
            None => format!("{}\n", problem.message),
        });
        lines.collect::<String>()
    })
}

/// Whether a text reads as a harness with these gauges: the one that was judged, with its gauges written out.
pub fn has_gauges(texts: &dyn Texts, path: &Path, text: &str, gauges: &BTreeMap<String, Gauge>) -> bool {
    let model = read(texts, path, text).ok().and_then(|job| job.into_model().ok());
    model.is_some_and(|model| gauges_of(&model) == *gauges)
}

fn gauges_of(model: &Model) -> BTreeMap<String, Gauge> {
    model.wires.iter().map(|wire| (wire.id.to_string(), wire.gauge)).collect()
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
        feeds: feeds(job.facts()?, model),
        gauges: gauges_of(model),
    })
}
