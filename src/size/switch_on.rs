//! The current at switch-on, and the share of a fuse's I²t that it uses.

use catalogue::part_form::LoadKind;
use circuit::{Assembly, Solution, State};
use model::{ElementId, ElementKind, InputId, Model};
use quantity::{Amps, Seconds};

/// How long a cold filament takes more current than a hot one (typical of 21 W, no source).
pub const LAMP_RUSH: Seconds = Seconds::new(0.025);
/// How long a motor takes to run up (typical of small motors, no source).
pub const MOTOR_RUSH: Seconds = Seconds::new(0.3);
/// How long the capacitors of electronics take to charge (typical, no source).
pub const ELECTRONICS_RUSH: Seconds = Seconds::new(0.005);

/// What a load, a coil or a converter takes in a solved state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intake {
    /// Its current in the state.
    pub amps: Amps,
    /// The highest current while it is switched on, in proportion to its voltage. A converter takes no more than the
    /// load at its limit makes it take, whatever its output feeds.
    pub inrush: Amps,
}

/// What an element takes; `None` for anything but a load, a coil or a converter.
pub fn intake(model: &Model, assembly: &Assembly, solution: &Solution, id: ElementId) -> Option<Intake> {
    let own = || assembly.amps(solution, id).abs();
    let (amps, inrush) = match &model.element(id).kind {
        ElementKind::Load(load) => {
            let across = (assembly.volts(solution, load.feed) - assembly.volts(solution, load.ground)).abs();
            (own(), (load.inrush * (across / load.nominal)).max(own()))
        }
        ElementKind::Coil(_) => (own(), own()),
        ElementKind::Converter { input, ground, volts, least, efficiency, limit, idle, .. } => {
            let across = assembly.volts(solution, *input) - assembly.volts(solution, *ground);
            let full = (*volts * *limit) / efficiency.value() / across.max(*least) + *idle;
            let drawn = assembly.element(id).get(1).map_or(Amps::default(), |input| solution.amps(*input).abs());
            (drawn, full.max(drawn))
        }
        _ => return None,
    };
    Some(Intake { amps, inrush })
}

/// A load or a converter while it is switched on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rush {
    /// Its current while the inrush lasts, and after it.
    pub amps: [Amps; 2],
    /// How long the inrush lasts.
    pub lasts: Seconds,
}

impl Rush {
    /// An element that takes `intake`: with its inrush if it comes on, else with what it draws. `None` for anything but a
    /// load or a converter.
    pub fn of(model: &Model, id: ElementId, intake: Intake, comes_on: bool) -> Option<Rush> {
        let (draws, lasts) = match &model.element(id).kind {
            ElementKind::Load(load) => match load.kind {
                LoadKind::Lamp => (load.draws, LAMP_RUSH),
                LoadKind::Motor => (load.draws, MOTOR_RUSH),
                _ => (load.draws, ELECTRONICS_RUSH),
            },
            ElementKind::Converter { .. } => (intake.amps, ELECTRONICS_RUSH),
            _ => return None,
        };
        Some(Rush { amps: [if comes_on { intake.inrush } else { draws }, draws], lasts })
    }
}

/// The share of a fuse's I²t that inrush uses: for each interval of constant current, its length divided by the shortest
/// opening time at that current, summed up.
pub fn used_i2t(loads: &[Rush], soonest: impl Fn(Amps) -> Option<Seconds>) -> f64 {
    let mut ends: Vec<Seconds> = loads.iter().map(|load| load.lasts).collect();
    ends.sort_by(|a, b| a.value().total_cmp(&b.value()));
    ends.dedup();
    let mut used = 0.0;
    let mut start = Seconds::new(0.0);
    for end in ends {
        let amps = loads.iter().map(|load| load.amps[usize::from(load.lasts < end)]).sum::<Amps>();
        used += soonest(amps).map_or(0.0, |opens| (end - start) / opens);
        start = end;
    }
    used
}

/// An element that draws less than this share of its current counts as off (common practice, no source).
const OFF_SHARE: f64 = 0.5;

/// The elements that come on together, among those that take these currents in a state: nobody switches everything on in
/// one instant, so for each input that is away from rest those that come on when it is moved there last; all of them where
/// no input is. `before` gives the currents in another state, and `None` where it can't be solved.
pub fn coming_on(
    model: &Model,
    assembly: &Assembly,
    state: &State,
    taken: &[(ElementId, Amps)],
    before: impl Fn(State) -> Option<Vec<(ElementId, Amps)>>,
) -> Vec<Vec<ElementId>> {
    if state.positions.away() == 0 {
        return vec![taken.iter().map(|(id, _)| *id).collect()];
    }
    let inputs = (0..model.inputs.len()).map(|i| assembly.input(InputId(i)));
    let moved = inputs.filter(|input| state.positions.of(*input) != 0).filter_map(|input| {
        let positions = state.positions.moved(&assembly.circuit, input, 0)?;
        let before = before(State { positions, memory: state.memory.clone() })?;
        let was_on = |id: ElementId, amps: Amps| {
            let other = before.iter().find(|(other, _)| *other == id);
            other.is_some_and(|(_, before)| before.value() > OFF_SHARE * amps.value())
        };
        Some(taken.iter().filter(|(id, amps)| !was_on(*id, *amps)).map(|(id, _)| *id).collect())
    });
    moved.collect()
}

/// No more than a converter before the fuse gives.
pub fn capped(amps: Amps, limit: Option<Amps>) -> Amps {
    limit.map_or(amps, |limit| if amps > limit { limit } else { amps })
}
