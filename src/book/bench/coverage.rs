//! What the bench test finds: every fault that building can bring, simulated, and the steps that show it.

use crate::bench::faulty_copper::GoodCopper;
use crate::bench::faulty_steps::{InCopper, WithPower};
use crate::bench::limit::Limit;
use crate::bench::state_readings::BenchReadings;
use crate::bench::steps::{BenchGroup, BenchProbe, BenchStep};
use crate::bench::voltages;
use crate::lists::csv::CellTable;
use facts::bench::{BenchState, BuildFault, build_faults};
use model::{Model, PinId, SignalId, SignalKind};
use serde::Serialize;
use std::collections::BTreeSet;

/// What the test finds.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchCoverage {
    /// Every fault that building can bring, kind by kind.
    pub faults: Vec<FoundBuildFault>,
}

/// A fault that building can bring, and the first steps that show it.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundBuildFault {
    /// The fault.
    pub fault: BuildFault,
    /// What and where it is.
    pub what: String,
    /// The number of the first step without power that shows it.
    pub without_power: Option<String>,
    /// The same with power, if it may come up only as the harness is put together.
    pub with_power: Option<String>,
}

/// What the test finds, for the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoverageSummary {
    /// How many faults there are.
    pub faults: usize,
    /// How many steps.
    pub steps: usize,
    /// Kind by kind.
    pub kinds: Vec<CoverageLine>,
    /// What may come up as the harness is put together, and no step shows after that.
    pub only_without_power: Vec<String>,
    /// What no step shows.
    pub by_no_step: Vec<String>,
}

/// What the test finds of one kind of fault.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoverageLine {
    /// The kind.
    pub kind: &'static str,
    /// How many faults.
    pub faults: usize,
    /// How many of them a step without power shows.
    pub without_power: usize,
    /// How many of them a step with power shows; `None` if they can't come up after the tests without power.
    pub with_power: Option<usize>,
    /// How many of them no step shows.
    pub by_no_step: usize,
}

impl FoundBuildFault {
    /// Whether no step shows it.
    pub fn is_hidden(&self) -> bool {
        self.without_power.is_none() && self.with_power.is_none()
    }
}

impl BenchCoverage {
    /// For the page, with the number of steps of the test.
    pub fn summary(&self, steps: usize) -> CoverageSummary {
        let mut kinds: Vec<CoverageLine> = Vec::new();
        for found in &self.faults {
            let kind = found.fault.kind().1;
            if kinds.last().is_none_or(|line| line.kind != kind) {
                let with_power = found.fault.arises_late().then_some(0);
                kinds.push(CoverageLine { kind, faults: 0, without_power: 0, with_power, by_no_step: 0 });
            }
            let Some(line) = kinds.last_mut() else { continue };
            line.faults += 1;
            line.without_power += usize::from(found.without_power.is_some());
            line.with_power = line.with_power.map(|shown| shown + usize::from(found.with_power.is_some()));
            line.by_no_step += usize::from(found.is_hidden());
        }
        let named = |is: fn(&FoundBuildFault) -> bool| {
            self.faults.iter().filter(|found| is(found)).map(|found| found.what.clone()).collect()
        };
        CoverageSummary {
            faults: self.faults.len(),
            steps,
            kinds,
            // A bad contact that a load does not notice needs no second look.
            only_without_power: named(|found| {
                let is_open = !matches!(found.fault, BuildFault::BadContact(_));
                is_open && found.fault.arises_late() && found.with_power.is_none() && !found.is_hidden()
            }),
            by_no_step: named(FoundBuildFault::is_hidden),
        }
    }

    /// As CSV, one row for each fault.
    pub fn cells(&self) -> CellTable {
        let step = |number: &Option<String>| number.clone().unwrap_or_default();
        let row = |found: &FoundBuildFault| {
            let [without, with] = [&found.without_power, &found.with_power].map(step);
            vec![found.fault.kind().1.to_string(), found.what.clone(), without, with]
        };
        let heads = ["Kind of fault", "Fault", "First step without power", "First step with power"];
        CellTable::new(&heads, self.faults.iter().map(row))
    }
}

/// Where a step is: its group, and its place in the group.
pub(super) type At = (usize, usize);

/// Every fault that building can bring. To exchange two cavities with the same signal is none.
pub(super) fn faults(model: &Model, copper: &GoodCopper) -> Vec<BuildFault> {
    let is_one = |fault: &BuildFault| !matches!(fault, BuildFault::Exchanged(..)) || copper.with(*fault).is_some();
    build_faults(model).into_iter().filter(is_one).collect()
}

/// The first step without power that shows each fault.
pub(super) fn without_power(copper: &GoodCopper, groups: &[BenchGroup], faults: &[BuildFault]) -> Vec<Option<At>> {
    let steps: Vec<(At, &BenchStep)> = groups
        .iter()
        .enumerate()
        .flat_map(|(g, group)| group.steps.iter().enumerate().map(move |(s, step)| ((g, s), step)))
        .collect();
    let first = |fault: &BuildFault| {
        let fault = InCopper::new(copper, *fault);
        steps.iter().find(|(_, step)| fault.fails(step)).map(|(at, _)| *at)
    };
    faults.iter().map(first).collect()
}

/// Leaves out of the groups with power every meter reading that shows no fault besides those that others show before
/// it, adds readings at pins that show further ones, and returns the first step that shows each fault. What a screen
/// shows stays, and the first time that a part with a promise works.
pub(super) fn with_power(
    readings: &BenchReadings,
    groups: &mut Vec<BenchGroup>,
    states: &[BenchState],
    faults: &[BuildFault],
) -> Vec<Option<At>> {
    let late = faults.iter().enumerate().filter(|(_, fault)| fault.arises_late());
    let mut hunted: Vec<(usize, WithPower)> =
        late.filter_map(|(place, fault)| Some((place, WithPower::new(readings, *fault)?))).collect();
    let mut found = vec![None; faults.len()];
    let mut worked = BTreeSet::new();
    let mut kept_groups = 0;
    for (group, there) in groups.iter_mut().zip(states) {
        let read = Candidates::new(readings, there, &group.steps);
        let fails: Vec<Vec<bool>> = threads::each(&hunted, |(_, fault)| fault.fails(there, &read.probes));
        let always = |step: &BenchStep| always_read(readings, step, &mut worked);
        let kept = read.choose(&fails, group.steps.iter().map(always).collect());
        for ((place, _), fails) in hunted.iter().zip(&fails) {
            found[*place] = kept.iter().position(|at| fails[*at]).map(|step| (kept_groups, step));
        }
        hunted.retain(|(place, _)| found[*place].is_none());
        group.steps = kept.iter().map(|at| read.step(readings, there, &group.steps, *at)).collect();
        kept_groups += usize::from(!group.steps.is_empty());
    }
    groups.retain(|group| !group.steps.is_empty());
    found
}

/// What can be read in a state: the steps of its group, then the voltage at every pin.
struct Candidates {
    probes: Vec<(BenchProbe, Limit)>,
    /// How many are steps of the group.
    steps: usize,
    /// The tips for the voltage at each pin.
    tips: Vec<[PinId; 2]>,
}

impl Candidates {
    fn new(readings: &BenchReadings, there: &BenchState, steps: &[BenchStep]) -> Candidates {
        let wiring = &readings.bench.wiring;
        let tips = voltages::tips_at_pins(wiring);
        let at_pin = |[red, black]: &[PinId; 2]| {
            let probe = BenchProbe::Volts { red: *red, black: *black, heard: None };
            (probe, voltages::band(wiring, there, [*red, *black]).1)
        };
        let probes = steps.iter().map(BenchStep::reads).chain(tips.iter().map(at_pin)).collect();
        Candidates { probes, steps: steps.len(), tips }
    }

    /// What is read, in order: what always is, and as little more as shows every fault that something here shows.
    /// `fails` has, for each fault, what fails.
    fn choose(&self, fails: &[Vec<bool>], always: Vec<bool>) -> Vec<usize> {
        let mut kept = always;
        kept.resize(self.probes.len(), false);
        let is_shown = |fails: &[bool], kept: &[bool]| fails.iter().zip(kept).any(|(fails, kept)| *fails && *kept);
        let mut open: Vec<&Vec<bool>> = fails.iter().filter(|fails| !is_shown(fails, &kept)).collect();
        loop {
            let worth = |at: &usize| open.iter().filter(|fails| fails[*at]).count() * self.ease(*at);
            let best = (0..self.probes.len()).max_by_key(|at| (worth(at), std::cmp::Reverse(*at)));
            let Some(best) = best.filter(|at| worth(at) > 0) else { break };
            kept[best] = true;
            open.retain(|fails| !fails[best]);
        }
        let is_volts = |at: &usize| matches!(self.probes[*at].0, BenchProbe::Volts { .. });
        let (named, at_pins) = ((0..self.steps), self.steps..self.probes.len());
        let order = named.clone().filter(is_volts).chain(at_pins).chain(named.filter(|at| !is_volts(at)));
        order.filter(|at| kept[*at]).collect()
    }

    /// How easily something is read. A pin that a part's function names is better than any other; a fuse has to be
    /// pulled for its current.
    fn ease(&self, at: usize) -> usize {
        match self.probes[at].0 {
            BenchProbe::Fuse(_) => 1,
            _ if at < self.steps => 4,
            _ => 3,
        }
    }

    fn step(&self, readings: &BenchReadings, there: &BenchState, steps: &[BenchStep], at: usize) -> BenchStep {
        match steps.get(at) {
            Some(step) => step.clone(),
            None => voltages::at_pin(&readings.bench.wiring, there, self.tips[at - self.steps]),
        }
    }
}

/// Whether a step stays whatever it shows.
fn always_read(readings: &BenchReadings, step: &BenchStep, worked: &mut BTreeSet<SignalId>) -> bool {
    match step.probe {
        BenchProbe::Screen(_) | BenchProbe::Drawn | BenchProbe::Action => true,
        BenchProbe::Volts { heard: Some(id), .. } => {
            matches!(readings.model().signals[id.0].kind, SignalKind::Working { .. }) && worked.insert(id)
        }
        _ => false,
    }
}
