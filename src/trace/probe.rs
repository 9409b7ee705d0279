//! Steps and answers in words.

use super::cable::CableSeen;
use super::dictionary::{Dictionary, UNSETTLED, picture_of_code};
use super::extra::Extra;
use super::measure::{BANDS, HIGH_OHMS, LampSeen, Measure, MeterValue};
use super::observable::{Observable, needs_state, splices};
use super::seen::{UNSTEADY, WorksSeen};
use super::setting::SetState;
use circuit::InputId;
use explore::Move;
use model::{ElementKind, Input, Model, PinId};
use quantity::{Amps, Volts};
use serde::Serialize;

/// Below this share of the nominal voltage an answer is written as 0 V.
const NO_VOLTAGE: f64 = 0.005;

/// A pin to probe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ProbePin {
    /// The pin.
    pub pin: String,
    /// Where it is.
    pub place: String,
    /// The wires on it, with their colours.
    pub wires: Vec<String>,
    /// Whether the part can be fitted the other way round: the wire says where to probe, not the pin.
    pub by_wire: bool,
}

/// Where to look or probe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Probe {
    /// Look at a screen.
    Screen(String),
    /// See or hear whether a lamp, a buzzer or another part works.
    Part(String),
    /// Look whether a fuse is whole.
    Fuse(String),
    /// Put a new fuse in place of a blown one, set the states one after the other, and see whether it holds.
    NewFuse {
        /// The fuse.
        fuse: String,
        /// Its rating, as drawn.
        rating: String,
        /// The states in which a suspect would blow it, in the order to set them.
        states: Vec<String>,
    },
    /// Put the plug of a picture that is right into an input of its screen.
    Input(String),
    /// Compare the wires in the cavities of a connector with its face drawing.
    Plug(String),
    /// Measure the current from the batteries with everything at rest, against this limit.
    Battery(String),
    /// Measure an unplugged picture cable from end to end.
    Cable(String),
    /// Mend what is most probable, set the state of the complaint, and see whether it works now.
    Mend {
        /// What to do: `mend wire 12`.
        action: String,
        /// The state in which it was wrong.
        state: String,
    },
    /// Move the wires at a place and watch what failed.
    Wiggle(String),
    /// Measure between a pin and the battery's negative.
    Pin(ProbePin),
    /// The same with its connector or part unplugged.
    Unplugged(ProbePin),
    /// A test lamp between a pin and the battery's negative.
    Lamp(ProbePin),
    /// Measure between two pins, live.
    Drop(ProbePin, ProbePin),
    /// Measure the resistance between two pins, with the battery disconnected.
    Ohms(ProbePin, ProbePin),
    /// Measure the resistance between a pin and the battery's negative, with the battery disconnected.
    ToGround(ProbePin),
    /// The same with its connector or part unplugged.
    Apart(ProbePin),
    /// Measure the current in a wire.
    Amps(String),
    /// Take a wire off at both ends and measure it.
    Wire(String),
}

/// A step, and what each answer means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextStep {
    /// The state to set: `key run, reverse`; empty where it does not matter.
    pub state: String,
    /// Where to look or probe.
    pub probe: Probe,
    /// What an answer begins with: `dash`, `K1.86`, `wire 12`. The reading follows it.
    pub ask: String,
    /// Whether it was answered before: another answer now shows that one of them was a slip.
    pub again: bool,
    /// Minutes that it takes.
    pub minutes: f64,
    /// What to mind before it.
    pub cautions: Vec<String>,
    /// The answers, the most probable first.
    pub answers: Vec<Answer>,
}

/// An answer and what it means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The answer in words: `black`, `12.1 V to 12.4 V`.
    pub shows: String,
    /// Its probability.
    pub probability: f64,
    /// The suspects that remain then, the most probable first; a few of them.
    pub suspects: Vec<String>,
    /// How many more remain.
    pub more: usize,
}

impl Answer {
    /// Suspects named for an answer.
    pub(crate) const NAMED: usize = 4;
}

/// Words for looks and codes.
pub(crate) struct Words<'m> {
    pub model: &'m Model,
    /// What the batteries may supply with everything at rest.
    pub drain_limit: Amps,
}

impl Words<'_> {
    pub fn probe(&self, look: Observable) -> Probe {
        let model = self.model;
        match look {
            Observable::Works(promise) => Probe::Part(model.part(model.works[promise].part).name.to_string()),
            Observable::Fuse(fuse) => Probe::Fuse(model.part(model.element(fuse).part).name.to_string()),
            Observable::NewFuse(fuse) => Probe::NewFuse {
                fuse: model.part(model.element(fuse).part).name.to_string(),
                rating: match model.element(fuse).kind {
                    ElementKind::Fuse { rating, .. } => rating.to_string(),
                    _ => String::new(),
                },
                states: Vec::new(),
            },
            Observable::Input(pin) => Probe::Input(model.pin_name(pin)),
            Observable::Plug(part) => Probe::Plug(model.part(part).name.to_string()),
            Observable::Drain => Probe::Battery(self.drain_limit.to_string()),
            Observable::Screen(screen) => Probe::Screen(model.screens[screen.0].name.to_string()),
            Observable::Cable(wire) => Probe::Cable(model.wire(wire).id.to_string()),
            Observable::Mended(mending) => Probe::Mend { action: mending.action(model), state: String::new() },
            Observable::Wiggle(place) => Probe::Wiggle(model.place_name(Some(place)).to_string()),
            Observable::Meter(Measure::Volts(pin)) => Probe::Pin(self.pin(pin)),
            Observable::Meter(Measure::Unplugged(pin)) => Probe::Unplugged(self.pin(pin)),
            Observable::Meter(Measure::Lamp(pin)) => Probe::Lamp(self.pin(pin)),
            Observable::Meter(Measure::Drop(from, to)) => Probe::Drop(self.pin(from), self.pin(to)),
            Observable::Meter(Measure::Ohms(from, to)) => Probe::Ohms(self.pin(from), self.pin(to)),
            Observable::Meter(Measure::ToGround(pin)) => Probe::ToGround(self.pin(pin)),
            Observable::Meter(Measure::Apart(pin)) => Probe::Apart(self.pin(pin)),
            Observable::Meter(Measure::Amps(wire)) => Probe::Amps(model.wire(wire).id.to_string()),
            Observable::Meter(Measure::Alone(wire)) => Probe::Wire(model.wire(wire).id.to_string()),
        }
    }

    /// What an answer begins with.
    pub fn ask(&self, look: Observable) -> String {
        if let Observable::Mended(mending) = look {
            return format!("mended {}", mending.words(self.model));
        }
        match self.probe(look) {
            Probe::Mend { action, .. } => action,
            Probe::Screen(name) | Probe::Part(name) | Probe::Fuse(name) => name,
            Probe::NewFuse { fuse, .. } => format!("{fuse} new"),
            Probe::Battery(_) => "battery".to_string(),
            Probe::Input(pin) => format!("input {pin}"),
            Probe::Plug(part) => format!("plug {part}"),
            Probe::Wire(wire) => format!("wire {wire} alone"),
            Probe::Cable(wire) => format!("cable {wire}"),
            Probe::Wiggle(place) => format!("wiggle {place}"),
            Probe::Pin(pin) => pin.pin,
            Probe::Unplugged(pin) => format!("{} unplugged", pin.pin),
            Probe::ToGround(pin) => format!("{} to ground", pin.pin),
            Probe::Apart(pin) => format!("{} unplugged to ground", pin.pin),
            Probe::Lamp(pin) => format!("{} lamp", pin.pin),
            Probe::Drop(from, to) | Probe::Ohms(from, to) => format!("{} to {}", from.pin, to.pin),
            Probe::Amps(wire) => format!("wire {wire}"),
        }
    }

    fn pin(&self, pin: PinId) -> ProbePin {
        let model = self.model;
        let words = |wire| {
            let wire = model.wire(wire);
            wire.colour.map_or_else(|| wire.id.to_string(), |colour| format!("{} {colour}", wire.id))
        };
        ProbePin {
            pin: model.pin_name(pin),
            place: model.place_name(model.part(model.pin(pin).part).at).to_string(),
            wires: model.wires_on(pin).map(words).collect(),
            by_wire: self.can_be_reversed(pin),
        }
    }

    fn can_be_reversed(&self, pin: PinId) -> bool {
        let elements = &self.model.part(self.model.pin(pin).part).elements;
        elements.iter().any(|id| matches!(self.model.element(*id).kind, ElementKind::Diode { .. }))
            && self.model.part(self.model.pin(pin).part).pins.len() == 2
    }

    /// What to mind before a step: what moves or switches on by it, and what the meter must not meet.
    pub fn cautions(&self, setting: &SetState, now: Option<&SetState>, look: Observable) -> Vec<String> {
        let mut all = Vec::new();
        let is_set = now.is_some_and(|now| now.name == setting.name);
        let has_hands_there = matches!(look, Observable::Wiggle(_) | Observable::Meter(_));
        if (needs_state(look) || matches!(look, Observable::Wiggle(_) | Observable::Mended(_)))
            && (!is_set || has_hands_there)
        {
            let moved = setting.moves.iter().filter_map(|step| match step {
                Move::Input(InputId(input), at) if *at != 0 => self.model.inputs.get(*input as usize),
                _ => None,
            });
            let moved: Vec<&Input> = moved.collect();
            let mut names: Vec<&str> = moved.iter().map(|input| input.name.as_str()).collect();
            names.dedup();
            // Equipment of the vehicle may lift something: no dash switch, no signal with a meaning of its own.
            let may_lift = moved.iter().any(|input| {
                input.pin.is_some() && input.switch.is_none() && input.means.is_none() && input.flash.is_none()
            });
            if !names.is_empty() {
                let on = if is_set { "on now" } else { "switched on for this step" };
                all.push(format!(
                    "{on}: {}. Engine off if you can, wheels blocked, parking brake on, nobody near what moves{}",
                    names.join(", "),
                    if has_hands_there && may_lift { ", what is raised is propped" } else { "" }
                ));
            }
        }
        match look {
            Observable::Mended(_) => all.push(
                "battery disconnected while wires or parts are mended; fuses of the same rating go back in".to_string(),
            ),
            Observable::Cable(_) => {
                all.push("battery disconnected first: no ohms with power on".to_string());
            }
            Observable::Meter(measure) if measure.is_without_power() => {
                all.push("battery disconnected first: no ohms with power on".to_string());
                if let Measure::Alone(wire) = measure {
                    all.extend(splices(self.model, wire).map(|splice| {
                        let splice = &self.model.part(splice).name;
                        format!("wire {wire} is crimped into splice {splice}: cut it beside the splice, and join it again sealed", wire = self.model.wire(wire).id)
                    }));
                }
            }
            Observable::Meter(Measure::Lamp(_)) => {
                all.push(
                    "no test lamp on airbag (SRS) or bus wires, nor on outputs of the vehicle's modules".to_string(),
                );
            }
            Observable::Meter(Measure::Amps(_)) => {
                all.push(
                    "meter on its 10 A range, in series; never across the battery or a fuse that is in".to_string(),
                );
            }
            Observable::NewFuse(_) => {
                all.push("the rating that is drawn, never a larger one; switch off before you put it in; if it blows, do not put in another".to_string());
            }
            Observable::Drain => {
                all.push("open doors and lamps draw current: close and switch off everything first".to_string())
            }
            Observable::Fuse(_) => all.push("put back a fuse of the rating that is drawn; never bridge it".to_string()),
            _ => {}
        }
        all
    }

    /// The answer in words for faults that share a code.
    pub fn shows(
        &self,
        dictionary: &Dictionary,
        extra: &[Extra],
        code: u16,
        faults: &[usize],
        at: usize,
        look: Observable,
    ) -> String {
        match look {
            _ if code == UNSETTLED => UNSTEADY.to_string(),
            Observable::Screen(_) => picture_of_code(code).words(self.model),
            Observable::Works(promise) => {
                let flashes = |fault: &usize| {
                    let shown = dictionary.now(*fault, at);
                    shown.is_some_and(|shown| shown.flashing_works.contains(&promise))
                };
                match WorksSeen::from_code(code) {
                    WorksSeen::On if faults.iter().all(flashes) => "on, flashing".to_string(),
                    seen => seen.words().to_string(),
                }
            }
            Observable::NewFuse(_) => match dictionary.settings.get(usize::from(code).wrapping_sub(1)) {
                Some(setting) => format!("blows when {}", setting.name),
                None => "holds".to_string(),
            },
            Observable::Input(_) => if code == 1 { "shows" } else { "nothing" }.to_string(),
            Observable::Plug(_) => if code == 1 { "exchanged" } else { "right" }.to_string(),
            Observable::Drain if code == 1 => format!("over {}", self.drain_limit),
            Observable::Drain => format!("up to {}", self.drain_limit),
            Observable::Fuse(_) => if code == 1 { "blown" } else { "whole" }.to_string(),
            Observable::Mended(_) => if code == 1 { "works" } else { "still" }.to_string(),
            Observable::Wiggle(_) => if code == 1 { "changes" } else { "nothing" }.to_string(),
            Observable::Cable(_) | Observable::Meter(Measure::Alone(_)) => {
                CableSeen::from_code(code).map_or("", CableSeen::words).to_string()
            }
            Observable::Meter(Measure::Lamp(_)) => {
                let all = [LampSeen::Dark, LampSeen::Dim, LampSeen::Lit];
                all.into_iter().find(|seen| *seen as u16 == code).map_or("", LampSeen::words).to_string()
            }
            Observable::Meter(Measure::Volts(pin)) => {
                let shown = faults.iter().filter_map(|fault| dictionary.now(*fault, at));
                self.range(shown.map(|shown| shown.voltage(pin)).collect())
            }
            Observable::Meter(measure) => {
                let extra = extra.iter().find(|extra| extra.measure == measure && extra.setting == at);
                let value = |fault: &usize| extra.and_then(|extra| extra.value(*fault));
                self.range(faults.iter().filter_map(value).collect())
            }
        }
    }

    /// The values from the least to the most.
    fn range(&self, values: Vec<MeterValue>) -> String {
        let number = |value: &MeterValue| match value {
            MeterValue::Lamp(lamp) => f64::from(*lamp as u16),
            MeterValue::Wire(seen) => f64::from(*seen as u16),
            value => value.number().unwrap_or_default(),
        };
        // What is no voltage reads as none.
        let none = self.model.job.nominal * NO_VOLTAGE;
        let rounded = |value: MeterValue| match value {
            MeterValue::Volts(volts) if volts.abs() < none => MeterValue::Volts(Volts::new(0.0)),
            other => other,
        };
        let values: Vec<MeterValue> = values.into_iter().map(rounded).collect();
        let least = values.iter().min_by(|a, b| number(a).total_cmp(&number(b)));
        let most = values.iter().max_by(|a, b| number(a).total_cmp(&number(b)));
        let (Some(least), Some(most)) = (least, most) else { return "nothing".to_string() };
        let limit = self.model.job.nominal.value() * BANDS[0];
        match (least, most) {
            (MeterValue::Volts(_), MeterValue::Volts(volts)) if volts.value().abs() < limit => {
                format!("under {}", Volts::new(limit))
            }
            // What a meter shows there is mostly its own leads.
            (MeterValue::Ohms(_), MeterValue::Ohms(ohms)) if ohms.value() < 1.0 => "under 1 Ω".to_string(),
            (MeterValue::Ohms(low), MeterValue::Ohms(_)) if *low >= HIGH_OHMS => format!("over {HIGH_OHMS}, or open"),
            (MeterValue::Flashing(low), MeterValue::Flashing(high)) => {
                let size = |volts: &Volts| MeterValue::Volts(*volts);
                format!("flashing, {}", self.range(vec![size(low), size(high)]))
            }
            _ if (number(most) - number(least)).abs() < 0.05 => format!("about {}", least.words()),
            _ if least.words() == most.words() => least.words(),
            _ => format!("{} to {}", least.words(), most.words()),
        }
    }
}
