//! Readings of a voltage at the bench: between which pins, what to expect and what passes.

use crate::bench::limit::Limit;
use crate::bench::steps::{BenchProbe, BenchStep};
use crate::bench::tolerance;
use crate::lists::connections::tip;
use crate::meter::Metered;
use circuit::Solution;
use facts::bench::{BenchState, nominal_supply};
use model::{PartKind, PinId};
use quantity::Volts;
use states::Wiring;

/// For each pin of the harness that a wire of it ends at: the pin, and a ground ring, where the minus of the bench
/// supply is.
pub fn tips_at_pins(wiring: &Wiring) -> Vec<[PinId; 2]> {
    let model = wiring.model;
    let minus = model.parts.iter().find(|part| part.kind == PartKind::Ground).and_then(|part| part.pins.first());
    let Some(minus) = minus else { return Vec::new() };
    let is_built = |pin: &PinId| model.wires_on(*pin).any(|wire| !model.wire(wire).existing);
    let can_be_reached = |pin: &PinId| {
        matches!(model.part(model.pin(*pin).part).kind, PartKind::Connector | PartKind::Device)
            && wiring.assembly.pin(*pin).is_some()
    };
    model.pin_ids().filter(is_built).filter(can_be_reached).map(|pin| [pin, *minus]).collect()
}

/// The voltage from the red tip to the black one.
pub fn between(wiring: &Wiring, solution: &Solution, [red, black]: [PinId; 2]) -> Volts {
    wiring.assembly.mean(solution, red) - wiring.assembly.mean(solution, black)
}

/// What passes, in words and as a limit.
pub fn band(wiring: &Wiring, there: &BenchState, tips: [PinId; 2]) -> (String, Limit) {
    let solutions = std::iter::once(&there.solution).chain(&there.others);
    tolerance::volts(solutions.map(|solution| between(wiring, solution, tips)), nominal_supply(wiring.model))
}

/// The reading at a pin that no function of a part names.
pub fn at_pin(wiring: &Wiring, there: &BenchState, tips: [PinId; 2]) -> BenchStep {
    let part = wiring.model.part(wiring.model.pin(tips[0]).part);
    let what = format!("Voltage at {} ({})", part.name, part.title);
    step(wiring, there, what, tips, band(wiring, there, tips))
}

/// The step.
pub fn step(
    wiring: &Wiring,
    there: &BenchState,
    what: String,
    tips: [PinId; 2],
    (pass, limit): (String, Limit),
) -> BenchStep {
    let [red, black] = tips;
    BenchStep {
        what,
        red: tip(wiring.model, red),
        black: tip(wiring.model, black),
        expect: Metered::new(between(wiring, &there.solution, tips)).to_string(),
        pass,
        limit,
        probe: BenchProbe::Volts { red, black, heard: None },
    }
}
