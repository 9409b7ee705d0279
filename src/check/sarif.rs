//! A report for editors and continuous integration, in the form of SARIF 2.1.0 (OASIS).

use super::explain::Explanation;
use super::{Finding, Report, Rule, Severity, rules};
use form::{Place, Problem, Sources};
use model::Model;
use serde_json::{Value, json};

/// The published schema.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// The part of a log that comes from one spec.
#[derive(Debug, Clone, Default)]
pub struct Results {
    results: Vec<Value>,
    notifications: Vec<Value>,
}

/// What a log says of one spec. Accepted findings are in it as suppressed results.
pub fn results(model: &Model, report: &Report) -> Results {
    let mut results: Vec<Value> = report.findings.iter().map(|finding| result(&model.sources, finding)).collect();
    for (finding, line) in &report.accepted {
        let mut value = result(&model.sources, finding);
        let accepted = &model.accepted[*line];
        value["suppressions"] = json!([{
            "kind": "inSource",
            "justification": accepted.because,
            "location": { "physicalLocation": physical(&model.sources, accepted.place) },
        }]);
        results.push(value);
    }
    Results { results, notifications: report.unsolved.iter().map(notification).collect() }
}

impl Results {
    /// What a log says of a spec that can't be read.
    pub fn unreadable(sources: &Sources, problems: &[Problem]) -> Results {
        let notifications = problems.iter().map(|problem| {
            let locations = problem.place.map(|place| json!({ "physicalLocation": physical(sources, place) }));
            let text = [Some(problem.message.as_str()), problem.hint.as_deref()];
            let text: Vec<&str> = text.into_iter().flatten().collect();
            json!({
                "level": "error",
                "message": { "text": text.join("; ") },
                "locations": locations.into_iter().collect::<Vec<Value>>(),
            })
        });
        Results { results: Vec::new(), notifications: notifications.collect() }
    }
}

/// One log with one run of all specs.
pub fn log(specs: impl IntoIterator<Item = Results>) -> String {
    let mut all = Results::default();
    for mut one in specs {
        let before = all.results.len();
        for result in &mut one.results {
            // A root is named by its index in the results of the run.
            if let Some(root) = result["properties"]["followsFrom"].as_u64() {
                result["properties"]["followsFrom"] = json!(root + before as u64);
            }
        }
        all.results.append(&mut one.results);
        all.notifications.append(&mut one.notifications);
    }
    let log = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "loomwright",
                "version": env!("CARGO_PKG_VERSION"),
                "rules": rules().map(described).collect::<Vec<Value>>(),
            } },
            "invocations": [{
                "executionSuccessful": all.notifications.is_empty(),
                "toolExecutionNotifications": all.notifications,
            }],
            "columnKind": "unicodeCodePoints",
            "results": all.results,
        }],
    });
    format!("{}\n", serde_json::to_string_pretty(&log).unwrap_or_default())
}

/// A state that could not be solved.
fn notification(state: &String) -> Value {
    json!({ "level": "error", "message": { "text": format!("not solved, so not checked: {state}") } })
}

fn described(rule: &Rule) -> Value {
    let explanation = Explanation::of(rule.explanation);
    json!({
        "id": rule.name,
        "shortDescription": { "text": explanation.title },
        "fullDescription": { "text": explanation.section("What it finds") },
        "help": { "text": explanation.section("What to do") },
        "defaultConfiguration": { "level": level(rule.severity) },
    })
}

fn level(severity: Severity) -> &'static str {
    severity.word() // The standard's own words are the same three.
}

fn result(sources: &Sources, finding: &Finding) -> Value {
    let related = finding.also.iter().enumerate().map(|(id, (place, word))| {
        json!({ "id": id, "physicalLocation": physical(sources, *place), "message": { "text": word } })
    });
    json!({
        "ruleId": finding.rule,
        "ruleIndex": rules().position(|rule| rule.name == finding.rule),
        "level": level(finding.severity),
        "message": { "text": format!("{}; {}", finding.message, finding.hint) },
        "locations": [{
            "physicalLocation": physical(sources, finding.place),
            "logicalLocations": [{ "name": finding.about }],
        }],
        "relatedLocations": related.collect::<Vec<Value>>(),
        "properties": match finding.follows_from {
            // The index of its root in the results.
            Some(root) => json!({ "evidence": finding.evidence, "followsFrom": root }),
            None => json!({ "evidence": finding.evidence }),
        },
    })
}

fn physical(sources: &Sources, place: Place) -> Value {
    let (line, column) = end(sources, place);
    json!({
        "artifactLocation": { "uri": uri(&sources.name(place.file)) },
        "region": {
            "startLine": place.line, "startColumn": place.column,
            "endLine": line, "endColumn": column,
        },
    })
}

/// Line and column of the character after a place's last.
fn end(sources: &Sources, place: Place) -> (usize, usize) {
    let inside = sources.files.get(place.file).and_then(|f| f.text.get(place.start..place.end)).unwrap_or_default();
    match inside.rsplit_once('\n') {
        Some((before, last)) => (place.line + 1 + before.matches('\n').count(), 1 + last.chars().count()),
        None => (place.line, place.column + inside.chars().count()),
    }
}

/// A path as a relative URI reference (RFC 3986): what isn't unreserved or a slash is percent-encoded.
fn uri(path: &str) -> String {
    let mut out = String::new();
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => out.push(byte as char),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    out
}
