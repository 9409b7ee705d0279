//! Folding: what is no longer found in the repaired harness follows from the root.

use super::advice::{check_ground, check_supplies};
use super::alike::{of_one_net, of_one_thing};
use super::link::link;
use super::search::{Kinds, search};
use super::trials::{Repaired, Trials, found_by};
use crate::{Finding, Repair, by_weight, rules};
use explore::Interrupted;
use facts::Facts;

/// What the rules about the harness find.
pub fn found(facts: &Facts) -> Vec<Finding> {
    rules::rules().flat_map(|rule| found_by(facts, rule)).collect()
}

/// What is found once the roots are repaired.
pub struct AfterRepair {
    /// The last of the roots, by its index.
    pub root: usize,
    /// What is still found, by the rules that found something before.
    pub found: Vec<Finding>,
}

/// Links every finding that follows from another to its root, and adds roots that only a repair shows. `None` if nothing
/// was repaired.
///
/// # Errors
/// When the watch breaks.
pub fn fold(
    facts: &Facts,
    findings: &mut Vec<Finding>,
    trials: &mut Trials,
) -> Result<Option<AfterRepair>, Interrupted> {
    findings.sort_by(by_weight);
    let of_accepted = facts.model.accepted.iter().filter_map(|accepted| rules::rule(&accepted.rule));
    let told = findings.iter().filter(|finding| !finding.usual).map(|finding| finding.rule);
    let told = told.chain(of_accepted.map(|rule| rule.name)).collect();
    let original = Repaired { model: facts.model.clone(), found: findings.clone(), told };
    let mut repaired = original.clone();
    // What several parts share comes before what each shows by itself.
    repaired = search(facts, findings, Kinds::Crossed, trials, repaired, &original)?;
    for certain in [true, false] {
        if !certain {
            // A rule that knows how its finding is repaired knows better than a search for diodes.
            let kinds = if findings.iter().any(has_repair) { Kinds::Exchanges } else { Kinds::All };
            repaired = search(facts, findings, kinds, trials, repaired, &original)?;
            // Not before: a search needs every part that a finding names.
            of_one_net(facts, findings);
        }
        for root in 0..findings.len() {
            let open = findings[root].follows_from.is_none();
            let is_now = |repair: &Repair| is_certain(&findings[root], repair) == certain;
            let Some(repair) = findings[root].repair.clone().filter(|repair| open && is_now(repair)) else {
                continue;
            };
            let others = findings.iter().enumerate().filter(|(i, f)| *i != root && f.follows_from.is_none());
            if others.count() == 0 && repair.grounds().is_none() {
                break;
            }
            let Some(next) = repaired.with(&repair, trials)? else { break };
            link(findings, root, &repaired, &next);
            check_ground(facts, &mut findings[root], &repair, &repaired, &next);
            repaired = next;
        }
    }
    repaired = search(facts, findings, Kinds::Diodes, trials, repaired, &original)?;
    late_where_another_shows(findings);
    of_one_thing(facts, findings);
    check_supplies(facts, findings, &repaired, trials)?;
    let last = findings.iter().filter_map(|finding| finding.follows_from).max();
    Ok(last.map(|root| AfterRepair { root, found: repaired.found }))
}

/// Whether a finding shows which repair is right. Of two feeds that are joined no rule knows which is wrong.
fn is_certain(finding: &Finding, repair: &Repair) -> bool {
    repair.is_certain() && finding.rule != "net/outputs-joined"
}

fn has_repair(finding: &Finding) -> bool {
    finding.follows_from.is_none() && finding.repair.is_some()
}

/// A rear view that comes late or never because the screen shows something else then, and a drive that fails where a
/// state breaks the same view: the wrong picture is the root.
fn late_where_another_shows(findings: &mut [Finding]) {
    let differs = |place| {
        let root = findings.iter().position(|f| f.rule == "logic/view-differs" && f.place == place)?;
        Some(findings[root].follows_from.unwrap_or(root))
    };
    let view = |finding: &Finding| match finding.rule {
        _ if finding.follows_from.is_some() => None,
        "time/rear-late" => Some(finding.place),
        _ => finding.breaks_view,
    };
    let roots: Vec<Option<usize>> = findings.iter().map(|finding| view(finding).and_then(differs)).collect();
    for (finding, root) in findings.iter_mut().zip(roots) {
        finding.follows_from = finding.follows_from.or(root);
    }
}

/// Sorts roots by weight. Behind each root come its consequences, sorted in the same way.
pub fn in_order(findings: Vec<Finding>) -> Vec<Finding> {
    let (roots, others): (Vec<_>, Vec<_>) =
        findings.into_iter().enumerate().partition(|(_, finding)| finding.follows_from.is_none());
    let mut roots = roots;
    let mut others: Vec<Finding> = others.into_iter().map(|(_, finding)| finding).collect();
    roots.sort_by(|(_, a), (_, b)| by_weight(a, b));
    others.sort_by(by_weight);
    let mut sorted: Vec<Finding> = Vec::new();
    for (was, root) in roots {
        let at = sorted.len();
        sorted.push(root);
        let mine = others.iter().filter(|finding| finding.follows_from == Some(was)).cloned();
        sorted.extend(mine.map(|finding| Finding { follows_from: Some(at), ..finding }));
    }
    sorted
}
