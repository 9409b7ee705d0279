//! Every rule: an entry of `accept` takes its finding at its severity and figure, and nothing worse.

use super::*;

/// The first spec of a rule with an entry for its first finding.
fn accepted(rule: &Rule, more: &str) -> Option<Report> {
    let spec = Explanation::of(rule.explanation).spec("Fires");
    let (_, report) = specimens::report(spec).ok()?;
    let finding = report.findings.into_iter().find(|finding| finding.rule == rule.name)?;
    let entry = format!("accept:\n  - {{finding: {}, on: \"{}\", because: test{more}}}\n", rule.name, finding.about);
    let (_, report) = specimens::report(&format!("{spec}{entry}")).unwrap();
    Some(report)
}

fn of<'r>(rule: &Rule, findings: impl Iterator<Item = &'r Finding>) -> Vec<&'r Finding> {
    findings.filter(|finding| finding.rule == rule.name).collect()
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn an_entry_accepts_a_severity_and_a_figure_and_nothing_worse() {
    let (mut accepted_some, mut with_figure) = (0, 0);
    for rule in rules().filter(|rule| matches!(rule.finds, Finds::InHarness(_))) {
        let spec = Explanation::of(rule.explanation).spec("Fires");
        if spec.contains("\naccept:") {
            continue;
        }
        let (_, plain) = specimens::report(spec).unwrap();
        let finding = plain.findings.iter().find(|finding| finding.rule == rule.name).unwrap();
        let severity = finding.severity;
        let limited = finding.evidence.figures.iter().find(|figure| figure.limit.is_some());
        let at = limited.map_or(String::new(), |figure| format!(", at: \"{}\"", figure.value));
        let taken = accepted(rule, &format!(", severity: {severity}{at}")).unwrap();
        assert!(!of(rule, taken.accepted.iter().map(|(finding, _)| finding)).is_empty(), "{}: {at}", rule.name);
        assert!(!taken.findings.iter().any(|finding| finding.rule == "spec/accept-unused"), "{}", rule.name);
        accepted_some += 1;
        if severity < Severity::Note {
            let worse = accepted(rule, &at).unwrap();
            let reported = of(rule, worse.findings.iter());
            assert!(
                reported.iter().any(|finding| finding.message.contains("was accepted")),
                "{}: {reported:?}",
                rule.name
            );
        }
        // A figure with a unit: a better one is accepted, so the finding is worse.
        let Some(figure) = limited.filter(|figure| figure.value.starts_with(|c: char| c.is_ascii_digit())) else {
            continue;
        };
        let lower = figure.limit.as_deref().is_some_and(|limit| limit.starts_with("at least"));
        let (number, unit) = figure.value.split_once(' ').unwrap_or((&figure.value, ""));
        let Ok(number) = number.parse::<f64>() else { continue };
        if number == 0.0 {
            continue;
        }
        let other = if lower { number * 100.0 } else { number / 100.0 };
        let worse = accepted(rule, &format!(", severity: {severity}, at: \"{other} {unit}\"")).unwrap();
        let reported = of(rule, worse.findings.iter());
        assert!(
            reported.iter().any(|finding| finding.message.contains("was accepted at")),
            "{}: {reported:?}",
            rule.name
        );
        with_figure += 1;
    }
    assert!(accepted_some > 40 && with_figure > 15, "{accepted_some}, {with_figure}");
}
