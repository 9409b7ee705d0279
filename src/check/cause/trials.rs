//! Trials of repairs. Each is judged rule by rule and ends at the first rule that speaks against it.

use super::suspects::is_of_building;
use crate::{Finding, Finds, Repair, Rule, Severity, rules};
use circuit::Corner;
use explore::{Interrupted, Progress, Watch};
use facts::{Explored, Facts};
use model::Model;
use states::Solved;
use std::collections::BTreeSet;

/// How much may be solved to try repairs: branches times states of the nominal corner, for all trials of a report
/// together. A core of 2024 solves about two million of these a second. A harness that is too large for a single trial is
/// reported without folding.
const MOST_WORK: usize = 6_000_000;

/// What a whole trial costs against a quick look at the nominal corner: the other corners, and what happens over time and
/// when a ground is lost.
const WHOLE: usize = 10;

/// What the other corners cost.
const CORNERS: usize = 2;

/// The first families of rules that ask for more than every state.
const ASK_MORE: [&str; 3] = ["load/", "time/", "safety/"];

/// Most trials in one report.
const MOST_TRIALS: usize = 300;

/// Repairs are tried while there is work left. The work is counted, not timed, so every machine tries the same.
pub struct Trials<'w> {
    watch: Watch<'w>,
    /// Branches times states at the nominal corner.
    cost: usize,
    states: u64,
    work_left: usize,
    trials_left: usize,
}

impl<'w> Trials<'w> {
    pub fn new(facts: &Facts, watch: Watch<'w>) -> Trials<'w> {
        let states = facts.explored().all().next().map_or(0, |exploration| exploration.states_of_zones());
        let cost = states * facts.solved.assembly.circuit.branches.len();
        Trials { watch, cost: cost.max(1), states: states as u64, work_left: MOST_WORK, trials_left: MOST_TRIALS }
    }

    /// Begins a trial: false if there is no work left for a whole one.
    fn begin(&mut self) -> Result<bool, Interrupted> {
        let progress = Progress { corner: Corner::NOMINAL, solved: 0, found: self.states, waiting: 0 };
        if (self.watch)(progress).is_break() {
            return Err(Interrupted);
        }
        let is_paid = self.trials_left > 0 && self.work_left >= self.cost * WHOLE;
        if is_paid {
            self.trials_left -= 1;
            self.pay(1);
        }
        Ok(is_paid)
    }

    /// The facts about a repaired harness, solved at all corners.
    fn explored<'m>(&mut self, solved: &'m Solved<'m>) -> Result<Facts<'m>, Interrupted> {
        self.pay(CORNERS);
        Ok(Facts::over(solved, Explored::new(solved, self.watch)?))
    }

    /// An answer about a changed harness, solved at all corners, if there is work left for it.
    pub fn asked<T>(&mut self, model: &Model, ask: impl FnOnce(&Facts) -> T) -> Result<Option<T>, Interrupted> {
        if !self.begin()? {
            return Ok(None);
        }
        let solved = Solved::watched(model, self.watch)?;
        let facts = self.explored(&solved)?;
        Ok(Some(ask(&facts)))
    }

    /// Counts the work of a number of quick looks.
    fn pay(&mut self, looks: usize) {
        self.work_left = self.work_left.saturating_sub(self.cost * looks);
    }
}

/// Which findings a trial is about.
pub struct Asks<'a> {
    /// The findings that no repair explains yet.
    pub open: &'a [Finding],
    /// Whether a finding shows the cause, and does not only vanish with it.
    pub counts: &'a dyn Fn(&Finding) -> bool,
    /// Whether a finding that counts speaks against the repair if it stays.
    pub must_go: &'a dyn Fn(&Finding) -> bool,
}

impl Asks<'_> {
    fn of<'a>(&'a self, rule: &'a Rule) -> impl Iterator<Item = &'a Finding> {
        self.open.iter().filter(|finding| finding.rule == rule.name)
    }

    fn counting<'a>(&'a self, rule: &'a Rule) -> impl Iterator<Item = &'a Finding> {
        self.of(rule).filter(|finding| (self.counts)(finding))
    }
}

/// A harness with the repairs so far, and what is found in it.
#[derive(Clone)]
pub struct Repaired {
    pub model: Model,
    pub found: Vec<Finding>,
    /// The rules that found something, other than notes that nearly every harness has.
    pub told: BTreeSet<&'static str>,
}

/// Families of the rules that find what a repair spoils.
const SPOILT: [&str; 3] = ["net/", "logic/", "load/"];

/// Rules about what the spec asks for, line by line.
const PROMISED: [&str; 2] = ["logic/view-differs", "logic/works-differs"];

/// Rules that find a harm that no repair may bring.
const HARM: [&str; 1] = ["safety/feed-without-fuse"];

/// Rules about what shows only where current flows.
const HIDDEN: [&str; 4] = ["load/drop", "load/wire-ampacity", "load/start-dip", "load/key-off-drain"];

impl Repaired {
    /// The errors and warnings that follow from nothing and that no repair has removed.
    pub fn open(&self, findings: &[Finding]) -> Vec<Finding> {
        let is_found = |finding: &Finding| {
            self.found.iter().any(|other| other.rule == finding.rule && other.about == finding.about)
        };
        let open = |finding: &&Finding| finding.follows_from.is_none() && finding.severity < Severity::Note;
        findings.iter().filter(open).filter(|finding| is_found(finding)).cloned().collect()
    }

    /// The harness with one more repair, if there is work left for it.
    pub fn with(&self, repair: &Repair, trials: &mut Trials) -> Result<Option<Repaired>, Interrupted> {
        if !trials.begin()? {
            return Ok(None);
        }
        let model = repair.repaired(&self.model);
        let solved = Solved::watched(&model, trials.watch)?;
        let facts = trials.explored(&solved)?;
        trials.pay(WHOLE - CORNERS);
        let found = self.rules().flat_map(|rule| found_by(&facts, rule)).collect();
        Ok(Some(self.next(&model, found)))
    }

    /// The harness with one more repair, and how many findings vanish: `None` if none does, if one stays that must go, or
    /// if a new error or warning comes.
    pub fn improved(
        &self,
        repair: &Repair,
        asks: &Asks,
        trials: &mut Trials,
    ) -> Result<Option<(Repaired, usize)>, Interrupted> {
        if !trials.begin()? {
            return Ok(None);
        }
        let model = repair.repaired(&self.model);
        let solved = Solved::watched(&model, trials.watch)?;
        if !self.may_improve(&Facts::over(&solved, Explored::at_nominal(&solved)), asks) {
            return Ok(None);
        }
        let explored = trials.explored(&solved)?;
        let (mut found, mut gone, mut is_paid) = (Vec::new(), 0, false);
        for rule in self.rules() {
            if !is_paid && ASK_MORE.iter().any(|family| rule.name.starts_with(family)) {
                trials.pay(WHOLE - CORNERS);
                is_paid = true;
            }
            let after = found_by(&explored, rule);
            let (stay, go): (Vec<&Finding>, Vec<&Finding>) = asks.of(rule).partition(|f| has(&after, f, &self.found));
            gone += go.len();
            let must_go = |finding: &&Finding| (asks.counts)(finding) && (asks.must_go)(finding);
            if stay.iter().any(must_go) || self.is_spoilt(&after) || self.breaks_more(&after) {
                return Ok(None);
            }
            found.extend(after);
        }
        Ok((gone > 0).then(|| (self.next(&model, found), gone)))
    }

    /// A quick look, at the nominal corner, at the rules that the trial is about: false if no finding vanishes, or if one
    /// stays that must go. What shows there shows at all corners too.
    fn may_improve(&self, facts: &Facts, asks: &Asks) -> bool {
        let mut some_go = false;
        for rule in self.rules() {
            if asks.counting(rule).next().is_none() {
                continue;
            }
            let after = found_by(facts, rule);
            for finding in asks.counting(rule) {
                let stays = has(&after, finding, &self.found);
                if stays && (asks.must_go)(finding) {
                    return false;
                }
                some_go |= !stays;
            }
        }
        some_go
    }

    fn next(&self, model: &Model, found: Vec<Finding>) -> Repaired {
        Repaired { model: model.clone(), found, told: self.told.clone() }
    }

    /// The rules that found something, and those that find what a repair spoils.
    fn rules(&self) -> impl Iterator<Item = &'static Rule> {
        let spoils =
            |rule: &Rule| HARM.contains(&rule.name) || SPOILT.iter().any(|family| rule.name.starts_with(family));
        rules::rules().filter(move |rule| self.told.contains(rule.name) || spoils(rule))
    }

    /// Whether what a rule finds after a repair has an error or warning that was not there before.
    pub fn is_spoilt(&self, after: &[Finding]) -> bool {
        let grave = |finding: &&Finding| finding.severity <= Severity::Warning && !is_of_building(finding);
        let hidden = |finding: &&Finding| HIDDEN.contains(&finding.rule);
        let accepted = |finding: &Finding| {
            self.model.accepted.iter().any(|accepted| accepted.rule == finding.rule && accepted.on == finding.about)
        };
        let is_new = |finding: &Finding| !accepted(finding) && !has(&self.found, finding, after);
        after.iter().filter(grave).any(|finding| !hidden(&finding) && is_new(finding))
    }

    /// Whether what a rule finds after a repair has a line of the views, or a promise, that was kept before.
    fn breaks_more(&self, after: &[Finding]) -> bool {
        let kept = |finding: &Finding| {
            let alike = |other: &Finding| other.rule == finding.rule && other.place == finding.place;
            PROMISED.contains(&finding.rule) && finding.severity == Severity::Error && !self.found.iter().any(alike)
        };
        after.iter().any(kept)
    }

    /// Whether it still has a finding that was found before.
    pub fn has(&self, finding: &Finding, before: &Repaired) -> bool {
        has(&self.found, finding, &before.found)
    }
}

/// What a rule finds in a harness.
pub fn found_by(facts: &Facts, rule: &Rule) -> Vec<Finding> {
    let found = match rule.finds {
        Finds::InHarness(find) => find(facts),
        Finds::InReport(_) | Finds::ByRepair => Vec::new(),
    };
    found.into_iter().filter(|finding| !finding.is_at_its_limit()).collect()
}

/// Whether a finding of one report is in another: the same rule about the same subject, at the same place if there were
/// several, and no less severe. A note that nearly every harness has says less than one in full.
fn has(found: &[Finding], finding: &Finding, before: &[Finding]) -> bool {
    let alike = |other: &&Finding| other.rule == finding.rule && other.about == finding.about;
    let still: Vec<&Finding> = found.iter().filter(alike).collect();
    let as_bad = |other: &&&Finding| other.severity <= finding.severity && (finding.usual || !other.usual);
    let as_many = still.iter().filter(as_bad).count() >= before.iter().filter(alike).count();
    as_many || still.iter().filter(as_bad).any(|other| other.place == finding.place)
}
