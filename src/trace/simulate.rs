//! What a screen shows and a meter reads with a fault in place.

use super::fault::{Failure, FailureKind};
use super::seen::ScreenSeen;
use super::setting::SetState;
use circuit::{Change, Solution, Variant};
use facts::Facts;
use graph::Link;
use model::{ElementId, ElementKind, PinId, ScreenId};
use quantity::Volts;
use states::{ScreenReading, arriving, read_screen};

/// What shows in one setting.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    /// What each screen shows.
    pub screens: Vec<ScreenSeen>,
    /// What a meter reads at each pin; `None` for pictures, sound and data.
    pub volts: Vec<Option<Volts>>,
    /// Whether each part with a promise works, in the order of the model's promises.
    pub works: Vec<bool>,
    /// The fuses that are blown.
    pub blown: Vec<ElementId>,
}

/// What shows with each fault in each setting.
#[derive(Debug, Clone)]
pub(crate) struct Simulated {
    /// By place in the list of faults that was simulated, then by setting; `None` where the circuit does not settle.
    shown: Vec<Vec<Option<Shown>>>,
}

impl Simulated {
    /// Simulates some of the faults, given the effect of each of all faults.
    pub fn of(facts: &Facts, effects: &[Effect], which: &[usize], settings: &[SetState]) -> Simulated {
        let of_fault = |fault: &usize| settings.iter().map(|setting| shown(facts, setting, &effects[*fault])).collect();
        Simulated { shown: threads::each(which, of_fault) }
    }

    /// What shows with the fault at a place of the list, in a setting.
    pub fn at(&self, place: usize, setting: usize) -> Option<&Shown> {
        self.shown[place][setting].as_ref()
    }
}

/// A fuse opens for sure, in time, from this share of its rating on (ISO 8820-3: 135 %, from memory).
const BLOWS: f64 = 1.35;

/// What a fault does to the harness.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Effect {
    /// How the part or wire fails; `None` for a harness without a fault.
    pub kind: Option<FailureKind>,
    /// The fault in the circuit, with every fuse open that it blows.
    pub variant: Variant,
    /// These fuses.
    pub blown: Vec<ElementId>,
}

/// The effect of a fault. A fuse that it blows in one of the settings is blown in all.
pub(crate) fn effect(facts: &Facts, fault: &Failure, driven: &[SetState]) -> Effect {
    let (variant, blown) = with_blown_fuses(facts, fault, driven);
    Effect { kind: Some(fault.kind), variant, blown }
}

fn with_blown_fuses(facts: &Facts, fault: &Failure, driven: &[SetState]) -> (Variant, Vec<ElementId>) {
    let model = facts.model;
    let mut variant = fault.variant.clone();
    let mut blown: Vec<ElementId> = match fault.kind {
        FailureKind::FuseBlown(fuse) => vec![fuse],
        FailureKind::WireToGround(_) | FailureKind::DiodeShorted(_) | FailureKind::ContactStuckClosed(_) => Vec::new(),
        _ => return (variant, Vec::new()),
    };
    for setting in driven {
        // One fuse after the other: the first that opens may save the next.
        while let Some(solution) = setting.reached(facts, &variant) {
            let over = |id: &ElementId| match model.element(*id).kind {
                ElementKind::Fuse { rating, .. } => facts.solved.assembly.amps(&solution, *id).abs() / rating,
                _ => 0.0,
            };
            let fuses = (0..model.elements.len()).map(ElementId).filter(|id| !blown.contains(id));
            let Some(worst) = fuses.max_by(|a, b| over(a).total_cmp(&over(b))).filter(|id| over(id) > BLOWS) else {
                break;
            };
            blown.push(worst);
            let open = facts.solved.assembly.element(worst).iter().map(|branch| Change::Open(*branch));
            variant = open.fold(variant, Variant::and);
        }
    }
    (variant, blown)
}

/// What shows in a setting.
pub(crate) fn shown(facts: &Facts, setting: &SetState, effect: &Effect) -> Option<Shown> {
    let solution = setting.reached(facts, &effect.variant)?;
    let kind = effect.kind;
    let wiring = facts.solved;
    let screens = (0..facts.model.screens.len()).map(ScreenId);
    let screens = screens.map(|screen| seen(facts, &solution, screen, kind)).collect();
    let volts = |pin: PinId| wiring.assembly.pin(pin).map(|_| wiring.assembly.mean(&solution, pin));
    let works = facts.model.works.iter().map(|promise| {
        let is_dead = matches!(kind, Some(FailureKind::LoadDead(id)) if facts.model.element(id).part == promise.part);
        !is_dead && wiring.assembly.holds(&solution, &promise.any_works)
    });
    Some(Shown {
        screens,
        volts: facts.model.pin_ids().map(volts).collect(),
        works: works.collect(),
        blown: effect.blown.clone(),
    })
}

/// What a screen shows, with the fault of a camera, a cable or an input.
fn seen(facts: &Facts, solution: &Solution, screen: ScreenId, kind: Option<FailureKind>) -> ScreenSeen {
    let (model, wiring) = (facts.model, facts.solved);
    if kind == Some(FailureKind::ScreenDead(model.screens[screen.0].part)) {
        return ScreenSeen::Nothing;
    }
    let ScreenReading { picture, rule, arrivals, .. } = read_screen(wiring, solution, screen);
    let show = rule.map(|rule| model.screens[screen.0].shows[rule].input);
    let (Some(kind), Some(input)) = (kind, show) else { return ScreenSeen::of(&picture) };
    let is_cut = |way: usize| {
        wiring.pictures[&input][way].links.iter().any(|(_, link)| match (link, kind) {
            (Link::Wire(wire), FailureKind::PictureCoreOpen(cut)) => *wire == cut,
            _ => false,
        })
    };
    let arrives = |source, way| match kind {
        FailureKind::CameraDead(part) => source != part,
        FailureKind::ScreenInputDead(dead) => dead != input,
        FailureKind::PictureCoreOpen(_) => !is_cut(way),
        _ => true,
    };
    let left: Vec<_> = arrivals.iter().filter(|one| arrives(one.source, one.way)).cloned().collect();
    match left.len() == arrivals.len() {
        true => ScreenSeen::of(&picture),
        false => ScreenSeen::of(&arriving(model, model.screens[screen.0].part, input, &left)),
    }
}
