//! What a screen shows and a meter reads with a fault in place.

use super::fault::{Harm, PictureHarm};
use super::seen::ScreenSeen;
use super::setting::SetState;
use circuit::{Change, Solution, State, Variant};
use facts::Facts;
use model::{ElementId, ElementKind, ScreenId};
use quantity::Volts;
use states::{Reached, picture_without, read_screen};

/// What shows in one setting.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ShownFault {
    /// What each screen shows.
    pub screens: Vec<ScreenSeen>,
    /// The mean voltage of each pin against the battery's negative; zero for pictures, sound and data.
    pub volts: Vec<Volts>,
    /// Whether each part with a promise works, in the order of the model's promises.
    pub works: Vec<bool>,
    /// The state that the harness is in.
    pub state: State,
}

/// A fuse opens for sure, in time, from this share of its rating on (ISO 8820-3: 135 %, from memory).
const BLOWS: f64 = 1.35;

/// A fault with every fuse that it blows in one of the settings. A blown fuse is blown in all.
pub(crate) fn with_blown_fuses(facts: &Facts, harm: &Harm, driven: &[SetState]) -> Harm {
    let mut harm = harm.clone();
    if !harm.shorts {
        return harm;
    }
    for setting in driven {
        // One fuse after the other: the first that opens may save the next.
        while let Some(fuse) = setting.reached(facts, &harm.variant).and_then(|at| overloaded(facts, &harm, &at)) {
            harm.blown.push(fuse);
            let open = facts.solved.assembly.element(fuse).iter().map(|branch| Change::Open(*branch));
            harm.variant = open.fold(harm.variant, Variant::and);
        }
    }
    harm
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
    settings.iter().map(|setting| Some(shown(facts, &reached.at_last(&setting.moves)?, harm))).collect()
}

/// What shows in a solved state.
fn shown(facts: &Facts, solution: &Solution, harm: &Harm) -> ShownFault {
    let wiring = facts.solved;
    let works = facts
        .model
        .works
        .iter()
        .map(|promise| !harm.dead.contains(&promise.part) && wiring.assembly.holds(solution, &promise.any_works));
    ShownFault {
        screens: (0..facts.model.screens.len()).map(|i| seen(facts, solution, ScreenId(i), harm)).collect(),
        volts: facts.model.pin_ids().map(|pin| wiring.assembly.mean(solution, pin)).collect(),
        works: works.collect(),
        state: solution.state.clone(),
    }
}

/// What a screen shows, with the faults of cameras, cables and inputs.
fn seen(facts: &Facts, solution: &Solution, screen: ScreenId, harm: &Harm) -> ScreenSeen {
    let wiring = facts.solved;
    let has = |here: PictureHarm| harm.pictures.contains(&here);
    if has(PictureHarm::DeadScreen(facts.model.screens[screen.0].part)) {
        return ScreenSeen::Nothing;
    }
    let reading = read_screen(wiring, solution, screen);
    if harm.pictures.is_empty() {
        return ScreenSeen::of(&reading.picture);
    }
    let picture = picture_without(wiring, screen, reading, |input, one| {
        let is_cut = |wire| has(PictureHarm::CoreOpen(wire)) || has(PictureHarm::CoreShorted(wire));
        has(PictureHarm::NoPicture(one.source))
            || has(PictureHarm::DeadInput(input))
            || one.comes_through(wiring, input, is_cut)
    });
    match ScreenSeen::of(&picture) {
        ScreenSeen::Picture(source) if has(PictureHarm::Still(source)) => ScreenSeen::Still(source),
        other => other,
    }
}
