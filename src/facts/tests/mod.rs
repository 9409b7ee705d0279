//! Facts, compared with calculations by hand, with exhaustive searches, and with small circuits of known behaviour.

mod behaviour;
mod grounds;
#[path = "../../../tests/made_up/mod.rs"]
mod made_up;
mod pictures;
mod readings;
mod steps;
mod takers;
mod walks;
mod wiring;
mod worst;

use model::{Model, PinId};

/// A sized harness: battery and ground at the dash, and the rest of a spec's text.
fn harness(rest: &str) -> Model {
    let text = format!(
        "harness: 1\njob: {{title: Small, nominal: 12 V}}\nplaces: [dash]\n\
         supplies: {{battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}}}\n\
         grounds: {{GND: {{at: dash}}, G2: {{at: dash}}}}\n{rest}"
    );
    sample::of_text("small.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// A pin by its name, `K1.86`.
fn pin(model: &Model, name: &str) -> PinId {
    model.pin_ids().find(|pin| model.pin_name(*pin) == name).unwrap()
}

/// A lamp on a toggle behind a fuse: 5 W at 12 V, wires of 2 m.
const LAMP: &str = "inputs: {light: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  L1: {use: lamp-5w, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm², length: 2 m}
  - {id: 2, from: F1.2, to: SW1.common, gauge: 1 mm², length: 2 m}
  - {id: 3, from: SW1.on, to: L1.power, gauge: 1 mm², length: 2 m}
  - {id: 4, from: L1.ground, to: GND, gauge: 1 mm², length: 2 m}
";
