//! Sneak paths: unwanted voltage or current in any state at any corner. Checked are feeds that are
//! off, dead supplies, outputs that are off, coils and lamps fed through something else, and video grounds that differ.

mod rounds;

use super::branches::leaving;
use super::chargers::chargers;
use super::conductors::Conductors;
use super::figures;
use super::moment::Moment;
use super::worst::WORSE;
use catalogue::part_form::LoadKind;
use circuit::{Assembly, BranchId, Chatter, Corner, Law, Logic, NodeId, Solution};
use model::{ElementId, ElementKind, Model, PartId, PinId};
use quantity::{Amps, Volts};
use states::Solved;
use std::collections::BTreeMap;

/// Voltages this close count as the same feed.
const STEP_VOLTS: f64 = 0.1;

/// Currents that differ by less than this share count as the same feed.
const STEP_AMPS: f64 = 0.1;

/// Share of its nominal voltage below which a load may get its current through something else; also where its ground
/// side is up.
const AMISS: f64 = 0.75;

/// A current out of a supply's pin that is this little is rounding, or the solver's own leak.
const NOTHING: Amps = Amps::new(1e-9);

/// A kind of unwanted voltage or current.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sneak {
    /// A vehicle's wire that is off and held up, or fed, from the harness.
    Input(ElementId),
    /// The same with lamps of the vehicle on it that glow.
    Lamps(ElementId),
    /// A vehicle's wire that goes to ground when on, is off, and is pulled to ground by the harness.
    Low(ElementId),
    /// The same with lamps of the vehicle on it that light up, by any path.
    LowLamps(ElementId),
    /// A supply that is off and held up from the harness.
    Supply(ElementId),
    /// A high-side output that is off and held up from the harness.
    Output(ElementId),
    /// A source of the highest supply that is driven backwards.
    Charged(ElementId),
    /// The ground of a picture's source against that of its screen.
    Picture(PartId, PartId),
    /// What the battery gives with every input at rest.
    Rest(ElementId),
}

/// Something found, with a state that proves it.
#[derive(Debug, Clone)]
pub struct Found {
    /// The simplest state in which it shows, nominal supply before other corners.
    pub moment: Moment,
    /// Its voltage there.
    pub volts: Volts,
    /// Its current there.
    pub amps: Amps,
    /// The highest voltage in any state.
    pub most_volts: Volts,
    /// The highest current in any state.
    pub most_amps: Amps,
    away: usize,
}

/// A coil or a load that has a voltage, and the simplest state with it.
#[derive(Debug, Clone)]
pub struct Lifted {
    /// The state.
    pub moment: Moment,
    /// Across it.
    pub volts: Volts,
    /// Through it.
    pub amps: Amps,
    away: usize,
}

/// Two states with the same key show the same thing: corner, step of size, whether the coil's relay is in, and whether
/// current goes into a supply that is off.
type Key = (Corner, i64, bool, bool);

/// The sneak paths of a harness, each with a state that proves it.
#[derive(Debug, Default)]
pub struct SneakPaths {
    /// By kind, and whether its own leakage helps to lift it.
    found: BTreeMap<(Sneak, bool), Found>,
    lifted: BTreeMap<ElementId, BTreeMap<Key, Lifted>>,
    /// Wires and supplies of the vehicle that are off and take a current at almost no voltage.
    taken: BTreeMap<ElementId, BTreeMap<Key, Lifted>>,
}

/// A pin that is off while `when` doesn't hold.
#[derive(Debug)]
struct Quiet {
    what: Sneak,
    pin: PinId,
    leaving: Vec<(BranchId, f64)>,
    when: Logic,
    /// Current of the vehicle's own lamps on it.
    lamps: Option<Amps>,
}

/// A vehicle's wire that goes to ground while `when` holds.
#[derive(Debug)]
struct Low {
    id: ElementId,
    node: NodeId,
    when: Logic,
    /// The vehicle's own lamps on it.
    lamps: Option<BranchId>,
}

/// A source that a screen can show, with the ground pins of both, and when the source works.
#[derive(Debug)]
struct Pictured {
    what: Sneak,
    from: PinId,
    to: PinId,
    working: Logic,
}

/// What is measured in each state, listed once.
#[derive(Debug)]
struct Probes {
    quiet: Vec<Quiet>,
    lows: Vec<Low>,
    conductors: Conductors,
    /// Coils and loads, with the two pins, and for loads other than lamps the voltage below which something is amiss.
    lifted: Vec<(ElementId, [PinId; 2], Option<Volts>)>,
    /// Of each coil its relay.
    relays: BTreeMap<ElementId, Logic>,
    /// Each battery with the outputs of the converters that charge it.
    batteries: Vec<(ElementId, BranchId, Vec<BranchId>)>,
    pictures: Vec<Pictured>,
    sneak: (Volts, Amps),
    video: Volts,
    /// The voltage at which the vehicle's lamps glow.
    glows: Volts,
}

impl Probes {
    fn new(solved: &Solved) -> Probes {
        let (model, assembly) = (solved.model, &solved.assembly);
        let limits = &model.limits;
        let mut probes = Probes {
            quiet: Vec::new(),
            lows: Vec::new(),
            conductors: Conductors::default(),
            lifted: Vec::new(),
            relays: BTreeMap::new(),
            batteries: Vec::new(),
            pictures: pictures(solved),
            sneak: (limits.sneak_voltage, limits.sneak_current),
            video: limits.video_lift,
            glows: model.job.nominal * figures::glows_share().value(),
        };
        for (i, element) in model.elements.iter().enumerate() {
            probes.add(model, assembly, ElementId(i), &element.kind);
        }
        if !probes.lows.is_empty() {
            probes.conductors = Conductors::new(model, assembly);
        }
        probes
    }

    fn add(&mut self, model: &Model, assembly: &Assembly, id: ElementId, kind: &ElementKind) {
        let quiet = |what, pin, when, lamps| Quiet { what, pin, leaving: leaving(model, assembly, pin), when, lamps };
        match kind {
            ElementKind::Battery { .. } => {
                let mine = chargers(model).into_iter().filter(|charger| charger.battery == id);
                let outputs = mine.flat_map(|charger| assembly.element(charger.converter).first().copied()).collect();
                self.batteries.extend(assembly.element(id).first().map(|branch| (id, *branch, outputs)));
            }
            ElementKind::Derived { pin, .. } => {
                self.quiet.push(quiet(Sneak::Supply(id), *pin, assembly.logic(&model.live(*pin)), None));
            }
            ElementKind::Feed(feed) if feed.from.is_some() => {
                let lamps = feed.lamps.map(|watts| watts / model.job.nominal);
                self.quiet.push(quiet(Sneak::Input(id), feed.pin, assembly.logic(&feed.when), lamps));
            }
            ElementKind::Feed(feed) => {
                let is_lamp =
                    |branch: &BranchId| matches!(assembly.circuit.branches[branch.index()].law, Law::Lamp { .. });
                let lamps = assembly.element(id).iter().copied().find(is_lamp);
                let when = assembly.logic(&feed.when);
                self.lows.extend(assembly.pin(feed.pin).map(|node| Low { id, node, when, lamps }));
            }
            ElementKind::Output { pin, high_side: true, when, .. } => {
                self.quiet.push(quiet(Sneak::Output(id), *pin, assembly.logic(when), None));
            }
            ElementKind::Coil(coil) => {
                self.lifted.push((id, [coil.feed, coil.ground], None));
                self.relays.insert(id, assembly.signal(coil.relay).clone());
            }
            ElementKind::Load(load) if matches!(load.kind, LoadKind::Lamp | LoadKind::Led) => {
                self.lifted.push((id, [load.feed, load.ground], None));
            }
            ElementKind::Load(load) => {
                self.lifted.push((id, [load.feed, load.ground], Some(load.nominal * AMISS)));
            }
            _ => {}
        }
    }
}

/// Every source that a screen can show.
fn pictures(solved: &Solved) -> Vec<Pictured> {
    let model = solved.model;
    let load = |part: PartId| {
        model.part(part).elements.iter().find_map(|id| match &model.element(*id).kind {
            ElementKind::Load(load) => Some(load),
            _ => None,
        })
    };
    let mut all: BTreeMap<Sneak, Pictured> = BTreeMap::new();
    for screen in &model.screens {
        for path in screen.shows.iter().flat_map(|show| &solved.pictures[&show.input]) {
            if let (Some(source), Some(shows)) = (load(path.source), load(screen.part)) {
                let what = Sneak::Picture(path.source, screen.part);
                let working = solved.assembly.signal(source.working).clone();
                all.insert(what, Pictured { what, from: source.ground, to: shows.ground, working });
            }
        }
    }
    all.into_values().collect()
}

/// Collects sneak paths while every state is visited once.
#[derive(Debug)]
pub(super) struct Search<'m> {
    solved: &'m Solved<'m>,
    probes: Probes,
    found: SneakPaths,
}

impl<'m> Search<'m> {
    pub fn new(solved: &'m Solved<'m>) -> Search<'m> {
        Search { solved, probes: Probes::new(solved), found: SneakPaths::default() }
    }

    /// Adds a state.
    pub fn look(&mut self, solution: &Solution) {
        self.found.look(self.solved, &self.probes, solution);
    }

    /// Adds a state that never settles.
    pub fn look_at_round(&mut self, chatter: &Chatter) {
        self.found.look_at_round(self.solved, &self.probes, chatter);
    }

    pub fn finish(self) -> SneakPaths {
        self.found
    }
}

impl SneakPaths {
    /// The results of `of` for the sneak paths, the first for each subject.
    pub fn first_of_each<T>(&self, of: impl Fn(Sneak, &Found) -> Option<T>) -> Vec<T> {
        let mut first: BTreeMap<Sneak, T> = BTreeMap::new();
        for ((what, _), found) in &self.found {
            if !first.contains_key(what)
                && let Some(one) = of(*what, found)
            {
                first.insert(*what, one);
            }
        }
        first.into_values().collect()
    }

    /// States in which a coil or a load has a voltage, the simplest first: one state for each voltage, for a coil with the
    /// relay in and out, with and without current into a supply that is off. For a load other than a lamp only voltages
    /// that may be a fault.
    pub fn lifted(&self, element: ElementId) -> Vec<&Lifted> {
        in_order(self.lifted.get(&element))
    }

    /// The states in which a wire or a supply of the vehicle that is off takes a current although it has almost no
    /// voltage, one for each current, the simplest first.
    pub fn taken(&self, element: ElementId) -> Vec<&Lifted> {
        in_order(self.taken.get(&element))
    }

    /// Adds a state.
    fn look(&mut self, solved: &Solved, probes: &Probes, solution: &Solution) {
        let assembly = &solved.assembly;
        let (sneak_volts, sneak_amps) = probes.sneak;
        let mut into_dead = false;
        for quiet in probes.quiet.iter().filter(|quiet| !solution.state.holds(&quiet.when)) {
            let volts = assembly.volts(solution, quiet.pin);
            let out = quiet.leaving.iter().map(|(branch, sign)| solution.amps(*branch) * *sign).sum::<Amps>();
            if quiet.leaving.is_empty() {
                continue;
            }
            into_dead |= matches!(quiet.what, Sneak::Supply(_)) && -out > sneak_amps;
            if volts > sneak_volts {
                let glows = quiet.lamps.is_some() && volts > sneak_volts.max(probes.glows);
                let what = match quiet.what {
                    Sneak::Input(id) if glows => Sneak::Lamps(id),
                    what => what,
                };
                self.note((what, out > NOTHING), solution, volts, out.abs());
            } else if let Sneak::Input(id) | Sneak::Supply(id) = quiet.what
                && -out > noticed(quiet.lamps, sneak_amps)
            {
                let step = ((-out).value().ln() / STEP_AMPS).round() as i64;
                lift(self.taken.entry(id).or_default(), (step, false, false), solution, volts, -out);
            }
        }
        for &(id, pins, below) in &probes.lifted {
            let is_coil = probes.relays.contains_key(&id);
            // A coil goes by the mean of pulses.
            let [feed, ground] =
                pins.map(|pin| if is_coil { assembly.mean(solution, pin) } else { assembly.volts(solution, pin) });
            let (volts, amps) = ((feed - ground).abs(), assembly.amps(solution, id).abs());
            let amiss = |below| into_dead || feed < ground || ground > sneak_volts || volts < below;
            if volts > sneak_volts && amps > sneak_amps && below.is_none_or(amiss) {
                let step = (volts.value() / STEP_VOLTS).round() as i64;
                let on = probes.relays.get(&id).is_some_and(|relay| solution.state.holds(relay));
                lift(self.lifted.entry(id).or_default(), (step, on, into_dead), solution, volts, amps);
            }
        }
        self.look_at_lows(solved, probes, solution);
        self.look_at_sources(solved, probes, solution);
        for one in probes.pictures.iter().filter(|one| solution.state.holds(&one.working)) {
            let volts = (assembly.volts(solution, one.from) - assembly.volts(solution, one.to)).abs();
            if volts > probes.video {
                self.note((one.what, false), solution, volts, Amps::new(0.0));
            }
        }
    }

    /// Wires that go to ground when on, while they are off.
    fn look_at_lows(&mut self, solved: &Solved, probes: &Probes, solution: &Solution) {
        let sneak_volts = probes.sneak.0;
        for low in probes.lows.iter().filter(|low| !solution.state.holds(&low.when)) {
            let lit = low.lamps.filter(|lamps| solution.across(*lamps) > sneak_volts.max(probes.glows));
            if let Some(lamps) = lit {
                self.note((Sneak::LowLamps(low.id), false), solution, solution.across(lamps), solution.amps(lamps));
            } else if solution.volts(low.node) < sneak_volts
                && probes.conductors.to_ground(&solved.assembly, &solution.state, low.node).is_some()
            {
                self.note((Sneak::Low(low.id), false), solution, solution.volts(low.node), Amps::new(0.0));
            }
        }
    }

    fn look_at_sources(&mut self, solved: &Solved, probes: &Probes, solution: &Solution) {
        let at_rest =
            solution.state.positions.away() == 0 && solution.state.pending(&solved.assembly.circuit).is_empty();
        for (id, branch, chargers) in &probes.batteries {
            let (id, branch) = (*id, *branch);
            let amps = solution.amps(branch);
            // What its chargers give is meant.
            let charged = chargers.iter().map(|charger| solution.amps(*charger).abs()).sum::<Amps>();
            if -amps - charged > probes.sneak.1 {
                self.note((Sneak::Charged(id), false), solution, solution.across(branch).abs(), -amps);
            }
            if at_rest {
                self.note((Sneak::Rest(id), false), solution, solution.across(branch).abs(), amps);
            }
        }
    }

    /// Keeps the simplest state of all that show something, the worst of several such, and the highest figures.
    fn note(&mut self, what: (Sneak, bool), solution: &Solution, volts: Volts, amps: Amps) {
        let new = |moment| Found {
            moment,
            volts,
            amps,
            most_volts: volts,
            most_amps: amps,
            away: solution.state.positions.away(),
        };
        let moment = || Moment::of(solution);
        let Some(found) = self.found.get_mut(&what) else {
            self.found.insert(what, new(moment()));
            return;
        };
        (found.most_volts, found.most_amps) = (found.most_volts.max(volts), found.most_amps.max(amps));
        let (there, here) = (found.away, solution.state.positions.away());
        let simpler = there > here || (there == here && amps.value() > found.amps.value() * (1.0 + WORSE));
        if found.moment.corner == solution.corner && simpler {
            *found = Found { most_volts: found.most_volts, most_amps: found.most_amps, ..new(moment()) };
        }
    }
}

/// The current that is noticed in a wire of the vehicle: its own lamps hide a little.
pub fn noticed(lamps: Option<Amps>, sneak: Amps) -> Amps {
    lamps.map_or(sneak, |lamps| sneak.max(lamps * figures::lamp_notices_share().value()))
}

/// Keeps the simplest state of each kind.
fn lift(
    all: &mut BTreeMap<Key, Lifted>,
    (step, on, into_dead): (i64, bool, bool),
    solution: &Solution,
    volts: Volts,
    amps: Amps,
) {
    let (key, away) = ((solution.corner, step, on, into_dead), solution.state.positions.away());
    if all.get(&key).is_none_or(|there| there.away > away) {
        let moment = Moment::of(solution);
        all.insert(key, Lifted { moment, volts, amps, away });
    }
}

fn in_order(all: Option<&BTreeMap<Key, Lifted>>) -> Vec<&Lifted> {
    let mut all: Vec<&Lifted> = all.into_iter().flat_map(|all| all.values()).collect();
    let order = |lifted: &&Lifted| (lifted.moment.corner != Corner::NOMINAL, lifted.away);
    all.sort_by(|a, b| order(a).cmp(&order(b)).then(a.volts.value().total_cmp(&b.volts.value())));
    all
}
