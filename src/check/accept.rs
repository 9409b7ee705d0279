//! Accepted findings: `accept: [{finding: load/drop, on: wire 7, severity: error, at: 842 mV, because: …}]`.
//!
//! An entry accepts one rule about one subject, up to a severity and a figure. What is worse counts, and says at what it was
//! accepted.

use super::{Finding, Report, Severity};
use model::{Accepted, Model};
use spec::AcceptedSeverity;

/// By this share a figure may be worse than the accepted one, since a wire that is cut a little longer changes it (common
/// practice, no source).
const MARGIN: f64 = 0.1;

/// Sorts findings into those that count and those that an entry of `accept` names.
pub fn split(model: &Model, found: Vec<Finding>) -> Report {
    let mut report = Report::default();
    for finding in found {
        let entry = model.accepted.iter().position(|a| a.rule == finding.rule && a.on == finding.about);
        let Some(line) = entry else {
            report.findings.push(finding);
            continue;
        };
        match worse(&model.accepted[line], &finding) {
            None => report.accepted.push((finding, line)),
            Some(why) => {
                report.exceeded.push(line);
                let message = format!("{} ({why})", finding.message);
                report.findings.push(Finding { message, ..finding });
            }
        }
    }
    report
}

/// Why an entry does not accept a finding, in words; `None` if it does.
fn worse(accepted: &Accepted, finding: &Finding) -> Option<String> {
    let most = severity(accepted.severity);
    let value = figure(finding);
    if finding.severity < most {
        return Some(match &accepted.at {
            Some(at) => format!("was accepted at {at} as a {most}"),
            None => format!("was accepted as a {most}"),
        });
    }
    match (&accepted.at, value) {
        (Some(at), Some(value)) => {
            is_worse(value, at, lower_is_worse(finding)).then(|| format!("was accepted at {at}"))
        }
        (Some(at), None) => Some(format!("was accepted at {at}, and has no figure")),
        (None, Some(value)) if finding.severity < Severity::Note && has_limit(finding) => {
            Some(format!("is accepted only with its figure: `at: {value}`"))
        }
        (None, _) => None,
    }
}

fn severity(severity: AcceptedSeverity) -> Severity {
    match severity {
        AcceptedSeverity::Note => Severity::Note,
        AcceptedSeverity::Warning => Severity::Warning,
        AcceptedSeverity::Error => Severity::Error,
    }
}

/// The first figure with a limit, else the first that is a number.
fn figure(finding: &Finding) -> Option<&str> {
    let figures = || finding.evidence.figures.iter();
    let with_limit = figures().find(|figure| figure.limit.is_some());
    let number = || figures().find(|figure| number(&figure.value).is_some());
    with_limit.or_else(number).map(|figure| figure.value.as_str())
}

fn has_limit(finding: &Finding) -> bool {
    finding.evidence.figures.iter().any(|figure| figure.limit.is_some())
}

fn lower_is_worse(finding: &Finding) -> bool {
    let limit = finding.evidence.figures.iter().find_map(|figure| figure.limit.as_deref());
    limit.is_some_and(|limit| limit.starts_with("at least"))
}

/// Whether a figure is worse than an accepted one by more than the margin. Figures with different units can't be compared:
/// any difference then counts as worse.
fn is_worse(value: &str, accepted: &str, lower: bool) -> bool {
    match (number(value), number(accepted)) {
        (Some((value, unit)), Some((accepted, same))) if unit == same => match lower {
            true => value < accepted - MARGIN * accepted.abs(),
            false => value > accepted + MARGIN * accepted.abs(),
        },
        _ => value != accepted,
    }
}

/// A number and its unit without the prefix: `842 mV …` is 0.842 and `V`.
fn number(text: &str) -> Option<(f64, &str)> {
    let mut words = text.split(' ');
    let number: f64 = words.next()?.parse().ok()?;
    let unit = words.next().unwrap_or_default();
    let scaled = [('m', 1e-3), ('µ', 1e-6), ('k', 1e3)].into_iter().find_map(|(prefix, factor)| {
        let rest = unit.strip_prefix(prefix)?;
        ["V", "A", "s", "Ω", "W", "m", "Ah"].contains(&rest).then_some((number * factor, rest))
    });
    Some(scaled.unwrap_or((number, unit)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_compared_whatever_their_prefix() {
        assert!(!is_worse("920 mV", "842 mV", false) && is_worse("0.93 V", "842 mV", false));
        assert!(!is_worse("9 V", "9.9 V", true) && is_worse("8.9 V", "9.9 V", true));
        assert!(is_worse("3 A", "3 V", false) && !is_worse("0.310 s after the start", "300 ms", false));
        assert!(!is_worse("1", "1", false) && is_worse("2", "1", false));
    }
}
