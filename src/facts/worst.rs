//! The worst of every current and voltage, over all states and corners.

mod two_batteries;

use super::Explored;
use super::branches::leaving;
use super::figures;
use super::leaks::LeakBranches;
use super::moment::{CORNERS, Moment, Peak};
use circuit::{Assembly, BranchId, Corner, Reading, Solution, State, Supply, Tracer};
use engine::Solver;
use model::{Coil, ElementId, ElementKind, Load, Model, PinId, SignalId, SignalKind};
use quantity::{Amps, Volts};
use size::opens_a_fuse;
use states::{Solved, Wiring};
use std::collections::{BTreeMap, BTreeSet};

/// A value replaces an earlier one only if it is worse by this share, so that rounding never decides which state is
/// shown.
pub const WORSE: f64 = 1e-4;

/// Two pins, the second the ground.
type Between = (PinId, PinId);

/// The worst values. Voltages and currents are those of settled states: amperes and volts at [`CORNERS`], and for the
/// states in which some current was highest at all corners.
#[derive(Debug, Default)]
pub struct WorstValues {
    branches: Vec<Option<Peak<Amps>>>,
    taken: BTreeMap<PinId, Peak<Amps>>,
    /// The same by how many inputs are away from rest.
    branches_by: Vec<Vec<Option<Peak<Amps>>>>,
    taken_by: BTreeMap<(PinId, usize), Peak<Amps>>,
    /// The lowest voltages of loads and converters that are fed by more than leakage, likewise.
    lowest_by: BTreeMap<(ElementId, usize), Peak<Volts>>,
    coils: BTreeMap<(Corner, ElementId), Peak<Volts>>,
    lowest: BTreeMap<(Corner, ElementId), Peak<Volts>>,
    /// Of loads and converters the highest voltage, feed against ground, in any state at any corner.
    highest: BTreeMap<ElementId, Peak<Volts>>,
    /// Signals that are on in some state: relays that are in or set, loads and converters that work.
    ever_on: BTreeSet<SignalId>,
    undecided: BTreeMap<SignalId, Peak<Volts>>,
    /// The highest voltages that last between pins.
    across: Vec<(Between, Option<Peak<Volts>>)>,
    left_out: bool,
    /// The highest currents from one battery into another that is empty. They fall as it charges.
    apart: Vec<Option<Peak<Amps>>>,
}

/// What is measured in each state, listed once.
#[derive(Debug)]
struct Probes<'m> {
    model: &'m Model,
    /// Pins with a limit, each with the branches that leave it.
    limited: Vec<(PinId, Vec<(BranchId, f64)>)>,
    /// Fuses, batteries and outputs, whose highest currents count even where they are over at once.
    sources: Vec<BranchId>,
    coils: Vec<(ElementId, PinId, PinId)>,
    /// Where converters take their current.
    inlets: Vec<(ElementId, PinId, PinId)>,
    loads: Vec<(ElementId, &'m Load)>,
    senses: Vec<(SignalId, PinId, PinId)>,
    moved: Vec<SignalId>,
    leaks: LeakBranches,
    tracer: Tracer,
    /// Shares of voltage and current from which a load counts as fed.
    fed: [f64; 2],
}

impl<'m> Probes<'m> {
    fn new(model: &'m Model, assembly: &Assembly) -> Self {
        let mut probes = Probes {
            model,
            limited: vec![],
            sources: vec![],
            coils: vec![],
            inlets: vec![],
            loads: vec![],
            senses: vec![],
            moved: vec![],
            leaks: LeakBranches::new(model, assembly),
            tracer: Tracer::new(model, assembly),
            fed: [figures::fed_voltage_share(), figures::fed_current_share()].map(|share| share.value()),
        };
        for (i, element) in model.elements.iter().enumerate() {
            let id = ElementId(i);
            if let ElementKind::Battery { .. } = element.kind {
                probes.sources.extend(assembly.element(id));
            }
            match &element.kind {
                ElementKind::Battery { plus: pin, figures, .. } | ElementKind::Derived { pin, figures, .. } => {
                    probes.limited.extend(figures.limit.map(|_| (*pin, leaving(model, assembly, *pin))));
                }
                ElementKind::Feed(feed) => {
                    probes.limited.extend(feed.limit.map(|_| (feed.pin, leaving(model, assembly, feed.pin))));
                }
                // A semiconductor fails before the fuse opens.
                ElementKind::Fuse { .. } | ElementKind::Output { .. } => probes.sources.extend(assembly.element(id)),
                ElementKind::Coil(coil) => probes.coils.push((id, coil.feed, coil.ground)),
                ElementKind::Converter { input, ground, .. } => probes.inlets.push((id, *input, *ground)),
                ElementKind::Load(load) => probes.loads.push((id, load)),
                _ => {}
            }
        }
        for (i, signal) in model.signals.iter().enumerate() {
            match signal.kind {
                SignalKind::Sense { pin, ground, .. } => probes.senses.push((SignalId(i), pin, ground)),
                SignalKind::Relay { .. } | SignalKind::Working { .. } => probes.moved.push(SignalId(i)),
                SignalKind::Timer { .. } => {}
            }
        }
        probes
    }

    /// Pins between which parts take a voltage.
    fn across(&self) -> Vec<(Between, Option<Peak<Volts>>)> {
        let loads = self.loads.iter().map(|(_, load)| (load.feed, load.ground));
        let coils = self.coils.iter().map(|(_, feed, ground)| (*feed, *ground));
        let senses = self.senses.iter().map(|(_, pin, ground)| (*pin, *ground));
        let inlets = self.inlets.iter().map(|(_, input, ground)| (*input, *ground));
        let all = loads.chain(coils).chain(senses).chain(inlets);
        all.map(|pins| (pins, None)).collect()
    }
}

/// Collects the worst values while every state is visited once.
#[derive(Debug)]
pub(super) struct Search<'m> {
    solved: &'m Solved<'m>,
    probes: Probes<'m>,
    worst: WorstValues,
}

impl<'m> Search<'m> {
    pub fn new(solved: &'m Solved<'m>) -> Search<'m> {
        let (branches, inputs) = (solved.assembly.circuit.branches.len(), solved.assembly.circuit.inputs.len());
        let probes = Probes::new(solved.model, &solved.assembly);
        let worst = WorstValues {
            branches: vec![None; branches],
            apart: vec![None; branches],
            branches_by: vec![vec![None; inputs + 1]; branches],
            across: probes.across(),
            ..WorstValues::default()
        };
        Search { solved, probes, worst }
    }

    /// Adds a state.
    pub fn look(&mut self, solution: &Solution) {
        self.worst.look(self.solved, &self.probes, solution);
    }

    /// Solves the states with the highest currents at the other corners, and batteries apart from each other.
    pub fn finish(mut self, explored: &Explored) -> WorstValues {
        self.worst.look_at_other_corners(self.solved, &self.probes);
        self.worst.look_at_batteries_apart(self.solved, explored);
        self.worst
    }
}

/// Share of its least voltage from which a converter counts as fed: below it, something else than its feed gives the
/// voltage.
const FED_INLET: f64 = 0.75;

impl WorstValues {
    fn look_at_other_corners(&mut self, solved: &Solved, probes: &Probes) {
        let of_branches = self.branches.iter().flatten().map(|peak| &peak.moment.state);
        let states: BTreeSet<State> =
            of_branches.chain(self.taken.values().map(|peak| &peak.moment.state)).cloned().collect();
        for corner in Corner::ALL.into_iter().filter(|corner| !CORNERS.contains(corner)) {
            let mut solver = Solver::new(&solved.assembly.circuit, corner);
            for state in &states {
                // Skip states that do not settle to themselves at this corner.
                solver.lasting(state).iter().for_each(|solution| self.look(solved, probes, solution));
            }
        }
    }

    fn look(&mut self, solved: &Solved, probes: &Probes, solution: &Solution) {
        let assembly = &solved.assembly;
        let between = |a: PinId, b: PinId| assembly.volts(solution, a) - assembly.volts(solution, b);
        let now = || Moment::of(solution);
        let over_at_once = self.look_at_currents(solved, probes, solution, &now);
        self.ever_on.extend(probes.moved.iter().filter(|id| solution.state.holds(assembly.signal(**id))));
        let loads = probes.loads.iter().map(|(id, load)| (*id, load.feed, load.ground));
        for (id, feed, ground) in loads.chain(probes.inlets.iter().copied()) {
            let higher = |new: Volts, old: Volts| new > old + Volts::new(WORSE);
            keep(&mut self.highest, id, between(feed, ground), &now, higher);
        }
        if over_at_once {
            self.left_out = true;
            return; // The fuse opens here; the short is reported by its own rule, so ignore the other loads.
        }
        for ((plus, minus), peak) in &mut self.across {
            let volts = between(*plus, *minus).abs();
            if peak.as_ref().is_none_or(|p| volts.value() > p.value.value() * (1.0 + WORSE)) {
                *peak = Some(Peak { value: volts, moment: now() });
            }
        }
        for &(id, feed, ground) in &probes.coils {
            let (key, volts) = ((solution.corner, id), between(feed, ground).abs());
            keep(&mut self.coils, key, volts, &now, |new, old| new.value() > old.value() * (1.0 + WORSE));
        }
        for &(id, load) in &probes.loads {
            let volts = between(load.feed, load.ground);
            let amps = assembly.amps(solution, id);
            let by_leakage = || probes.leaks.feed(probes.model, assembly, &probes.tracer, solution, (load.feed, amps));
            if volts >= load.nominal * probes.fed[0] && amps >= load.draws * probes.fed[1] && !by_leakage() {
                self.keep_lowest(id, volts, solution);
            }
        }
        for &(id, feed, ground) in &probes.inlets {
            let ElementKind::Converter { least, .. } = probes.model.element(id).kind else { continue };
            let volts = between(feed, ground);
            if volts >= least * FED_INLET {
                self.keep_lowest(id, volts, solution);
            }
        }
        for &(id, pin, ground) in &probes.senses {
            if assembly.reading(probes.model, solution, id) == Reading::Undecided {
                keep(&mut self.undecided, id, between(pin, ground), &now, |_, _| false);
            }
        }
    }

    /// Keeps a voltage at which a load or a converter is fed, if it is the lowest.
    fn keep_lowest(&mut self, id: ElementId, volts: Volts, solution: &Solution) {
        let lower = |new: Volts, old: Volts| new.value() < old.value() * (1.0 - WORSE);
        let now = || Moment::of(solution);
        keep(&mut self.lowest, (solution.corner, id), volts, &now, lower);
        keep(&mut self.lowest_by, (id, solution.state.positions.away()), volts, &now, lower);
    }

    /// Keeps the highest currents. Returns whether they open a fuse at once; then only those of fuses and sources
    /// count.
    fn look_at_currents(
        &mut self,
        solved: &Solved,
        probes: &Probes,
        solution: &Solution,
        now: &dyn Fn() -> Moment,
    ) -> bool {
        let moved = solution.state.positions.away();
        let over_at_once = opens_a_fuse(probes.model, &solved.assembly, solution);
        for (i, peak) in self.branches.iter_mut().enumerate() {
            if over_at_once && !probes.sources.contains(&BranchId(i as u32)) {
                continue;
            }
            let value = solution.amps(BranchId(i as u32)).abs();
            for peak in [peak, &mut self.branches_by[i][moved]] {
                if peak.as_ref().is_none_or(|there| is_more(value, there.value)) {
                    *peak = Some(Peak { value, moment: now() });
                }
            }
        }
        for (pin, branches) in probes.limited.iter().filter(|_| !over_at_once) {
            let amps = branches.iter().map(|(branch, sign)| solution.amps(*branch) * *sign).sum::<Amps>().abs();
            keep(&mut self.taken, *pin, amps, now, is_more);
            keep(&mut self.taken_by, (*pin, moved), amps, now, is_more);
        }
        over_at_once
    }

    /// Highest current through a branch.
    pub fn amps(&self, branch: BranchId) -> Option<&Peak<Amps>> {
        self.branches[branch.index()].as_ref()
    }

    /// Highest current through a branch while a full battery charges an empty one.
    pub fn charging(&self, branch: BranchId) -> Option<&Peak<Amps>> {
        self.apart[branch.index()].as_ref()
    }

    /// Highest current that the harness takes from a supply or a vehicle's wire with a limit.
    pub fn taken(&self, pin: PinId) -> Option<&Peak<Amps>> {
        self.taken.get(&pin)
    }

    /// Of the states with the fewest inputs away from rest in which a branch has more than a limit, the worst.
    pub fn amps_over(&self, branch: BranchId, limit: Amps) -> Option<&Peak<Amps>> {
        self.branches_by[branch.index()].iter().flatten().find(|peak| peak.value > limit)
    }

    /// The highest currents through a branch by how many inputs are away from rest, the fewest first.
    pub fn amps_by(&self, branch: BranchId) -> impl Iterator<Item = &Peak<Amps>> {
        self.branches_by[branch.index()].iter().flatten()
    }

    /// The same for the current taken from a supply or a vehicle's wire.
    pub fn taken_over(&self, pin: PinId, limit: Amps) -> Option<&Peak<Amps>> {
        let of_pin = self.taken_by.range((pin, 0)..=(pin, usize::MAX));
        of_pin.map(|(_, peak)| peak).find(|peak| peak.value > limit)
    }

    /// The lowest voltages at which a load is fed, by how many inputs are away from rest, the fewest first.
    pub fn lowest_by(&self, element: ElementId) -> impl Iterator<Item = &Peak<Volts>> {
        self.lowest_by.range((element, 0)..=(element, usize::MAX)).map(|(_, peak)| peak)
    }

    /// Highest voltage of a coil at a corner.
    pub fn coil(&self, corner: Corner, element: ElementId) -> Option<&Peak<Volts>> {
        self.coils.get(&(corner, element))
    }

    /// Lowest voltage at which a load or a converter is fed, at each corner where it is.
    pub fn lowest(&self, element: ElementId) -> impl Iterator<Item = &Peak<Volts>> {
        CORNERS.into_iter().filter_map(move |corner| self.lowest.get(&(corner, element)))
    }

    /// Highest voltage of a load or of a converter's inlet, feed against ground, in any state at any corner.
    pub fn highest(&self, element: ElementId) -> Option<&Peak<Volts>> {
        self.highest.get(&element)
    }

    /// Whether a relay is in or set, or a load or converter works, in any state at any corner.
    pub fn is_ever_on(&self, signal: SignalId) -> bool {
        self.ever_on.contains(&signal)
    }

    /// Highest voltage, either way round, that lasts between the two pins of a load, a coil, a converter's inlet or a
    /// trigger input.
    pub fn across(&self, plus: PinId, minus: PinId) -> Option<&Peak<Volts>> {
        self.across.iter().find(|(pins, _)| *pins == (plus, minus))?.1.as_ref()
    }

    /// A coil that never pulls in at the lowest supply: its highest voltage there, and the voltage that it needs.
    pub fn weak_coil(&self, wiring: &Wiring, id: ElementId, coil: &Coil) -> Option<(&Peak<Volts>, Volts)> {
        let at_least = CORNERS.into_iter().filter(|corner| corner.supply == Supply::Least);
        let short = at_least.filter_map(|corner| {
            let (peak, needs) = (self.coil(corner, id)?, pull_in(wiring, coil, corner));
            (peak.value < needs).then_some((peak, needs))
        });
        short.min_by(|a, b| (a.0.value / a.1).total_cmp(&(b.0.value / b.1)))
    }

    /// Whether a state opens a fuse at once. Such a state counts for the currents of fuses and sources only.
    pub fn left_out(&self) -> bool {
        self.left_out
    }

    /// The first state in which a trigger input is between its thresholds.
    pub fn undecided(&self, signal: SignalId) -> Option<&Peak<Volts>> {
        self.undecided.get(&signal)
    }
}

fn is_more(new: Amps, old: Amps) -> bool {
    new.value() > old.value() * (1.0 + WORSE)
}

/// Keeps a value if it is the first, or worse than the one kept.
fn keep<K: Ord, T: Copy>(
    all: &mut BTreeMap<K, Peak<T>>,
    key: K,
    value: T,
    now: &dyn Fn() -> Moment,
    worse: impl Fn(T, T) -> bool,
) {
    match all.get(&key) {
        Some(peak) if !worse(value, peak.value) => {}
        _ => {
            all.insert(key, Peak { value, moment: now() });
        }
    }
}

/// Voltage at which a coil certainly pulls in at a corner: it needs the same current, so the voltage rises with the
/// resistance of its copper and with its tolerance.
pub fn pull_in(wiring: &Wiring, coil: &Coil, corner: Corner) -> Volts {
    let circuit = &wiring.assembly.circuit;
    coil.pull_in * (corner.copper_factor(circuit) * corner.tolerance_factor(coil.tolerance))
}
