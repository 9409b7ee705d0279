//! Every rule's explanation is run: its first spec must give exactly the findings that its comments say, its second
//! must not give the rule's finding at all.

use super::explain::{Explanation, HEADINGS};
use super::{FAMILIES, Finding, Report, Rule, Severity, check, rule, rules};
use diagnostic::Style;
use states::Solved;
use std::collections::BTreeSet;
use std::path::Path;

/// What comments of a spec expect: the line, and the rule.
fn expected(spec: &str) -> BTreeSet<(usize, String)> {
    let mut all = BTreeSet::new();
    for (i, line) in spec.lines().enumerate() {
        if let Some((_, rules)) = line.split_once("# <- ") {
            all.extend(rules.split(',').map(|rule| (i + 1, rule.trim().to_string())));
        }
    }
    all
}

pub(super) fn report(spec: &str) -> Result<(model::Model, Report), String> {
    let model = sample::of_text("specimen.yaml", spec)?;
    let report = check(&Solved::new(&model));
    Ok((model, report))
}

/// What is wrong with one of a rule's specs, in words.
fn faults(rule: &Rule, heading: &str) -> Vec<String> {
    let spec = Explanation::of(rule.explanation).spec(heading);
    let expected = expected(spec);
    let (model, report) = match report(spec) {
        Ok(read) => read,
        Err(problems) => return vec![format!("{} / {heading} can't be read:\n{problems}", rule.name)],
    };
    let mut faults = Vec::new();
    let mut tell = |what: String| faults.push(format!("{} / {heading}: {what}", rule.name));
    let found: BTreeSet<(usize, String)> = report.findings.iter().map(|f| (f.place.line, f.rule.to_string())).collect();
    for (line, name) in expected.difference(&found) {
        tell(format!("{name} is expected in line {line} and isn't found"));
    }
    let matters = |f: &&Finding| f.rule == rule.name || f.severity == Severity::Error;
    for finding in report.findings.iter().filter(matters) {
        if !expected.contains(&(finding.place.line, finding.rule.to_string())) {
            tell(format!("{} in line {} isn't expected", finding.rule, finding.place.line));
        }
    }
    let own = expected.iter().any(|(_, name)| name == rule.name);
    if own != (heading == "Fires") {
        tell("only the first spec, and it always, expects the rule itself".to_string());
    }
    if !faults.is_empty() {
        faults.push(super::text(&model, &report, Style::PLAIN));
    }
    faults
}

#[test]
fn every_rule_fires_where_it_says_and_nowhere_else() {
    let faults: Vec<String> =
        rules().flat_map(|rule| [faults(rule, "Fires"), faults(rule, "Stays quiet")].concat()).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_explanation_has_all_headings_in_order() {
    for rule in rules() {
        let explanation = Explanation::of(rule.explanation);
        assert!(explanation.headings().eq(HEADINGS), "{}", rule.name);
        assert!(rule.explanation.starts_with("# "), "{}", rule.name);
        assert!(explanation.title.len() <= 90 && !explanation.title.ends_with('.'), "{}", rule.name);
        for heading in HEADINGS {
            assert!(!explanation.section(heading).is_empty(), "{} says nothing under {heading}", rule.name);
        }
        for heading in ["Fires", "Stays quiet"] {
            assert!(explanation.spec(heading).starts_with("harness: 1\n"), "{}: {heading}", rule.name);
        }
    }
}

/// Names are `family/name` in lower case with `-`; the files are called after them, and every file is in its table.
#[test]
fn every_rule_is_named_and_filed_by_convention() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let mut names = BTreeSet::new();
    for family in FAMILIES {
        let mut files = BTreeSet::from(["mod.rs".to_string()]);
        for rule in family.rules {
            let (first, name) = rule.name.split_once('/').expect(rule.name);
            assert_eq!(first, family.name);
            assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{name}");
            assert!(names.insert(rule.name), "{name} appears twice");
            files.extend(["rs", "md"].map(|end| format!("{}.{end}", name.replace('-', "_"))));
        }
        #[expect(clippy::disallowed_methods, reason = "a test may look at the folder of its own rules")]
        let there: BTreeSet<String> = std::fs::read_dir(folder.join(family.name))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        assert_eq!(there, files);
    }
    assert!(rule("net/pin-unknown").is_some() && rule("net/no-such").is_none());
}

/// Rules of these families that find fault with what the spec says, before any current flows, or with what never comes.
const WITHOUT_CURRENT: [&str; 5] = [
    "logic/input-stuck",
    "logic/input-unused",
    "logic/screen-input-empty",
    "logic/view-unreached",
    "logic/works-unreached",
];

/// Rules about things that either are so or aren't.
const WITHOUT_LIMIT: [&str; 5] =
    ["logic/chatter", "logic/race", "logic/depends-on-history", "logic/left-behind", "load/coil-unsuppressed"];

/// Whoever reads a finding on logic or loads can follow it with a meter: the state, the corner, and the pins on the
/// current's way with their volts, and a figure against its limit.
#[test]
fn logic_and_load_findings_show_state_and_path() {
    let mut faults: Vec<String> = Vec::new();
    for rule in rules().filter(|rule| rule.name.starts_with("logic/") || rule.name.starts_with("load/")) {
        let (model, report) = report(Explanation::of(rule.explanation).spec("Fires")).unwrap();
        for finding in report.findings.iter().filter(|f| f.rule == rule.name) {
            let shown = &finding.evidence;
            let lacks = [
                ("state", shown.state.is_none()),
                ("corner", shown.corner.is_none()),
                ("path", shown.path.is_empty()),
                ("current on its path", shown.path.iter().all(|point| point.amps.is_none())),
                ("figure", shown.figures.is_empty()),
                (
                    "figure against its limit",
                    !WITHOUT_LIMIT.contains(&rule.name) && shown.figures.iter().all(|figure| figure.limit.is_none()),
                ),
            ];
            let lacks: Vec<&str> = lacks.iter().filter(|(_, lacks)| *lacks).map(|(what, _)| *what).collect();
            if lacks.is_empty() == WITHOUT_CURRENT.contains(&rule.name) {
                faults.push(format!(
                    "{}: no {}\n{}",
                    rule.name,
                    lacks.join(", no "),
                    super::text(&model, &report, Style::PLAIN)
                ));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// A finding that shows in a state says at which corner, whatever its family; one about a moment shows what happens
/// then.
#[test]
fn a_state_never_stands_without_its_corner() {
    for rule in rules() {
        let (_, report) = report(Explanation::of(rule.explanation).spec("Fires")).unwrap();
        for finding in report.findings.iter().chain(report.accepted.iter().map(|(finding, _)| finding)) {
            let shown = &finding.evidence;
            assert_eq!(shown.state.is_some(), shown.corner.is_some(), "{}: {}", finding.rule, finding.message);
            let moment = finding.rule.starts_with("time/")
                && !["time/relay-wear", "time/states-left-out", "time/fed-by-flash"].contains(&finding.rule);
            assert!(!moment || !shown.timeline.is_empty(), "{}: {}", finding.rule, finding.message);
        }
    }
}
