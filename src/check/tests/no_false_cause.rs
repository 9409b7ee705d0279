//! Faults that no exchange and no diode repairs: none is named as one.

use super::roots::report_of;
use super::*;
use crate::Repair;
use model::WireId;

/// The faults planted in one demonstration.
const MOST: usize = 8;

/// Roots that name a cause found by trial, for each wire of a demonstration that is left out.
fn causes_of_missing_wires(demo: &str) -> Vec<String> {
    let model = sample::demo(demo);
    let step = model.wires.len().div_ceil(MOST).max(1);
    let mut named = Vec::new();
    for wire in model.wire_ids().step_by(step) {
        let report = report_of(&Repair::Without(vec![wire]).repaired(&model));
        let by_trial =
            |finding: &&Finding| rule(finding.rule).is_some_and(|rule| matches!(rule.finds, Finds::ByRepair));
        let causes = report.roots().filter(by_trial);
        named.extend(causes.map(|finding| format!("{demo} without wire {}: {}", model.wire(wire).id, finding.message)));
    }
    named
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_missing_wire_is_no_exchange_and_no_missing_diode() {
    let demos = ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];
    let named: Vec<String> = demos.iter().flat_map(|demo| causes_of_missing_wires(demo)).collect();
    assert!(named.is_empty(), "{}", named.join("\n"));
}

/// What is folded wrongly where a relay's wires are exchanged and a wire is missing elsewhere: an error about the missing
/// wire that follows from the exchange.
fn folded_wrongly(demo: &str) -> (usize, Vec<String>) {
    let model = sample::demo(demo);
    let exchanges = super::relay_pins::exchanges(&model);
    let wires: Vec<WireId> = model.wire_ids().collect();
    let (mut planted, mut wrong) = (0, Vec::new());
    for i in 0..PAIRS {
        let [a, b] = exchanges[i * exchanges.len() / PAIRS];
        let missing = Repair::Without(vec![wires[(2 * i + 1) * wires.len() / (2 * PAIRS)]]);
        let alone = report_of(&missing.repaired(&model));
        let of_missing: Vec<&Finding> = super::roots::errors(&alone);
        if of_missing.is_empty() {
            continue;
        }
        let both = report_of(&missing.repaired(&Repair::Exchange(a, b).repaired(&model)));
        planted += 1;
        let is_of_missing = |finding: &Finding| {
            of_missing.iter().any(|other| other.rule == finding.rule && other.about == finding.about)
        };
        // An error that the exchange brings alone, too, may follow from it.
        let exchanged = report_of(&Repair::Exchange(a, b).repaired(&model));
        let is_of_exchange = |finding: &Finding| {
            exchanged.findings.iter().any(|other| other.rule == finding.rule && other.about == finding.about)
        };
        for finding in both.findings.iter().filter(|finding| is_of_missing(finding) && !is_of_exchange(finding)) {
            let Some(root) = finding.follows_from.map(|root| &both.findings[root]) else { continue };
            if !is_of_missing(root) {
                wrong.push(format!("{demo}: {} follows from {}", finding.message, root.message));
            }
        }
    }
    (planted, wrong)
}

/// The pairs of faults planted in one demonstration.
const PAIRS: usize = 3;

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_missing_wire_does_not_follow_from_exchanged_wires_of_a_relay() {
    let demos = ["orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];
    let all: Vec<(usize, Vec<String>)> = demos.iter().map(|demo| folded_wrongly(demo)).collect();
    let planted: usize = all.iter().map(|(planted, _)| planted).sum();
    let wrong: Vec<&str> = all.iter().flat_map(|(_, wrong)| wrong).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} of {planted}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(planted > 6, "{planted}");
}
