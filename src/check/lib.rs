//! Findings: the faults of a harness. In: a model; out: a [`Report`] of findings, the most severe and the causes of others
//! first, accepted ones separate. Each rule has its own file under `rules`, with its explanation beside it.
//!
//! Invariants: a rule returns findings, and neither prints nor changes anything; the same model gives the same report; no
//! spec makes a rule panic.

mod accept;
mod consequences;
mod evidence;
mod explain;
mod fed_from_behind;
mod finding;
mod json;
mod proof;
mod rules;
mod sarif;
#[cfg(test)]
mod specimens;
mod tables;
mod text;

pub use explain::{Explanation, explain, list};
pub use finding::{Evidence, Figure, Finding, Severity, TimelineRow, Waypoint};
pub use json::json;
pub use proof::{Extent, Proof, Proved};
pub use rules::{FAMILIES, Family, rule, rules};
pub use sarif::sarif;
pub use tables::figures;
pub use text::{text, text_in_full};

use circuit::Unsolved;
use explore::{Interrupted, Watch, unwatched};
use facts::Facts;
use form::{Place, Problem};
use model::Model;
use states::Solved;

/// A rule: name, severity, explanation, and the function that finds.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// `family/name`.
    pub name: &'static str,
    /// Severity of its findings.
    pub severity: Severity,
    /// Markdown with headings in a fixed order; see [`Explanation`].
    pub explanation: &'static str,
    /// The function that finds.
    pub finds: Finds,
}

/// The input of a rule.
#[derive(Debug, Clone, Copy)]
pub enum Finds {
    /// From facts about the harness.
    InHarness(fn(&Facts) -> Vec<Finding>),
    /// From the findings of the other rules, with the accepted ones separate.
    InReport(fn(&Model, &Report) -> Vec<Finding>),
}

impl Rule {
    /// A finding of this rule; `about`, `label` and `hint` are added to it.
    pub fn finding(&self, place: Place, message: impl Into<String>) -> Finding {
        Finding {
            rule: self.name,
            severity: self.severity,
            message: message.into(),
            about: String::new(),
            place,
            label: String::new(),
            also: Vec::new(),
            evidence: Evidence::default(),
            hint: String::new(),
            wrong: Vec::new(),
            usual: false,
        }
    }

    /// A finding with the words of a problem at `place`.
    pub fn of_problem(&self, problem: Problem, place: Place) -> Finding {
        let Problem { message, label, hint, also, .. } = problem;
        Finding { label, also, hint: hint.unwrap_or_default(), ..self.finding(place, message) }
    }
}

/// The findings of all rules: errors before warnings before notes, then by family (wrong connections come before their
/// effects on pictures and currents), then in the order of the spec.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// The findings that count.
    pub findings: Vec<Finding>,
    /// The accepted findings, each with the index of its entry in [`Model::accepted`].
    pub accepted: Vec<(Finding, usize)>,
    /// States that could not be solved and so not checked, in words, each once.
    pub unsolved: Vec<String>,
    /// The states that were solved.
    pub proof: Proof,
    /// Whether the worst currents are known only within bounds; see [`Exploration::is_bounded`](explore::Exploration).
    pub bounded: bool,
}

impl Report {
    /// Number of findings with a severity.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|f| f.severity == severity).count()
    }

    /// Whether the harness passes: no finding of severity error, and no state left out.
    pub fn passes(&self) -> bool {
        self.count(Severity::Error) == 0 && self.unsolved.is_empty()
    }
}

/// Runs every rule over a solved harness.
pub fn check(solved: &Solved) -> Report {
    match check_watched(solved, &unwatched) {
        Ok(report) => report,
        // OK because this watch never breaks.
        Err(Interrupted) => unreachable!("nobody interrupts"),
    }
}

/// Like [`check`], with a watch that gets the progress of solving at the other corners.
///
/// # Errors
/// When the watch breaks.
pub fn check_watched(solved: &Solved, watch: Watch) -> Result<Report, Interrupted> {
    let facts = Facts::new(solved);
    facts.prepare(watch)?;
    Ok(check_facts(&facts))
}

/// Runs every rule over facts, which are computed on first use.
pub fn check_facts(facts: &Facts) -> Report {
    let mut report = report(facts);
    report.findings = consequences::fold(facts, report.findings);
    report.findings.sort_by(by_weight);
    report.accepted.sort_by(|a, b| by_weight(&a.0, &b.0));
    report
}

/// What the rules find, each finding by itself.
fn report(facts: &Facts) -> Report {
    let model = facts.model;
    let found = rules().filter_map(|rule| match rule.finds {
        Finds::InHarness(find) => Some(find(facts)),
        Finds::InReport(_) => None,
    });
    let found = found.flatten().filter(|finding| !finding.is_at_its_limit()).collect();
    let mut report = accept::split(model, found);
    report.unsolved = unsolved(facts);
    report.bounded = facts.explored().is_bounded();
    report.proof = Proof::new(facts);
    for rule in rules() {
        if let Finds::InReport(find) = rule.finds {
            let more = find(model, &report);
            report.findings.extend(more);
        }
    }
    report
}

/// States that could not be solved at some corner, in words, each once.
fn unsolved(facts: &Facts) -> Vec<String> {
    let words = |one: &Unsolved| format!("{} ({}): {}", facts.names().positions(&one.state), one.corner, one.why);
    let mut words: Vec<String> = facts.explored().unsolved().map(words).collect();
    words.sort();
    words.dedup();
    words
}

/// By severity, family, place, rule, then what it is about.
fn by_weight(a: &Finding, b: &Finding) -> std::cmp::Ordering {
    let family = |f: &Finding| FAMILIES.iter().position(|family| f.rule.starts_with(family.name));
    let key = |f: &Finding| (f.severity, family(f), f.place, f.rule);
    key(a).cmp(&key(b)).then_with(|| a.about.cmp(&b.about)).then_with(|| a.message.cmp(&b.message))
}

#[cfg(test)]
mod tests;
