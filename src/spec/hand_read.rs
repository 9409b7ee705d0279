//! Forms that no declaration covers: a list of exactly three, a quantity or a word, a condition or more about it, and
//! a map with some free keys.

use super::forms::{FlashForm, StepForm, SupplyStep, VoltsTriple, Works, WorksForm};
use form::{Condition, Form, Kind, Name, Node, Placed, Problem, Reader, Schemas, YesNo};
use quantity::{Seconds, Span, Volts};
use serde_json::{Value, json};

impl Form for VoltsTriple {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let Kind::List(items) = &node.kind else {
            if let Kind::Scalar(text) = &node.kind
                && let Ok(span) = text.parse::<Span<Volts>>()
                && span.low < span.high
            {
                // A lead-acid battery at rest has 2.1 V a cell (common practice, no source).
                let nominal: f64 = if span.low.value() < 16.0 { 12.6 } else { 25.2 };
                let nominal = Volts::new(nominal.clamp(span.low.value(), span.high.value()));
                reader.report(
                    Problem::at(node.place, "three voltages are needed: lowest, nominal, highest, in this order")
                        .hint(format!("write [{}, {nominal}, {}]", span.low, span.high)),
                );
                return None;
            }
            let volts = Volts::read(node, reader)?;
            return Some(VoltsTriple([volts; 3]));
        };
        let volts: Vec<Volts> = items.iter().filter_map(|item| Volts::read(item, reader)).collect();
        match volts[..] {
            [least, nominal, greatest] if least <= nominal && nominal <= greatest => {
                Some(VoltsTriple([least, nominal, greatest]))
            }
            _ if volts.len() < items.len() => None,
            _ => {
                reader.report(
                    Problem::at(node.place, "three voltages are needed: lowest, nominal, highest, in this order")
                        .hint("for example [11.8 V, 12.6 V, 14.6 V]"),
                );
                None
            }
        }
    }
    fn schema(schemas: &mut Schemas) -> Value {
        let volts = Volts::schema(schemas);
        json!({ "anyOf": [volts.clone(), { "type": "array", "minItems": 3, "maxItems": 3, "items": volts }] })
    }
}

impl Form for SupplyStep {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match reader.scalar(node, "a voltage or `usual`")? {
            "usual" => Some(SupplyStep::Usual),
            _ => Volts::read(node, reader).map(SupplyStep::At),
        }
    }
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "anyOf": [{ "const": "usual" }, Volts::schema(schemas)] })
    }
}

impl Form for Works {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let one = |node: &Node, reader: &mut Reader| match &node.kind {
            Kind::Map(_) => WorksForm::read(node, reader),
            _ => {
                let when = Condition::read(node, reader)?;
                Some(WorksForm { when, load: None, within: None, steady: YesNo(false), incomplete: false })
            }
        };
        let items = match &node.kind {
            Kind::List(items) => items.as_slice(),
            _ => std::slice::from_ref(node),
        };
        Some(Works(items.iter().filter_map(|item| one(item, reader)).collect()))
    }
    fn absent() -> Option<Self> {
        Some(Works(Vec::new()))
    }
    fn schema(schemas: &mut Schemas) -> Value {
        let one = json!([Condition::schema(schemas), WorksForm::schema(schemas)]);
        json!({ "anyOf": [one[0], one[1], { "type": "array", "items": { "anyOf": one } }] })
    }
}

impl Form for StepForm {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let entries = reader.map(node, "a step of a drive")?;
        let at: Placed<Seconds> = reader.field(entries, "at", node.place, ("StepForm", "a step of a drive"))?;
        let mut step = StepForm { at, changes: Vec::new(), flash: None, supply: None, expect: Vec::new() };
        for (key, value) in entries {
            match key.as_str() {
                "at" => {}
                "flash" => step.flash = Some(FlashForm::read(value, reader)?),
                "supply" => {
                    step.supply =
                        reader.at_key("StepForm", "supply", true, |reader| SupplyStep::read(value, reader)).map(Some)?
                }
                "expect" => step.expect = Vec::<(Placed<Name>, Placed<Name>)>::read(value, reader)?,
                input => {
                    let name = Name::checked(input, key.place, reader);
                    if let (Some(name), Some(position)) = (name, Placed::<Name>::read(value, reader)) {
                        step.changes.push((Placed { value: name, place: key.place }, position));
                    }
                }
            }
        }
        Some(step)
    }
    fn schema(schemas: &mut Schemas) -> Value {
        schemas.named("StepForm", |schemas| {
            let described = |mut schema: Value, words: &str| {
                schema["description"] = json!(words);
                schema
            };
            let at = schemas.described("StepForm", "at", "Time from the start of the drive.");
            let supply = schemas.described(
                "StepForm",
                "supply",
                "The supply's voltage from here on, or `usual`. Without it, as before.",
            );
            let name = Name::schema(schemas);
            let shown = json!({ "type": "object", "additionalProperties": name.clone() });
            json!({
                "type": "object",
                "description": "One step of a drive: a time, the inputs that change, and what the screens should show.",
                "required": ["at"],
                "properties": {
                    "at": described(Seconds::schema(schemas), &at),
                    "flash": described(FlashForm::schema(schemas), "Flash rate and on-time share from here on."),
                    "supply": described(SupplyStep::schema(schemas), &supply),
                    "expect": described(shown, "For each screen, what it should show at this time."),
                },
                "additionalProperties": described(name, "An input, and the position it is put to."),
            })
        })
    }
}
