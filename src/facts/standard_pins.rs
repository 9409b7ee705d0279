//! Pins that a standard gives a purpose, such as pin 6 of an ISO 1724 socket (stop lamps), against the inputs that mean
//! the same: such a pin must be live while one of them is on, and only then. Where no input means the same, a pin of a trailer
//! socket may be live only through an input that has no meaning, since that may be the one.

use super::Explored;
use super::connectivity::Connectivity;
use super::moment::Moment;
use super::on_when_asked::{Asked, OnWhenAsked, compare};
use circuit::{Change, NEGATIVE, Solution, Variant};
use explore::About;
use model::{Domain, Family, Input, InputId, Meaning, Model, PinId};
use quantity::Ohms;
use spec::InputKind;
use states::Solved;
use std::cell::Cell;

/// A pin counts as live from this share of the nominal voltage (common practice, no source).
const LIVE_FROM_SHARE: f64 = 0.5;

/// It must hold that with this resistance to ground, a small test lamp of 10 mA at 10 V; leakage through an output that is
/// off doesn't (common practice, no source).
const TEST_LAMP: Ohms = Ohms::new(1000.0);

/// A pin with a standard purpose and a wire.
#[derive(Debug)]
pub struct StandardPin {
    /// The pin.
    pub pin: PinId,
    /// The signal that it carries; `None` of a pin for a supply, or for a signal of the trailer.
    pub means: Option<Meaning>,
    /// The inputs with that meaning.
    pub inputs: Vec<InputId>,
    /// Whether it is live when it should be, and only then.
    pub live: OnWhenAsked,
}

/// Every pin with a standard purpose and a wire, in the order of the model; of mated pins only the first. Then the supply pins of
/// trailer sockets that a signal of the vehicle feeds.
pub(super) fn standard_pins(solved: &Solved, connectivity: &Connectivity, explored: &Explored) -> Vec<StandardPin> {
    let model = solved.model;
    let used: Vec<(PinId, Meaning, Vec<InputId>)> = used(connectivity, |pin| model.pin(pin).means.is_some())
        .into_iter()
        .filter_map(|pin| Some((pin, model.pin(pin).means?)))
        .map(|(pin, means)| (pin, means, inputs_that_mean(model, means)))
        .collect();
    let asked: Vec<Asked> = used.iter().map(|(pin, _, inputs)| asked(solved, *pin, inputs)).collect();
    let found = compare(&solved.assembly.circuit, explored, &asked);
    drop(asked);
    let with_meaning = used.into_iter().zip(found);
    let with_meaning =
        with_meaning.map(|((pin, means, inputs), live)| StandardPin { pin, means: Some(means), inputs, live });
    with_meaning.chain(on_signals(solved, connectivity, explored)).collect()
}

/// The pins of trailer sockets for a supply that are live only while a signal of the vehicle is on, and those for a signal of the
/// trailer that are live at all.
fn on_signals(solved: &Solved, connectivity: &Connectivity, explored: &Explored) -> Vec<StandardPin> {
    let model = solved.model;
    let part = |pin: PinId| model.part(model.pin(pin).part);
    let is_of_supply = |pin: PinId| {
        part(pin).form.family == Family::TrailerSocket
            && part(pin).pins.iter().any(|pin| model.pin(*pin).means.is_some())
            && model.pin(pin).means.is_none()
            && model.pin(pin).domain != Domain::Ground
    };
    let pins = used(connectivity, is_of_supply);
    let live_at_rest: Vec<Cell<bool>> = pins.iter().map(|_| Cell::new(false)).collect();
    let signals: Vec<InputId> = signals(model).collect();
    let assembly = &solved.assembly;
    let asked = pins.iter().zip(&live_at_rest).map(|(pin, live_at_rest)| {
        let mut about = About::default();
        about.inputs.extend(signals.iter().map(|input| assembly.input(*input)));
        solved.about_pins([*pin], &mut about);
        let (is_supply, signals) = (model.pin(*pin).domain == Domain::Power, &signals);
        let is_on = move |solution: &Solution| {
            let is_live = is_live(solved, solution, *pin);
            let is_at_rest = signals.iter().all(|input| solution.position(assembly.input(*input)) == 0);
            live_at_rest.set(live_at_rest.get() || is_live && is_at_rest && is_supply);
            (is_live, is_live)
        };
        Asked { about, wanted: Box::new(|_| false), is_on: Box::new(is_on) }
    });
    let asked: Vec<Asked> = asked.collect();
    let found = compare(&assembly.circuit, explored, &asked);
    drop(asked);
    let wrong =
        pins.into_iter().zip(found).zip(live_at_rest).filter(|((_, live), at_rest)| live.is_wrong() && !at_rest.get());
    wrong.map(|((pin, live), _)| StandardPin { pin, means: None, inputs: Vec::new(), live }).collect()
}

/// The inputs that say something about the vehicle: not its supplies, and not what the driver switches.
fn signals(model: &Model) -> impl Iterator<Item = InputId> {
    let is_signal = |input: &Input| match input.kind {
        Some(InputKind::Toggle | InputKind::Push | InputKind::SwitchedFeed) | None => input.means.is_some(),
        Some(_) => true,
    };
    let inputs = model.inputs.iter().enumerate();
    inputs.filter(move |(_, input)| is_signal(input)).map(|(i, _)| InputId(i))
}

/// The pins of one kind with a wire; of mated pins only the first.
fn used(connectivity: &Connectivity, is_of_kind: impl Fn(PinId) -> bool) -> Vec<PinId> {
    let is_used = |pin: PinId| is_of_kind(pin) && !connectivity.wires_on(pin).is_empty();
    let is_first = |pin: PinId| !connectivity.mates(pin).iter().any(|mate| *mate < pin && is_used(*mate));
    connectivity.model().pin_ids().filter(|pin| is_used(*pin) && is_first(*pin)).collect()
}

fn inputs_that_mean(model: &Model, means: Meaning) -> Vec<InputId> {
    let inputs = model.inputs.iter().enumerate().filter(|(_, input)| input.means == Some(means));
    inputs.map(|(i, _)| InputId(i)).collect()
}

/// The inputs with a wire or a switch, but without a meaning: each of them may mean what no other input does.
pub fn may_mean_anything(model: &Model) -> impl Iterator<Item = InputId> {
    let inputs = model.inputs.iter().enumerate();
    inputs.filter(|(_, input)| input.means.is_none() && input.kind.is_some()).map(|(i, _)| InputId(i))
}

/// The question whether a pin is live just while one of its inputs is on. Without inputs, it is wrong only if it is live with every
/// input at rest that may mean anything; only pins of a trailer socket are asked then.
fn asked<'a>(solved: &'a Solved, pin: PinId, inputs: &'a [InputId]) -> Asked<'a> {
    let is_socket = solved.model.part(solved.model.pin(pin).part).form.family == Family::TrailerSocket;
    if inputs.is_empty() && !is_socket {
        return Asked { about: About::default(), wanted: Box::new(|_| false), is_on: Box::new(|_| (false, false)) };
    }
    let assembly = &solved.assembly;
    let unknown: Vec<InputId> = if inputs.is_empty() { may_mean_anything(solved.model).collect() } else { Vec::new() };
    let mut about = About::default();
    about.inputs.extend(inputs.iter().chain(&unknown).map(|input| assembly.input(*input)));
    solved.about_pins([pin], &mut about);
    let is_moved = move |solution: &Solution, input: &InputId| solution.position(assembly.input(*input)) != 0;
    let is_on = move |solution: &Solution| {
        if unknown.iter().any(|input| is_moved(solution, input)) {
            return (false, false);
        }
        let is_live = is_live(solved, solution, pin);
        (is_live, is_live)
    };
    let is_asked = move |solution: &Solution| inputs.iter().any(|input| is_moved(solution, input));
    Asked { about, wanted: Box::new(is_asked), is_on: Box::new(is_on) }
}

/// Whether a pin is live: it has voltage, and keeps it with a test lamp.
fn is_live(solved: &Solved, solution: &Solution, pin: PinId) -> bool {
    let live_from = solved.model.job.nominal * LIVE_FROM_SHARE;
    let has_voltage = |solution: &Solution| solved.assembly.volts(solution, pin) >= live_from;
    has_voltage(solution) && with_test_lamp(solved, solution, pin).is_none_or(|lit| has_voltage(&lit))
}

/// The same state with a test lamp from the pin to the battery's negative; `None` if it can't be solved.
fn with_test_lamp(solved: &Solved, solution: &Solution, pin: PinId) -> Option<Solution> {
    let node = solved.assembly.pin(pin)?;
    let lamp = Variant::NONE.and(Change::Between(node, NEGATIVE, TEST_LAMP));
    Moment::of(solution).solve_variant(solved, &lamp)
}
