//! Findings: the faults of a harness. In: a model; out: a [`Report`] of findings, the most severe and the causes of others
//! first, accepted ones separate. Each rule has its own file under `rules`, with its explanation beside it.
//!
//! Invariants: a rule returns findings, and neither prints nor changes anything; the same model gives the same report; no
//! spec makes a rule panic.

mod accept;
mod cause;
mod endurance;
mod evidence;
mod explain;
mod fed_from_behind;
mod finding;
mod json;
mod proof;
mod repair;
mod rules;
mod sarif;
#[cfg(test)]
mod specimens;
mod tables;
mod text;

pub use endurance::{Endurance, endurance};
pub use explain::{Explanation, explain, list};
pub use finding::{Evidence, Figure, Finding, Involved, Severity, TimelineRow, Waypoint, WorksFault};
pub use json::json;
pub use proof::{Extent, Proof, Proved};
pub use repair::Repair;
pub use rules::{FAMILIES, RuleFamily, rule, rules};
pub use sarif::{Results, log, results};
pub use tables::figures;
pub use text::{brief, summary, text, text_in_full};

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
    /// By repairs that are tried: what other findings vanish with.
    ByRepair,
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
            involved: Involved::default(),
            hint: String::new(),
            usual: false,
            repair: None,
            breaks_view: None,
            follows_from: None,
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
    /// The findings that are not accepted: each root, then its consequences.
    pub findings: Vec<Finding>,
    /// The accepted findings, each with the index of its entry in [`Model::accepted`].
    pub accepted: Vec<(Finding, usize)>,
    /// The entries of [`Model::accepted`] that a finding is worse than.
    pub exceeded: Vec<usize>,
    /// States that could not be solved and so not checked, in words, each once.
    pub unsolved: Vec<String>,
    /// The states that were solved.
    pub proof: Proof,
    /// How long each battery lasts with the engine off.
    pub endurance: Vec<Endurance>,
    /// Whether the worst currents are known only within bounds; see [`Exploration::is_bounded`](explore::Exploration).
    pub bounded: bool,
}

impl Report {
    /// The findings that follow from no other.
    pub fn roots(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.follows_from.is_none())
    }

    /// Number of findings with a severity that follow from no other.
    pub fn count(&self, severity: Severity) -> usize {
        self.roots().filter(|finding| finding.severity == severity).count()
    }

    /// The findings that follow from a root.
    pub fn following(&self, root: usize) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |finding| finding.follows_from == Some(root))
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
    check_facts(&facts, watch)
}

/// Runs every rule over facts, which are computed on first use.
///
/// # Errors
/// When the watch breaks.
pub fn check_facts(facts: &Facts, watch: Watch) -> Result<Report, Interrupted> {
    let mut report = accept::split(facts.model, cause::found(facts));
    let mut trials = cause::Trials::new(facts, watch);
    let after_repair = cause::fold(facts, &mut report.findings, &mut trials)?;
    let mut report = completed(facts, report, after_repair);
    report.proof.unchecked.extend(cause::unchecked(facts, &mut trials)?);
    Ok(report)
}

/// Runs every rule over facts, without a search for causes: every finding counts as a root. Some are missing that only
/// a repair shows; it is without errors and warnings exactly where [`check_facts`] is.
pub fn check_unfolded(facts: &Facts) -> Report {
    completed(facts, accept::split(facts.model, cause::found(facts)), None)
}

/// A report with everything beside the findings about the harness.
fn completed(facts: &Facts, mut report: Report, after_repair: Option<cause::AfterRepair>) -> Report {
    let model = facts.model;
    let after_repair = after_repair.map(|after| (after.root, accept::split(model, after.found)));
    report.unsolved = unsolved(facts);
    report.bounded = facts.explored().is_bounded();
    report.proof = Proof::new(facts);
    report.endurance = endurance(facts);
    for rule in rules() {
        if let Finds::InReport(find) = rule.finds {
            let mut more = find(model, &report);
            if let Some((root, after)) = &after_repair {
                let still = find(model, after);
                let is_gone = |finding: &&mut Finding| !still.iter().any(|other| other.place == finding.place);
                more.iter_mut().filter(is_gone).for_each(|finding| finding.follows_from = Some(*root));
            }
            report.findings.extend(more);
        }
    }
    report.findings = cause::in_order(report.findings);
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
