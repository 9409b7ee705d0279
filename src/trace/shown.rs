//! What a screen shows and a meter reads with a fault in place.

use super::crossed;
use super::fault::{Harm, PictureHarm};
use super::flash::solved_between;
use super::measure::{LAMP_BANDS, MeterValue};
use super::seen::{ScreenSeen, WorksSeen};
use super::setting::SetState;
use circuit::{Change, Solution, State, Variant};
use facts::Facts;
use model::{ElementId, ElementKind, PinId, ScreenId, SignalId, SignalKind, WireId, WorksPromise};
use quantity::{Amps, Volts};
use states::{Picture, Reached, ScreenReading, arriving, picture_without, read_screen};

/// What shows in one setting.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ShownFault {
    /// What each screen shows.
    pub screens: Vec<ScreenSeen>,
    /// The mean voltage of each pin against the battery's negative; zero for pictures, sound and data.
    pub volts: Vec<Volts>,
    /// The pins whose voltage comes and goes with a flasher, with its size while it is there.
    pub flashing: Vec<(PinId, Volts)>,
    /// The promises whose loads do so.
    pub flashing_works: Vec<usize>,
    /// By screen, whether current in a cable's shield may disturb the picture.
    pub disturbed: Vec<bool>,
    /// How each part with a promise works, in the order of the model's promises.
    pub works: Vec<WorksSeen>,
    /// The state that the harness is in.
    pub state: State,
}

impl ShownFault {
    /// What a meter shows at a pin.
    pub fn voltage(&self, pin: PinId) -> MeterValue {
        let flashing = self.flashing.iter().find(|(one, _)| *one == pin);
        flashing.map_or(MeterValue::Volts(self.volts[pin.0]), |(_, volts)| MeterValue::Flashing(*volts))
    }

    /// Whether another fault shows the same, with voltages that differ by less than this.
    pub fn is_nearly(&self, other: &ShownFault, volts: Volts) -> bool {
        let near = |one: &Volts, other: &Volts| (*one - *other).abs() < volts;
        let flashing = self.flashing.iter().zip(&other.flashing);
        self.state == other.state
            && (&self.screens, &self.disturbed, &self.works, &self.flashing_works)
                == (&other.screens, &other.disturbed, &other.works, &other.flashing_works)
            && self.volts.iter().zip(&other.volts).all(|(one, other)| near(one, other))
            && self.flashing.len() == other.flashing.len()
            && flashing.into_iter().all(|((pin, one), (same, other))| pin == same && near(one, other))
    }
}

/// A fuse opens for sure, in time, from this share of its rating on (ISO 8820-3: 135 %, from memory).
const BLOWS: f64 = 1.35;

/// A fault with every fuse that it blows in one of the settings. A blown fuse is blown in all.
pub(crate) fn with_blown_fuses(facts: &Facts, harm: &Harm, driven: &[SetState]) -> Harm {
    if !harm.shorts {
        return harm.clone();
    }
    with_fuses(facts, harm, driven).0
}

/// The same, with what the circuit does in the settings.
fn with_fuses<'f>(facts: &'f Facts, harm: &Harm, driven: &[SetState]) -> (Harm, Reached<'f>) {
    let mut harm = harm.clone();
    let mut reached = Reached::new(facts.solved.solvers(), harm.variant.clone());
    for (at, setting) in driven.iter().enumerate().filter(|_| harm.shorts) {
        // One fuse after the other: the first that opens may save the next.
        while let Some(fuse) = reached.at_last(&setting.moves).and_then(|now| overloaded(facts, &harm, &now)) {
            harm.blown.push(fuse);
            harm.blows_in.push((fuse, at));
            let open = facts.solved.assembly.element(fuse).iter().map(|branch| Change::Open(*branch));
            harm.variant = open.fold(harm.variant, Variant::and);
            reached = Reached::new(facts.solved.solvers(), harm.variant.clone());
        }
    }
    (harm, reached)
}

/// A fault with the fuses that it blows, and what it shows in each setting.
pub(crate) struct SolvedFault {
    pub harm: Harm,
    /// `None` where the circuit does not settle.
    pub shown: Vec<Option<ShownFault>>,
    /// What all batteries supply with everything at rest; `None` where the circuit does not settle.
    pub drained: Option<Amps>,
}

/// Solves faults that change the circuit alike in each setting, once for all of them.
pub(crate) fn solved_alike(facts: &Facts, harms: &[Harm], settings: &[SetState]) -> Vec<SolvedFault> {
    let Some(first) = harms.first() else { return Vec::new() };
    let (blown, mut reached) = with_fuses(facts, first, settings);
    let drained = reached.at_last(&[]).map(|at| supplied(facts, &at));
    let mut all: Vec<SolvedFault> = harms
        .iter()
        .map(|harm| SolvedFault {
            harm: Harm {
                variant: blown.variant.clone(),
                blown: blown.blown.clone(),
                blows_in: blown.blows_in.clone(),
                ..harm.clone()
            },
            shown: Vec::new(),
            drained,
        })
        .collect();
    for setting in settings {
        let solution = reached.at_last(&setting.moves);
        let between = solution.as_ref().and_then(|at| solved_between(facts, &at.state, &blown.variant));
        for one in &mut all {
            let at = solution.as_ref().map(|solution| shown(facts, solution, between.as_ref(), &one.harm));
            one.shown.push(at);
        }
    }
    all
}

/// Whether a fault that blew a fuse blows the new fuse too in a setting, and not yet in one of those on the way to it.
pub(crate) fn blows_first(
    facts: &Facts,
    harm: &Harm,
    fuse: ElementId,
    setting: &SetState,
    driven: &[SetState],
) -> bool {
    let is_before = harm.blows_when(fuse).is_some_and(|at| driven[at].leads_to(setting));
    if is_before || !harm.blows_again(fuse) {
        return false;
    }
    let own = facts.solved.assembly.element(fuse);
    let is_open = |change: &&Change| matches!(change, Change::Open(branch) if own.contains(branch));
    let variant = harm.variant.changes().iter().filter(|change| !is_open(change)).copied().collect();
    let mut blown = harm.blown.clone();
    blown.retain(|one| *one != fuse);
    let with_new = Harm { variant, blown, ..harm.clone() };
    with_blown_fuses(facts, &with_new, std::slice::from_ref(setting)).blown.contains(&fuse)
}

/// The fuse that is overloaded most, if one is.
fn overloaded(facts: &Facts, harm: &Harm, at: &Solution) -> Option<ElementId> {
    let load = |id: &ElementId| match facts.model.element(*id).kind {
        ElementKind::Fuse { rating, .. } => facts.solved.assembly.amps(at, *id).abs() / rating,
        _ => 0.0,
    };
    let fuses = (0..facts.model.elements.len()).map(ElementId).filter(|id| !harm.blown.contains(id));
    fuses.max_by(|a, b| load(a).total_cmp(&load(b))).filter(|id| load(id) > BLOWS)
}

/// What shows in each setting; `None` where the circuit does not settle.
pub(crate) fn shown_in(facts: &Facts, settings: &[SetState], harm: &Harm) -> Vec<Option<ShownFault>> {
    let mut reached = Reached::new(facts.solved.solvers(), harm.variant.clone());
    let one = |setting: &SetState| {
        let solution = reached.at_last(&setting.moves)?;
        let between = solved_between(facts, &solution.state, &harm.variant);
        Some(shown(facts, &solution, between.as_ref(), harm))
    };
    settings.iter().map(one).collect()
}

/// What shows in a solved state, with a flasher on and between two flashes.
fn shown(facts: &Facts, solution: &Solution, between: Option<&Solution>, harm: &Harm) -> ShownFault {
    let wiring = facts.solved;
    let screens: Vec<(ScreenSeen, bool)> =
        (0..facts.model.screens.len()).map(|i| seen(facts, solution, ScreenId(i), harm)).collect();
    let flashing = flashing(facts, solution, between);
    let flashes = |load: &SignalId| match facts.model.signals[load.0].kind {
        SignalKind::Working { feed, ground, .. } => flashing.iter().any(|(pin, _)| *pin == feed || *pin == ground),
        _ => false,
    };
    let flashing_works = |at: &usize| facts.model.works[*at].loads.iter().any(flashes);
    ShownFault {
        flashing_works: (0..facts.model.works.len()).filter(flashing_works).collect(),
        screens: screens.iter().map(|(seen, _)| *seen).collect(),
        disturbed: screens.iter().map(|(_, disturbed)| *disturbed).collect(),
        volts: facts.model.pin_ids().map(|pin| wiring.assembly.mean(solution, pin)).collect(),
        flashing,
        works: facts.model.works.iter().map(|promise| works(facts, solution, promise, harm)).collect(),
        state: solution.state.clone(),
    }
}

/// The pins whose voltage comes and goes with a flasher.
fn flashing(facts: &Facts, solution: &Solution, between: Option<&Solution>) -> Vec<(PinId, Volts)> {
    let Some(between) = between else { return Vec::new() };
    let (assembly, nominal) = (&facts.solved.assembly, facts.model.job.nominal);
    let at = |pin: PinId| {
        let off = assembly.mean(between, pin);
        match MeterValue::voltage(assembly.mean(solution, pin), Some(off), nominal) {
            MeterValue::Flashing(volts) => Some((pin, volts)),
            _ => None,
        }
    };
    facts.model.pin_ids().filter_map(at).collect()
}

fn works(facts: &Facts, solution: &Solution, promise: &WorksPromise, harm: &Harm) -> WorksSeen {
    let assembly = &facts.solved.assembly;
    let volts = |signal: &SignalId| match facts.model.signals[signal.0].kind {
        SignalKind::Working { feed, ground, .. } => assembly.mean(solution, feed) - assembly.mean(solution, ground),
        _ => Volts::new(0.0),
    };
    if harm.dead.contains(&promise.part) {
        WorksSeen::Off
    } else if assembly.holds(solution, &promise.any_works) {
        WorksSeen::On
    } else if promise.loads.iter().any(|load| volts(load).abs() > facts.model.job.nominal * LAMP_BANDS[0]) {
        WorksSeen::Glows
    } else {
        WorksSeen::Off
    }
}

/// What a screen shows, with the faults of cameras, cables and inputs, and whether a shield may disturb it.
fn seen(facts: &Facts, solution: &Solution, screen: ScreenId, harm: &Harm) -> (ScreenSeen, bool) {
    let wiring = facts.solved;
    let has = |here: PictureHarm| harm.pictures.contains(&here);
    if has(PictureHarm::DeadScreen(facts.model.screens[screen.0].part)) {
        return (ScreenSeen::Nothing, false);
    }
    let reading = match with_dead_triggers(facts, solution, harm) {
        Some(changed) => read_screen(wiring, &changed, screen),
        None => read_screen(wiring, solution, screen),
    };
    let disturbed = is_disturbed(facts, solution, screen, &reading);
    if harm.pictures.is_empty() {
        return (ScreenSeen::of(&reading.picture), disturbed);
    }
    if let Some(picture) = exchanged(facts, solution, screen, &reading, harm) {
        return (ScreenSeen::of(&picture), disturbed);
    }
    let picture = picture_without(wiring, screen, reading, |input, one| {
        let is_cut = |wire| has(PictureHarm::CoreOpen(wire)) || has(PictureHarm::CoreShorted(wire));
        has(PictureHarm::NoPicture(one.source))
            || has(PictureHarm::DeadInput(input))
            || one.comes_through(wiring, input, is_cut)
    });
    match ScreenSeen::of(&picture) {
        ScreenSeen::Picture(source) if has(PictureHarm::Format(source)) => (ScreenSeen::Disturbed, true),
        ScreenSeen::Picture(source) if has(PictureHarm::Still(source)) => (ScreenSeen::Still(source), disturbed),
        other => (other, disturbed),
    }
}

/// What a screen shows where plugs of pictures are exchanged; `None` where they are not, or it picks no input.
fn exchanged(
    facts: &Facts,
    solution: &Solution,
    screen: ScreenId,
    reading: &ScreenReading,
    harm: &Harm,
) -> Option<Picture> {
    let screen = &facts.model.screens[screen.0];
    let input = screen.shows[reading.rule?].input;
    let paths = crossed::arrivals(facts, &solution.state, input, harm)?;
    Some(arriving(facts.model, screen.part, input, &crossed::sources(&paths)))
}

/// The solution as a screen takes it whose trigger inputs do not notice that they are on; `None` where all do.
fn with_dead_triggers(facts: &Facts, solution: &Solution, harm: &Harm) -> Option<Solution> {
    let dead = harm.pictures.iter().filter_map(|harm| match harm {
        PictureHarm::DeadTrigger(signal) => facts.solved.assembly.actor(*signal),
        _ => None,
    });
    let mut changed: Option<Solution> = None;
    for actor in dead {
        changed.get_or_insert_with(|| solution.clone()).state.memory.set_place(actor, [false, false]);
    }
    changed
}

/// More current than this in the shield of its cable can be seen in a picture as bars (typical, common practice, no
/// source).
const BARS: Amps = Amps::new(0.3);

/// Whether a shield on the way of a picture that a screen receives carries much current.
fn is_disturbed(facts: &Facts, solution: &Solution, screen: ScreenId, reading: &ScreenReading) -> bool {
    let carries_much =
        |wire: WireId| facts.solved.assembly.shield(wire).is_some_and(|shield| solution.amps(shield).abs() > BARS);
    let input = reading.rule.map(|rule| facts.model.screens[screen.0].shows[rule].input);
    input.is_some_and(|input| reading.arrivals.iter().any(|one| one.comes_through(facts.solved, input, carries_much)))
}

/// More than this beyond what the harness draws at rest empties a battery while the vehicle stands (common practice, no
/// source).
const DRAIN: Amps = Amps::new(0.05);

/// What the batteries may supply with everything at rest.
pub(crate) fn drain_limit(facts: &Facts) -> Amps {
    let at_rest = Reached::new(facts.solved.solvers(), Variant::NONE).at_last(&[]);
    at_rest.map(|at| supplied(facts, &at)).unwrap_or_default() + DRAIN
}

/// What all batteries supply.
fn supplied(facts: &Facts, solution: &Solution) -> Amps {
    let model = facts.model;
    let batteries = (0..model.elements.len())
        .map(ElementId)
        .filter(|id| matches!(model.element(*id).kind, ElementKind::Battery { .. }));
    let supplied = batteries.map(|id| facts.solved.assembly.amps(solution, id).abs());
    supplied.fold(Amps::default(), |sum, amps| sum + amps)
}
