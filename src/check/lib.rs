//! Findings: what is wrong with a harness. In comes the model; out goes a [`Report`] of findings, the
//! gravest and what causes others first, those accepted on purpose apart. Every rule is a file of its own under `rules`, its explanation beside it.
//!
//! What must hold: a rule finds facts and returns them, and neither prints nor changes anything; the same model gives the
//! same report; nothing of a spec can make a rule fail.

mod accept;
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
pub use text::text;

use facts::Facts;
use form::{Place, Problem};
use model::Model;
use solve::{Interrupted, Unsolved, Watch, unwatched};
use states::Solved;

/// A rule: what it is called, how bad its findings are, what it says of itself, and how it finds.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// `family/name`.
    pub name: &'static str,
    /// Of its findings.
    pub severity: Severity,
    /// Markdown with headings in a fixed order; see [`Explanation`].
    pub explanation: &'static str,
    /// How it finds.
    pub finds: Finds,
}

/// How a rule finds.
#[derive(Debug, Clone, Copy)]
pub enum Finds {
    /// From facts about the harness.
    InHarness(fn(&Facts) -> Vec<Finding>),
    /// In what the other rules found, once the accepted findings are known.
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
        }
    }

    /// A finding in the words of a problem that stands at `place`.
    pub fn of_problem(&self, problem: Problem, place: Place) -> Finding {
        let Problem { message, label, hint, also, .. } = problem;
        Finding { label, also, hint: hint.unwrap_or_default(), ..self.finding(place, message) }
    }
}

/// What all rules found: errors before warnings before notes, of each the families in their order (what is joined wrongly
/// comes before what that does to the picture and the currents), then in the order of the spec.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// What counts.
    pub findings: Vec<Finding>,
    /// What was accepted on purpose, each with the index of its line in [`Model::accepted`].
    pub accepted: Vec<(Finding, usize)>,
    /// States that could not be solved, in words, each once: nothing was checked there.
    pub unsolved: Vec<String>,
    /// What was solved for it.
    pub proof: Proof,
    /// Whether the worst currents are known within bounds only, as [`Exploration::is_bounded`](solve::Exploration)
    /// tells.
    pub bounded: bool,
}

impl Report {
    /// How many findings are of a severity.
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

/// The same, with a watch that learns how far the solving at other corners is.
///
/// # Errors
/// When the watch breaks.
pub fn check_watched(solved: &Solved, watch: Watch) -> Result<Report, Interrupted> {
    let facts = Facts::new(solved);
    facts.prepare(watch)?;
    Ok(check_facts(&facts))
}

/// Runs every rule over facts, and computes those that are not there yet.
pub fn check_facts(facts: &Facts) -> Report {
    let model = facts.model;
    let found = rules().filter_map(|rule| match rule.finds {
        Finds::InHarness(find) => Some(find(facts)),
        Finds::InReport(_) => None,
    });
    let mut report = accept::split(model, found.flatten().collect());
    report.unsolved = unsolved(facts);
    report.bounded = facts.explored().is_bounded();
    report.proof = Proof::new(facts);
    for rule in rules() {
        if let Finds::InReport(find) = rule.finds {
            let more = find(model, &report);
            report.findings.extend(more);
        }
    }
    report.findings.sort_by(by_weight);
    report.accepted.sort_by(|a, b| by_weight(&a.0, &b.0));
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
