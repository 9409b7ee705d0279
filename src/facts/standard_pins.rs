//! Pins that a standard gives a purpose, such as pin 6 of an ISO 1724 socket (stop lamps), against the inputs that mean
//! the same: such a pin must be live while one of them is on, and only then.

use super::Explored;
use super::connectivity::Connectivity;
use super::moment::Moment;
use super::on_when_asked::{Asked, OnWhenAsked, compare};
use circuit::{Change, NEGATIVE, Solution, Variant};
use explore::About;
use model::{InputId, Meaning, Model, PinId};
use quantity::Ohms;
use states::Solved;

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
    /// Its purpose.
    pub means: Meaning,
    /// The inputs with that meaning; without any, the pin is not checked.
    pub inputs: Vec<InputId>,
    /// Whether it is live when it should be, and only then.
    pub live: OnWhenAsked,
}

/// Every pin with a standard purpose and a wire, in the order of the model; of mated pins only the first.
pub(super) fn standard_pins(solved: &Solved, connectivity: &Connectivity, explored: &Explored) -> Vec<StandardPin> {
    let model = solved.model;
    let used: Vec<(PinId, Meaning, Vec<InputId>)> =
        used(connectivity).map(|(pin, means)| (pin, means, inputs_that_mean(model, means))).collect();
    let asked: Vec<Asked> = used.iter().map(|(pin, _, inputs)| asked(solved, *pin, inputs)).collect();
    let found = compare(&solved.assembly.circuit, explored, &asked);
    drop(asked);
    used.into_iter().zip(found).map(|((pin, means, inputs), live)| StandardPin { pin, means, inputs, live }).collect()
}

fn used<'c>(connectivity: &'c Connectivity) -> impl Iterator<Item = (PinId, Meaning)> + 'c {
    let model = connectivity.model();
    let is_used = move |pin: PinId| model.pin(pin).means.is_some() && !connectivity.wires_on(pin).is_empty();
    let is_first = move |pin: PinId| !connectivity.mates(pin).iter().any(|mate| *mate < pin && is_used(*mate));
    let used = model.pin_ids().filter(move |pin| is_used(*pin) && is_first(*pin));
    used.filter_map(|pin| model.pin(pin).means.map(|means| (pin, means)))
}

fn inputs_that_mean(model: &Model, means: Meaning) -> Vec<InputId> {
    let inputs = model.inputs.iter().enumerate().filter(|(_, input)| input.means == Some(means));
    inputs.map(|(i, _)| InputId(i)).collect()
}

/// The question whether a pin is live just while one of its inputs is on. A pin without inputs is not checked.
fn asked<'a>(solved: &'a Solved, pin: PinId, inputs: &'a [InputId]) -> Asked<'a> {
    if inputs.is_empty() {
        return Asked { about: About::default(), wanted: Box::new(|_| false), is_on: Box::new(|_| (false, false)) };
    }
    let assembly = &solved.assembly;
    let mut about = About::default();
    about.inputs.extend(inputs.iter().map(|input| assembly.input(*input)));
    solved.about_pins([pin], &mut about);
    let live_from = solved.model.job.nominal * LIVE_FROM_SHARE;
    let has_voltage = move |solution: &Solution| assembly.volts(solution, pin) >= live_from;
    let is_on = move |solution: &Solution| {
        let lit = || with_test_lamp(solved, solution, pin).is_none_or(|lit| has_voltage(&lit));
        let is_live = has_voltage(solution) && lit();
        (is_live, is_live)
    };
    let is_asked =
        move |solution: &Solution| inputs.iter().any(|input| solution.state.positions.of(assembly.input(*input)) != 0);
    Asked { about, wanted: Box::new(is_asked), is_on: Box::new(is_on) }
}

/// The same state with a test lamp from the pin to the battery's negative; `None` if it can't be solved.
fn with_test_lamp(solved: &Solved, solution: &Solution, pin: PinId) -> Option<Solution> {
    let node = solved.assembly.pin(pin)?;
    let lamp = Variant::NONE.and(Change::Between(node, NEGATIVE, TEST_LAMP));
    Moment::of(solution).solve_variant(solved, &lamp)
}
