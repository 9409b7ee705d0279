//! Folding: what is no longer found in the repaired harness follows from the root.

use super::suspects::{is_dead, is_of_building, suspects};
use super::touched::Touched;
use crate::{Finding, Finds, Repair, Rule, Severity, by_weight, rules};
use facts::Facts;
use model::{Model, PartKind, PinId};
use states::Solved;
use std::collections::BTreeSet;

/// How much may be solved to try repairs: branches times states, for all trials of a report together. A trial solves about
/// as much as the report itself, 150,000 of these a second on one core of 2024. A harness that is too large for a single
/// trial is reported without folding.
const MOST_WORK: usize = 1_000_000;

/// Most trials in one report.
const MOST_TRIALS: usize = 60;

/// Repairs are tried while there is work left.
struct Trials {
    cost: usize,
    work_left: usize,
    trials_left: usize,
}

impl Trials {
    fn new(facts: &Facts) -> Trials {
        let states: usize = facts.explored().all().map(|exploration| exploration.states_of_zones()).sum();
        let cost = states * facts.solved.assembly.circuit.branches.len();
        Trials { cost: cost.max(1), work_left: MOST_WORK, trials_left: MOST_TRIALS }
    }

    /// The findings of a repaired harness by the rules that `asks` picks, if there is work left for it.
    fn found(&mut self, model: &Model, asks: impl Fn(&Rule) -> bool) -> Option<Vec<Finding>> {
        self.work_left = self.work_left.checked_sub(self.cost)?;
        self.trials_left = self.trials_left.checked_sub(1)?;
        Some(found_by(&Facts::new(&Solved::new(model)), asks))
    }
}

/// What the rules about the harness find.
pub fn found(facts: &Facts) -> Vec<Finding> {
    found_by(facts, |_| true)
}

fn found_by(facts: &Facts, asks: impl Fn(&Rule) -> bool) -> Vec<Finding> {
    let found = rules::rules().filter(|rule| asks(rule)).filter_map(|rule| match rule.finds {
        Finds::InHarness(find) => Some(find(facts)),
        Finds::InReport(_) | Finds::ByRepair => None,
    });
    found.flatten().filter(|finding| !finding.is_at_its_limit()).collect()
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
pub fn fold(facts: &Facts, findings: &mut Vec<Finding>) -> Option<AfterRepair> {
    findings.sort_by(by_weight);
    let mut trials = Trials::new(facts);
    let of_accepted = facts.model.accepted.iter().filter_map(|accepted| rules::rule(&accepted.rule));
    let told = findings.iter().filter(|finding| !finding.usual).map(|finding| finding.rule);
    let told = told.chain(of_accepted.map(|rule| rule.name)).collect();
    let mut repaired = Repaired { model: facts.model.clone(), found: findings.clone(), told };
    for certain in [true, false] {
        if !certain {
            repaired = search(facts, findings, &mut trials, repaired);
        }
        for root in 0..findings.len() {
            let open = findings[root].follows_from.is_none();
            let Some(repair) = findings[root].repair.clone().filter(|repair| open && repair.is_certain() == certain)
            else {
                continue;
            };
            let others = findings.iter().enumerate().filter(|(i, f)| *i != root && f.follows_from.is_none());
            if others.count() == 0 {
                break;
            }
            let Some(next) = repaired.with(&repair, &mut trials) else { break };
            link(findings, root, &repaired, &next);
            repaired = next;
        }
    }
    repaired = diodes(facts, findings, &mut trials, repaired);
    late_where_another_shows(findings);
    let last = findings.iter().filter_map(|finding| finding.follows_from).max()?;
    Some(AfterRepair { root: last, found: repaired.found })
}

/// A rear view that comes late or never because the screen shows something else then: the wrong picture is the root.
fn late_where_another_shows(findings: &mut [Finding]) {
    let differs = |place| {
        let root = findings.iter().position(|f| f.rule == "logic/view-differs" && f.place == place)?;
        Some(findings[root].follows_from.unwrap_or(root))
    };
    let late = |finding: &Finding| finding.rule == "time/rear-late" && finding.follows_from.is_none();
    let roots: Vec<Option<usize>> =
        findings.iter().map(|finding| late(finding).then(|| differs(finding.place)).flatten()).collect();
    for (finding, root) in findings.iter_mut().zip(roots) {
        finding.follows_from = finding.follows_from.or(root);
    }
}

/// Rules that report a supply or a wire of the vehicle that the harness feeds.
const FED_BACK: [&str; 3] = ["logic/sneak-input", "logic/sneak-supply", "logic/lamp-glows"];

/// Looks for supplies and wires of the vehicle that a diode in each would keep apart.
fn diodes(facts: &Facts, findings: &mut Vec<Finding>, trials: &mut Trials, repaired: Repaired) -> Repaired {
    let open = |finding: &&Finding| finding.follows_from.is_none() && FED_BACK.contains(&finding.rule);
    let pins = findings.iter().filter(open).filter_map(|finding| {
        let part = facts.model.part(facts.model.part_named(&finding.about)?);
        part.pins.first().copied().filter(|_| matches!(part.kind, PartKind::Supply | PartKind::Feed))
    });
    let mut pins: Vec<PinId> = pins.filter(|pin| facts.connectivity().has_supply(&[*pin])).collect();
    pins.sort_unstable();
    pins.dedup();
    let Some(first) = pins.first() else { return repaired };
    let name = facts.model.pin_name(*first);
    let Some(next) = repaired.with(&Repair::Diodes(pins.clone()), trials) else { return repaired };
    if gained(findings, &repaired, &next, |_| true, true) < 2 {
        return repaired;
    }
    let root = match pins.len() {
        // The finding itself is the root.
        1 => findings.iter().position(|finding| open(&finding) && finding.about == name),
        _ => {
            let shown_by = findings.iter().find(open);
            let root = shown_by.map(|shown_by| rules::diode_missing(facts, &pins, shown_by));
            findings.extend(root);
            Some(findings.len() - 1)
        }
    };
    if let Some(root) = root {
        link(findings, root, &repaired, &next);
    }
    next
}

/// A harness with the repairs so far, and what is found in it.
struct Repaired {
    model: Model,
    found: Vec<Finding>,
    /// The rules that found something, other than notes that nearly every harness has.
    told: BTreeSet<&'static str>,
}

/// Families of the rules that find what a repair spoils.
const SPOILT: [&str; 3] = ["net/", "logic/", "load/"];

impl Repaired {
    fn with(&self, repair: &Repair, trials: &mut Trials) -> Option<Repaired> {
        let model = repair.repaired(&self.model);
        let asks =
            |rule: &Rule| self.told.contains(rule.name) || SPOILT.iter().any(|family| rule.name.starts_with(family));
        let found = trials.found(&model, asks)?;
        Some(Repaired { model, found, told: self.told.clone() })
    }

    /// Whether it still has a finding: the same rule about the same subject, at the same place if there were several, and
    /// no less severe. A note that nearly every harness has says less than one in full.
    fn has(&self, finding: &Finding, before: &Repaired) -> bool {
        let alike = |other: &&Finding| other.rule == finding.rule && other.about == finding.about;
        let still: Vec<&Finding> = self.found.iter().filter(alike).collect();
        let as_bad = |other: &&&Finding| other.severity <= finding.severity && (finding.usual || !other.usual);
        let as_many = still.iter().filter(as_bad).count() >= before.found.iter().filter(alike).count();
        as_many || still.iter().filter(as_bad).any(|other| other.place == finding.place)
    }
}

/// Links to the root what was found before its repair and no longer after it.
fn link(findings: &mut [Finding], root: usize, before: &Repaired, after: &Repaired) {
    let touched = match &findings[root].repair {
        Some(Repair::Without(wires)) => Some(Touched::new(&before.model, wires)),
        _ => None,
    };
    let misses = |finding: &Finding| {
        let is_root = matches!(finding.repair, Some(Repair::Without(_)));
        !is_root && touched.as_ref().is_some_and(|touched| touched.misses(finding))
    };
    for (i, finding) in findings.iter_mut().enumerate() {
        let may_follow = i != root && finding.follows_from.is_none() && !finding.usual;
        if may_follow && (misses(finding) || !after.has(finding, before)) {
            finding.follows_from = Some(root);
        }
    }
    let worst = findings.iter().filter(|f| f.follows_from == Some(root)).map(|f| f.severity).min();
    if let Some(worst) = worst {
        findings[root].severity = findings[root].severity.min(worst);
    }
}

/// Looks for pins that are swapped: an exchange after which errors are gone and nothing new is found.
fn search(facts: &Facts, findings: &mut Vec<Finding>, trials: &mut Trials, mut repaired: Repaired) -> Repaired {
    loop {
        let mut best: Option<(usize, Finding, Repaired)> = None;
        let all = findings.iter().filter(|finding| finding.follows_from.is_none() && is_dead(finding)).count();
        for suspect in suspects(facts, findings) {
            let Some(next) = repaired.with(&suspect.repair(), trials) else { break };
            let gained = gained(findings, &repaired, &next, is_dead, suspect.is_plain);
            if gained > best.as_ref().map_or(0, |(most, ..)| *most) {
                best = Some((gained, rules::swapped(facts, suspect.part, suspect.pins), next));
            }
            if gained == all && suspect.is_plain {
                break; // Nothing explains more.
            }
        }
        let Some((_, root, next)) = best else { return repaired };
        let at = findings.len();
        findings.push(root);
        link(findings, at, &repaired, &next);
        repaired = next;
    }
}

/// Rules about what shows only where current flows.
const HIDDEN: [&str; 4] = ["load/drop", "load/wire-ampacity", "load/start-dip", "load/key-off-drain"];

/// How many open findings of a kind a repair removes; none if it makes a new error or warning, or if it has to remove all
/// and does not.
fn gained(
    findings: &[Finding],
    before: &Repaired,
    after: &Repaired,
    counts: fn(&Finding) -> bool,
    may_leave_some: bool,
) -> usize {
    let grave = |finding: &&Finding| finding.severity <= Severity::Warning && !is_of_building(finding);
    let hidden = |finding: &&Finding| HIDDEN.contains(&finding.rule);
    let accepted = |finding: &Finding| {
        before.model.accepted.iter().any(|accepted| accepted.rule == finding.rule && accepted.on == finding.about)
    };
    let is_new = |finding: &Finding| !accepted(finding) && !before.has(finding, after);
    if after.found.iter().filter(grave).any(|finding| !hidden(&finding) && is_new(finding)) {
        return 0;
    }
    let open = findings.iter().filter(|finding| finding.follows_from.is_none() && finding.severity < Severity::Note);
    let (left, gone): (Vec<&Finding>, Vec<&Finding>) =
        open.filter(|finding| counts(finding)).partition(|finding| after.has(finding, before));
    if left.is_empty() || may_leave_some { gone.len() } else { 0 }
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
