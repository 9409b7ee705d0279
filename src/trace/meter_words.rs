//! What a meter reads, from words.

use super::cable::CableSeen;
use super::measure::{LampSeen, Measure, MeterValue};
use super::seen::{Answered, Observation, WrongAnswer, pin_named, wire_named};
use super::setting::SetState;
use super::shown::drain_limit;
use circuit::Law;
use facts::Facts;
use quantity::{Amps, Ohms, Quantity, Volts, read_loosely};
use std::str::FromStr;

impl Observation {
    /// What a meter or a test lamp shows in a setting: `PIN 11.9 V`, `PIN flashing 11.9 V`, `PIN unplugged 11.9 V`, `PIN to PIN 0.2 V`,
    /// `PIN to PIN 0.4 ohm` or `open`, `PIN to ground 0.4 ohm`, `PIN unplugged to ground open`, `wire 12 0.8 A`, `wire 12 alone open`, `battery 0.3 A`, `PIN lamp lit`, `dim` or
    /// `dark`.
    ///
    /// # Errors
    /// A pin or wire that does not exist or carries no current, or no number.
    pub fn read(facts: &Facts, text: &str, setting: SetState) -> Result<Observation, WrongAnswer> {
        let spaced = text.replace('=', " ");
        let mut words = spaced.split_whitespace();
        let first = words.next().unwrap_or_default();
        let rest: Vec<&str> = words.collect();
        let (measure, value) = match (first, &rest[..]) {
            ("battery", [_, ..]) if read_loosely::<Amps>(&rest.join(" ")).is_some() => {
                let amps: Amps = number(&rest.join(" "), "a current, such as `0.3 A`")?;
                return Ok(Observation::new(setting, Answered::Drain(amps > drain_limit(facts))));
            }
            ("wire", [wire, "alone", seen]) => (Measure::Alone(wire_named(facts, wire)?), alone(seen)?),
            ("wire", [wire, value @ ..]) => {
                let value = number::<Amps>(&value.join(" "), "a current, such as `0.8 A`")?;
                (Measure::Amps(wire_named(facts, wire)?), MeterValue::Amps(value.abs()))
            }
            (pin, ["to", "ground", value @ ..]) if facts.model.part_named("ground").is_none() => {
                (Measure::ToGround(pin_named(facts, pin)?), ohms(&value.join(" "))?)
            }
            (pin, ["unplugged", "to", "ground", value @ ..]) => {
                (Measure::Apart(pin_named(facts, pin)?), ohms(&value.join(" "))?)
            }
            (pin, ["to", other, value @ ..]) => {
                between(pin_named(facts, pin)?, pin_named(facts, other)?, &value.join(" "))?
            }
            (pin, ["unplugged", value @ ..]) => {
                (Measure::Unplugged(pin_named(facts, pin)?), volts(facts, &value.join(" "))?)
            }
            (pin, ["lamp", seen]) => (Measure::Lamp(pin_named(facts, pin)?), lamp(seen)?),
            (pin, [_, ..]) => (Measure::Volts(pin_named(facts, pin)?), volts(facts, &rest.join(" "))?),
            _ => {
                return Err(WrongAnswer {
                    what: format!("`{text}` does not say what the meter reads"),
                    hint: "write the pin, then the voltage: `K1.86 11.9 V`".to_string(),
                });
            }
        };
        Ok(Observation::new(setting, Answered::Meter(measure, value)))
    }
}

fn between(from: model::PinId, to: model::PinId, value: &str) -> Result<(Measure, MeterValue), WrongAnswer> {
    if matches!(value, "open" | "open line") {
        return Ok((Measure::Ohms(from, to), MeterValue::Ohms(Ohms::new(f64::INFINITY))));
    }
    if let Ok(ohms) = Ohms::from_str(value) {
        return Ok((Measure::Ohms(from, to), positive(ohms)?));
    }
    let what = "a voltage or a resistance, such as `0.2 V`, `0.4 ohm` or `open`";
    Ok((Measure::Drop(from, to), MeterValue::Volts(number(value, what)?)))
}

fn ohms(text: &str) -> Result<MeterValue, WrongAnswer> {
    if matches!(text, "open" | "open line") {
        return Ok(MeterValue::Ohms(Ohms::new(f64::INFINITY)));
    }
    positive(number::<Ohms>(text, "a resistance, such as `0.4 ohm` or `open`")?)
}

/// A resistance is not negative.
fn positive(ohms: Ohms) -> Result<MeterValue, WrongAnswer> {
    match ohms < Ohms::new(0.0) {
        true => Err(WrongAnswer {
            what: format!("{ohms} can't be: a resistance is not negative"),
            hint: "a voltage is on what you measure: disconnect the battery, zero the meter, and measure again"
                .to_string(),
        }),
        false => Ok(MeterValue::Ohms(ohms)),
    }
}

/// A reading is at most this many times the highest voltage of any supply in the spec, which is a charging battery's: the
/// meter's own error (typical, common practice, no source).
const HIGHEST: f64 = 1.1;

/// A reading below this share of the nominal voltage may be negative: the leads' own voltage, or noise.
const LOWEST: f64 = -0.1;

fn volts(facts: &Facts, text: &str) -> Result<MeterValue, WrongAnswer> {
    let nominal = facts.model.job.nominal;
    let (flashes, text) = match text.strip_prefix("flashing").or_else(|| text.strip_prefix("flashes")) {
        Some(rest) => (true, rest.trim()),
        None => (false, text),
    };
    let read: Volts = match (flashes, text) {
        (true, "") => nominal,
        _ => number(text, "a number in volts, such as `11.9 V`, or `flashing 11.9 V`")?,
    };
    let wrong = |hint: String| Err(WrongAnswer { what: format!("{read} can't be in a {nominal} vehicle"), hint });
    let most = highest(facts);
    match read / nominal {
        _ if read > most * HIGHEST => wrong(format!(
            "no supply of this harness gives more than {most}: read again, mind the meter's range and unit, and measure at \
             the battery whether the alternator charges too high"
        )),
        share if share < LOWEST => wrong("put the black lead on the battery's negative and read again".to_string()),
        _ if flashes => Ok(MeterValue::Flashing(read)),
        _ => Ok(MeterValue::Volts(read)),
    }
}

/// The highest voltage that a supply of the harness gives.
fn highest(facts: &Facts) -> Volts {
    let branches = facts.solved.assembly.circuit.branches.iter();
    let volts = branches.filter_map(|branch| match branch.law {
        Law::Source { volts, .. } => Some(volts[2]),
        Law::Regulated { volts, .. } => Some(volts),
        _ => None,
    });
    volts.fold(facts.model.job.nominal, Volts::max)
}

/// A number with its unit; without one, in the usual unit.
fn number<Q: Quantity>(text: &str, example: &str) -> Result<Q, WrongAnswer> {
    read_loosely(text)
        .ok_or_else(|| WrongAnswer { what: format!("`{text}` is not a reading"), hint: format!("write {example}") })
}

fn alone(text: &str) -> Result<MeterValue, WrongAnswer> {
    CableSeen::from_words(text).map(MeterValue::Wire).ok_or_else(|| WrongAnswer {
        what: format!("`{text}` is not the state of a wire"),
        hint: "write whole, open, shorted, or high for a resistance of several ohms".to_string(),
    })
}

fn lamp(text: &str) -> Result<MeterValue, WrongAnswer> {
    match text {
        "lit" => Ok(MeterValue::Lamp(LampSeen::Lit)),
        "dim" => Ok(MeterValue::Lamp(LampSeen::Dim)),
        "dark" | "not" => Ok(MeterValue::Lamp(LampSeen::Dark)),
        _ => Err(WrongAnswer {
            what: format!("`{text}` does not say how the test lamp burns"),
            hint: "write lit, dim or dark".to_string(),
        }),
    }
}
