//! One look at every reachable state at every corner that matters, keeping the worst of each current and voltage.

mod apart;

use super::path::leaving;
use super::screens::away;
use super::sneak::{Lookout, Sneaks};
use super::{Context, tables};
pub use apart::Apart;
use model::{Coil, ElementId, ElementKind, Load, Model, PinId, SignalId, SignalKind};
use quantity::{Amps, Volts};
use size::opens_a_fuse;
use solve::{
    self, Assembly, BranchId, Copper, Corner, Exploration, Interrupted, Reading, Solution, Solver, State, Supply,
    explore_all,
};
use states::Solved;
use std::collections::{BTreeMap, BTreeSet};

/// Share by which a value must be worse to take the place of one that was met before.
pub const WORSE: f64 = 1e-4;

/// The corners at which every state is looked at: the nominal one first, so that what shows there is told from there; the
/// one with the lowest voltages, where coils, cameras and triggers fail and constant power takes most; the one with the
/// greatest currents through what follows Ohm's law. A sum of both kinds may be greater still at one of the other three, so
/// the states in which anything was at its worst are looked at there as well.
pub const CORNERS: [Corner; 3] = {
    const fn corner(supply: Supply, copper: Copper) -> Corner {
        Corner { supply, copper, ..Corner::NOMINAL }
    }
    [Corner::NOMINAL, corner(Supply::Least, Copper::Hot), corner(Supply::Greatest, Copper::Cold)]
};

/// When something was at its worst.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Where the circuit stood.
    pub state: State,
    /// At which corner.
    pub corner: Corner,
    /// Batteries that don't stand as the corner says.
    pub apart: Option<Apart>,
}

impl Moment {
    /// A state at a corner.
    pub fn new(state: State, corner: Corner) -> Moment {
        Moment { state, corner, apart: None }
    }

    /// When a solution was.
    pub fn of(solution: &Solution) -> Moment {
        Moment::new(solution.state.clone(), solution.corner)
    }
}

/// A value at its worst.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak<T> {
    /// The value.
    pub value: T,
    /// When.
    pub moment: Moment,
}

/// Two pins, the second the ground.
type Between = (PinId, PinId);

/// The worst of everything.
#[derive(Debug, Default)]
pub struct Worst {
    branches: Vec<Option<Peak<Amps>>>,
    taken: BTreeMap<PinId, Peak<Amps>>,
    /// The same by how many inputs are away from rest.
    branches_by: Vec<Vec<Option<Peak<Amps>>>>,
    taken_by: BTreeMap<(PinId, usize), Peak<Amps>>,
    lowest_by: BTreeMap<(ElementId, usize), Peak<Volts>>,
    coils: BTreeMap<(Corner, ElementId), Peak<Volts>>,
    lowest: BTreeMap<(Corner, ElementId), Peak<Volts>>,
    /// Of loads and converters the greatest voltage, feed against ground, in any state at any corner.
    highest: BTreeMap<ElementId, Peak<Volts>>,
    /// Signals that are on in some state: relays that are in or set, loads and converters that work.
    ever_on: BTreeSet<SignalId>,
    undecided: BTreeMap<SignalId, Peak<Volts>>,
    /// The greatest voltages that last between pins.
    across: Vec<(Between, Option<Peak<Volts>>)>,
    explorations: Vec<Exploration>,
    /// Whether a state was left out of all but the currents of fuses and batteries, because it opens a fuse at once.
    pub left_out: bool,
    /// What gets voltage or current where none is meant.
    pub sneaks: Sneaks,
}

/// What is looked at in each state, listed once.
struct Watch<'m> {
    model: &'m Model,
    /// Pins with a limit, each with the branches that leave it.
    limited: Vec<(PinId, Vec<(BranchId, f64)>)>,
    /// Fuses, batteries and outputs, whose greatest currents count even where they are over at once.
    sources: Vec<BranchId>,
    coils: Vec<(ElementId, PinId, PinId)>,
    /// Where converters take their current.
    inlets: Vec<(ElementId, PinId, PinId)>,
    loads: Vec<(ElementId, &'m Load)>,
    senses: Vec<(SignalId, PinId, PinId)>,
    moved: Vec<SignalId>,
    /// Shares of voltage and current from which a load counts as fed.
    fed: [f64; 2],
}

impl<'m> Watch<'m> {
    fn new(model: &'m Model, assembly: &Assembly) -> Self {
        let mut watch = Watch {
            model,
            limited: vec![],
            sources: vec![],
            coils: vec![],
            inlets: vec![],
            loads: vec![],
            senses: vec![],
            moved: vec![],
            fed: [tables::fed_voltage_share(), tables::fed_current_share()].map(|share| share.value()),
        };
        for (i, element) in model.elements.iter().enumerate() {
            let id = ElementId(i);
            if let ElementKind::Battery { .. } = element.kind {
                watch.sources.extend(assembly.element(id));
            }
            match &element.kind {
                ElementKind::Battery { plus: pin, figures, .. } | ElementKind::Derived { pin, figures, .. } => {
                    watch.limited.extend(figures.limit.map(|_| (*pin, leaving(model, assembly, *pin))));
                }
                ElementKind::Feed(feed) => {
                    watch.limited.extend(feed.limit.map(|_| (feed.pin, leaving(model, assembly, feed.pin))));
                }
                // A semiconductor is gone before the fuse opens.
                ElementKind::Fuse { .. } | ElementKind::Output { .. } => watch.sources.extend(assembly.element(id)),
                ElementKind::Coil(coil) => watch.coils.push((id, coil.feed, coil.ground)),
                ElementKind::Converter { input, ground, .. } => watch.inlets.push((id, *input, *ground)),
                ElementKind::Load(load) => watch.loads.push((id, load)),
                _ => {}
            }
        }
        for (i, signal) in model.signals.iter().enumerate() {
            match signal.kind {
                SignalKind::Sense { pin, ground, .. } => watch.senses.push((SignalId(i), pin, ground)),
                SignalKind::Relay { .. } | SignalKind::Working { .. } => watch.moved.push(SignalId(i)),
                SignalKind::Timer { .. } => {}
            }
        }
        watch
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

impl Worst {
    /// Looks at everything.
    ///
    /// # Errors
    /// When the search's watch breaks.
    pub fn new(solved: &Solved, told: solve::Watch) -> Result<Worst, Interrupted> {
        let (branches, inputs) = (solved.assembly.circuit.branches.len(), solved.assembly.circuit.inputs.len());
        let mut worst = Worst {
            branches: vec![None; branches],
            branches_by: vec![vec![None; inputs + 1]; branches],
            ..Worst::default()
        };
        let watch = Watch::new(solved.model, &solved.assembly);
        worst.across = watch.across();
        let lookout = Lookout::new(solved);
        let circuit = &solved.assembly.circuit;
        let others = explore_all(circuit, &CORNERS[1..], told)?;
        for exploration in std::iter::once(&solved.exploration).chain(&others) {
            exploration.visit(circuit, &mut |solution| {
                worst.look(solved, &watch, solution);
                worst.sneaks.look(solved, &lookout, solution);
            });
        }
        worst.look_at_other_corners(solved, &watch);
        worst.explorations = others;
        worst.look_at_batteries_apart(solved, &watch);
        Ok(worst)
    }

    /// Looks at the states with the greatest currents at the corners that were left.
    fn look_at_other_corners(&mut self, solved: &Solved, watch: &Watch) {
        let of_branches = self.branches.iter().flatten().map(|peak| &peak.moment.state);
        let states: BTreeSet<State> =
            of_branches.chain(self.taken.values().map(|peak| &peak.moment.state)).cloned().collect();
        for corner in Corner::ALL.into_iter().filter(|corner| !CORNERS.contains(corner)) {
            let mut solver = Solver::new(&solved.assembly.circuit, corner);
            for state in &states {
                // One that doesn't last there is not to be had.
                solver.lasting(state).iter().for_each(|solution| self.look(solved, watch, solution));
            }
        }
    }

    /// The explorations at all corners but the nominal one.
    pub fn explorations(&self) -> &[Exploration] {
        &self.explorations
    }

    fn look(&mut self, solved: &Solved, watch: &Watch, solution: &Solution) {
        let assembly = &solved.assembly;
        let between = |a: PinId, b: PinId| assembly.volts(solution, a) - assembly.volts(solution, b);
        let now = || Moment::of(solution);
        let moved = away(solution);
        let over_at_once = self.look_at_currents(solved, watch, solution, &now);
        self.ever_on.extend(watch.moved.iter().filter(|id| solution.state.holds(assembly.signal(**id))));
        let loads = watch.loads.iter().map(|(id, load)| (*id, load.feed, load.ground));
        for (id, feed, ground) in loads.chain(watch.inlets.iter().copied()) {
            let higher = |new: Volts, old: Volts| new > old + Volts::new(WORSE);
            keep(&mut self.highest, id, between(feed, ground), &now, higher);
        }
        if over_at_once {
            self.left_out = true;
            return; // What shorts the fuse is told; nothing else has to bear it for long.
        }
        for ((plus, minus), peak) in &mut self.across {
            let volts = between(*plus, *minus).abs();
            if peak.as_ref().is_none_or(|p| volts.value() > p.value.value() * (1.0 + WORSE)) {
                *peak = Some(Peak { value: volts, moment: now() });
            }
        }
        for &(id, feed, ground) in &watch.coils {
            let (key, volts) = ((solution.corner, id), between(feed, ground).abs());
            keep(&mut self.coils, key, volts, &now, |new, old| new.value() > old.value() * (1.0 + WORSE));
        }
        for &(id, load) in &watch.loads {
            let volts = between(load.feed, load.ground);
            let amps = assembly.amps(solution, id);
            if volts >= load.nominal * watch.fed[0] && amps >= load.draws * watch.fed[1] {
                let key = (solution.corner, id);
                let lower = |new: Volts, old: Volts| new.value() < old.value() * (1.0 - WORSE);
                keep(&mut self.lowest, key, volts, &now, lower);
                keep(&mut self.lowest_by, (id, moved), volts, &now, lower);
            }
        }
        for &(id, pin, ground) in &watch.senses {
            if assembly.reading(watch.model, solution, id) == Reading::Undecided {
                keep(&mut self.undecided, id, between(pin, ground), &now, |_, _| false);
            }
        }
    }

    /// Keeps the greatest currents. Whether they open a fuse at once: then only those of fuses and sources count.
    fn look_at_currents(
        &mut self,
        solved: &Solved,
        watch: &Watch,
        solution: &Solution,
        now: &dyn Fn() -> Moment,
    ) -> bool {
        let moved = away(solution);
        let over_at_once = opens_a_fuse(watch.model, &solved.assembly, solution);
        for (i, peak) in self.branches.iter_mut().enumerate() {
            if over_at_once && !watch.sources.contains(&BranchId(i as u32)) {
                continue;
            }
            let value = solution.amps(BranchId(i as u32)).abs();
            for peak in [peak, &mut self.branches_by[i][moved]] {
                if peak.as_ref().is_none_or(|there| is_more(value, there.value)) {
                    *peak = Some(Peak { value, moment: now() });
                }
            }
        }
        for (pin, branches) in watch.limited.iter().filter(|_| !over_at_once) {
            let amps = branches.iter().map(|(branch, sign)| solution.amps(*branch) * *sign).sum::<Amps>().abs();
            keep(&mut self.taken, *pin, amps, now, is_more);
            keep(&mut self.taken_by, (*pin, moved), amps, now, is_more);
        }
        over_at_once
    }

    /// Greatest current through a branch.
    pub fn amps(&self, branch: BranchId) -> Option<&Peak<Amps>> {
        self.branches[branch.index()].as_ref()
    }

    /// Greatest current that the harness takes from a supply or a vehicle's wire with a limit.
    pub fn taken(&self, pin: PinId) -> Option<&Peak<Amps>> {
        self.taken.get(&pin)
    }

    /// Of the states with the fewest inputs away from rest in which a branch has more than a limit, the worst.
    pub fn amps_over(&self, branch: BranchId, limit: Amps) -> Option<&Peak<Amps>> {
        self.branches_by[branch.index()].iter().flatten().find(|peak| peak.value > limit)
    }

    /// The greatest currents through a branch by how many inputs are away from rest, the fewest first.
    pub fn amps_by(&self, branch: BranchId) -> impl Iterator<Item = &Peak<Amps>> {
        self.branches_by[branch.index()].iter().flatten()
    }

    /// The same of what is taken from a supply or a vehicle's wire.
    pub fn taken_over(&self, pin: PinId, limit: Amps) -> Option<&Peak<Amps>> {
        let of_pin = self.taken_by.range((pin, 0)..=(pin, usize::MAX));
        of_pin.map(|(_, peak)| peak).find(|peak| peak.value > limit)
    }

    /// The lowest voltages at which a load is fed, by how many inputs are away from rest, the fewest first.
    pub fn lowest_by(&self, element: ElementId) -> impl Iterator<Item = &Peak<Volts>> {
        self.lowest_by.range((element, 0)..=(element, usize::MAX)).map(|(_, peak)| peak)
    }

    /// Greatest voltage of a coil at a corner.
    pub fn coil(&self, corner: Corner, element: ElementId) -> Option<&Peak<Volts>> {
        self.coils.get(&(corner, element))
    }

    /// Lowest voltage at which a load is fed, at each corner where it is.
    pub fn lowest(&self, element: ElementId) -> impl Iterator<Item = &Peak<Volts>> {
        CORNERS.into_iter().filter_map(move |corner| self.lowest.get(&(corner, element)))
    }

    /// Greatest voltage of a load or of a converter's inlet, feed against ground, in any state at any corner.
    pub fn highest(&self, element: ElementId) -> Option<&Peak<Volts>> {
        self.highest.get(&element)
    }

    /// Whether a relay is in or set, or a load or converter works, in any state at any corner.
    pub fn is_ever_on(&self, signal: SignalId) -> bool {
        self.ever_on.contains(&signal)
    }

    /// Greatest voltage, either way round, that lasts between the two pins of a load, a coil, a converter's inlet or a
    /// trigger input.
    pub fn across(&self, plus: PinId, minus: PinId) -> Option<&Peak<Volts>> {
        self.across.iter().find(|(pins, _)| *pins == (plus, minus))?.1.as_ref()
    }

    /// The first state in which a trigger input is between its thresholds.
    pub fn undecided(&self, signal: SignalId) -> Option<&Peak<Volts>> {
        self.undecided.get(&signal)
    }
}

fn is_more(new: Amps, old: Amps) -> bool {
    new.value() > old.value() * (1.0 + WORSE)
}

/// Keeps a value where there is none yet, or where it is worse than the one that is there.
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

impl Context<'_> {
    /// The circuit as it was at a moment.
    pub fn solution(&self, moment: &Moment) -> Option<Solution> {
        let settled = |circuit| Solver::new(circuit, moment.corner).settle(&moment.state).settled();
        match &moment.apart {
            Some(apart) => settled(&apart.circuit(self.model, &self.solved.assembly)),
            None => settled(&self.solved.assembly.circuit),
        }
    }

    /// What a coil needs to pull in at a corner: it takes the same current, so the voltage rises with its copper, and with
    /// its tolerance.
    pub fn pull_in(&self, coil: &Coil, corner: Corner) -> Volts {
        let circuit = &self.solved.assembly.circuit;
        coil.pull_in * (corner.copper_factor(circuit) * corner.tolerance_factor(coil.tolerance))
    }

    /// A coil that never pulls in at least supply: its greatest voltage there, and what it needs.
    pub fn weak_coil(&self, id: ElementId, coil: &Coil) -> Option<(&Peak<Volts>, Volts)> {
        let at_least = CORNERS.into_iter().filter(|corner| corner.supply == Supply::Least);
        let short = at_least.filter_map(|corner| {
            let (peak, needs) = (self.worst.coil(corner, id)?, self.pull_in(coil, corner));
            (peak.value < needs).then_some((peak, needs))
        });
        short.min_by(|a, b| (a.0.value / a.1).total_cmp(&(b.0.value / b.1)))
    }
}
