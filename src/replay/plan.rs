//! The parts of a harness that take time, looked up once: coils, timers, parts that start up, screens.

use super::time::Time;
use catalogue::part_form::OnLoss;
use circuit::{ActorId, ActorRule, Logic};
use graph::Link;
use model::{ElementKind, Model, PartId, PinId, SignalId, SignalKind};
use quantity::{Seconds, Share};
use states::Wiring;
use std::collections::BTreeMap;

/// The parts of a harness that take time.
#[derive(Debug, Clone)]
pub struct Plan {
    /// By actor of the circuit.
    pub(super) actors: Vec<ActorPlan>,
    /// Parts that are off, starting or up: those with a supply that take time to start, send or show pictures, or have a
    /// promise that they work.
    pub starters: Vec<Starter>,
    pub(super) screens: Vec<ScreenPlan>,
    /// By promise that a part works.
    pub(super) works: Vec<WorksPlan>,
}

/// A promise that a part works.
#[derive(Debug, Clone)]
pub(super) struct WorksPlan {
    /// When it should work.
    pub asked: Logic,
    /// When it has all that it needs.
    pub works: Logic,
    /// The part, where it takes time to start up.
    pub starter: Option<usize>,
}

#[derive(Debug, Clone)]
pub(super) struct ActorPlan {
    pub kind: ActorKind,
    /// The part whose start-up it waits for.
    pub starter: Option<usize>,
}

/// How an actor moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum ActorKind {
    /// By a coil's voltage, once that voltage has lasted for the operate or release time.
    Coil {
        operate: Time,
        release: Time,
    },
    /// By a voltage, at once.
    Threshold,
    /// At once, by conditions.
    Latch,
    /// At once, by each start of its condition that comes at least this long after the one before has ended.
    Toggle {
        debounce: Time,
    },
    Hold(Timer),
    Delay(Timer),
    Pulse(Timer),
}

/// A timer's time as set, and its tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Timer {
    pub signal: SignalId,
    pub set: Seconds,
    pub tolerance: Share,
}

impl ActorKind {
    /// The timer that it is.
    pub fn timer(self) -> Option<Timer> {
        match self {
            ActorKind::Hold(timer) | ActorKind::Delay(timer) | ActorKind::Pulse(timer) => Some(timer),
            _ => None,
        }
    }
}

/// A part that is off, starting or up.
#[derive(Debug, Clone)]
pub struct Starter {
    /// The part.
    pub part: PartId,
    /// From power to picture or function.
    pub(super) start_up: Time,
    /// It has power while this holds.
    pub(super) powered: Logic,
}

#[derive(Debug, Clone)]
pub(super) struct ScreenPlan {
    pub part: PartId,
    pub switch_over: Time,
    pub on_loss: OnLoss,
    pub starter: Option<usize>,
    /// For each video path to each of its video pins: the parts on it that must be up.
    pub ways: BTreeMap<PinId, Vec<Vec<usize>>>,
    /// When each line of the intent applies.
    pub views: Vec<Logic>,
}

impl Plan {
    /// Whether an actor of the circuit, by its place there, is a relay, a latch or a timer: all but trigger inputs and
    /// supplies that only follow their voltage.
    pub fn has_time_or_memory(&self, actor: usize) -> bool {
        self.actors[actor].kind != ActorKind::Threshold
    }
}

/// Looks up what takes time.
pub fn plan(wiring: &Wiring) -> Plan {
    let starters = starters(wiring);
    let at = |part: PartId| starters.iter().position(|s| s.part == part);
    let model = wiring.model;
    let mut actors: Vec<ActorPlan> = (wiring.assembly.circuit.actors.iter())
        .map(|actor| {
            let kind = match actor.rule {
                ActorRule::Latch { .. } => ActorKind::Latch,
                ActorRule::Toggle { .. } => ActorKind::Toggle { debounce: Time::ZERO },
                _ => ActorKind::Threshold,
            };
            ActorPlan { kind, starter: None }
        })
        .collect();
    for (i, element) in model.elements.iter().enumerate() {
        let ElementKind::Coil(coil) = &element.kind else { continue };
        if let Some(ActorId(actor)) = wiring.assembly.coil(model::ElementId(i)) {
            let (operate, release) = (Time::of(coil.operate), Time::of(coil.release));
            actors[actor as usize].kind = ActorKind::Coil { operate, release };
        }
    }
    for (i, signal) in model.signals.iter().enumerate() {
        let id = SignalId(i);
        let (SignalKind::Timer { time, tolerance, debounce, .. }, Some(actor)) =
            (&signal.kind, wiring.assembly.actor(id))
        else {
            continue;
        };
        let timer = Timer { signal: id, set: *time, tolerance: *tolerance };
        let plan = &mut actors[actor.index()];
        plan.kind = match wiring.assembly.circuit.actors[actor.index()].rule {
            ActorRule::Hold { .. } => ActorKind::Hold(timer),
            ActorRule::Delay { .. } => ActorKind::Delay(timer),
            ActorRule::Pulse { .. } => ActorKind::Pulse(timer),
            ActorRule::Toggle { .. } => ActorKind::Toggle { debounce: Time::of(*debounce) },
            _ => plan.kind,
        };
        plan.starter = at(signal.part).filter(|s| starters[*s].start_up > Time::ZERO);
    }
    let screens = model.screens.iter().map(|screen| {
        let ways = |pin: PinId| {
            let paths = &wiring.pictures[&pin];
            paths.iter().map(|path| parts_on(model, path).into_iter().filter_map(at).collect()).collect()
        };
        ScreenPlan {
            part: screen.part,
            switch_over: Time::of(screen.switch_over),
            on_loss: screen.on_loss,
            starter: at(screen.part),
            ways: screen.shows.iter().map(|show| (show.input, ways(show.input))).collect(),
            views: screen.views.iter().map(|view| wiring.assembly.logic(&view.when)).collect(),
        }
    });
    let works = model.works.iter().map(|promise| WorksPlan {
        asked: wiring.assembly.logic(&promise.when),
        works: wiring.assembly.logic(&promise.all_work),
        starter: at(promise.part),
    });
    Plan { screens: screens.collect(), works: works.collect(), actors, starters }
}

/// The parts that a picture comes from and passes through.
fn parts_on(model: &Model, path: &graph::PicturePath) -> Vec<PartId> {
    let mut parts = vec![path.source];
    parts.extend(path.links.iter().filter_map(|(_, link)| match link {
        Link::Through(id, _) => Some(model.element(*id).part),
        _ => None,
    }));
    parts.sort();
    parts.dedup();
    parts
}

fn starters(wiring: &Wiring) -> Vec<Starter> {
    let model = wiring.model;
    let sends = |part: PartId| {
        model.part(part).elements.iter().any(|id| matches!(model.element(*id).kind, ElementKind::Source { .. }))
    };
    let shows = |part: PartId| model.screens.iter().any(|screen| screen.part == part);
    let promised = |part: PartId| model.works.iter().any(|promise| promise.part == part);
    let mut all = vec![];
    for part in model.part_ids() {
        let working: Vec<Logic> = (model.signals.iter().enumerate())
            .filter(|(_, signal)| signal.part == part && matches!(signal.kind, SignalKind::Working { .. }))
            .map(|(i, _)| wiring.assembly.signal(SignalId(i)).clone())
            .collect();
        let start_up = Time::of(model.part(part).start_up);
        if !working.is_empty() && (start_up > Time::ZERO || sends(part) || shows(part) || promised(part)) {
            all.push(Starter { part, start_up, powered: Logic::All(working) });
        }
    }
    all
}
