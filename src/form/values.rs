//! The single values of the form: names, pin ends, colours, text, yes and no, quantities.

use super::node::{Kind, Node};
use super::place::{Place, Placed, Problem};
use super::reader::{Form, Reader, Schemas};
use quantity::{self, Quantity, QuantityError, Span};
use serde::Serialize;
use serde_json::{Value, json};
use std::fmt;
use std::ops::Deref;

/// A name: letters, digits, `-`, `_` and `+`, at most 40 characters, no blank and no point.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Default)]
#[serde(transparent)]
pub struct Name(String);

impl Name {
    /// A name that the program itself gives.
    pub fn new(text: impl Into<String>) -> Self {
        Name(text.into())
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Takes a name if it is well formed, else reports what is wrong with it.
    pub fn checked(text: &str, place: Place, reader: &mut Reader) -> Option<Name> {
        let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '+');
        let problem = if text.is_empty() {
            "a name can't be empty".to_string()
        } else if text.chars().count() > 40 {
            "a name has at most 40 characters".to_string()
        } else if let Some(bad) = text.chars().find(|&c| !fits(c)) {
            format!("`{}` isn't allowed in a name", bad.escape_default())
        } else if matches!(text, "and" | "or" | "not") {
            format!("`{text}` is a word of conditions and can't be a name")
        } else {
            return Some(Name(text.to_string()));
        };
        let problem = Problem::at(place, problem)
            .hint("names are made of letters, digits, `-`, `_` and `+`; titles and notes may hold any text");
        if text.is_empty() {
            reader.report(problem);
        } else {
            reader.malformed(text, problem);
        }
        None
    }
}

impl Deref for Name {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl Form for Name {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "a name")?;
        Name::checked(text, node.place, reader)
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "a name", "type": ["string", "integer"], "pattern": "^[\\p{L}\\p{N}_+-]{1,40}$" })
    }
}

/// Whether a character changes the order in which text is shown (Unicode's bidirectional controls).
pub fn is_reordering(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}')
}

/// Free text of at most 400 characters, on one line when printed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Text(pub String);

impl Deref for Text {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl Form for Text {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "text")?;
        if text.chars().count() > 400 {
            reader.report(Problem::at(node.place, "text of more than 400 characters").hint("shorten it"));
            return None;
        }
        let unprintable = |c: char| (c.is_control() && !c.is_whitespace()) || is_reordering(c);
        if let Some(bad) = text.chars().find(|&c| unprintable(c)) {
            let message = format!("the unprintable character U+{:04X} isn't allowed in text", u32::from(bad));
            reader.report(Problem::at(node.place, message).hint("remove it"));
            return None;
        }
        Some(Text(text.split_whitespace().collect::<Vec<_>>().join(" ")))
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "text", "type": ["string", "number", "boolean"], "maxLength": 400 })
    }
}

/// `yes` or `no`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct YesNo(pub bool);

impl Form for YesNo {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match reader.scalar(node, "yes or no")? {
            "yes" | "true" => Some(YesNo(true)),
            "no" | "false" => Some(YesNo(false)),
            other => {
                reader.report(Problem::at(node.place, format!("`{other}` is neither `yes` nor `no`")));
                None
            }
        }
    }
    fn absent() -> Option<Self> {
        Some(YesNo(false))
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "yes or no", "enum": ["yes", "no", true, false] })
    }
}

/// Where a wire ends: `PART.pin`, or the bare name of a supply, an input's feed, a splice or a ground.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct End {
    /// The part, supply, input, splice or ground.
    pub part: Name,
    /// Its pin, if it has more than one.
    pub pin: Option<Name>,
}

impl fmt::Display for End {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.pin {
            Some(pin) => f.pad(&format!("{}.{pin}", self.part)),
            None => f.pad(&self.part),
        }
    }
}

impl Form for End {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "an end such as K1.87")?;
        let (part, pin) = match text.split_once('.') {
            Some((part, pin)) => (part, Some(pin)),
            None => (text, None),
        };
        let part = Name::checked(part, node.place, reader)?;
        let pin = match pin {
            Some(pin) => Some(Name::checked(pin, node.place, reader)?),
            None => None,
        };
        Some(End { part, pin })
    }
    fn schema(_: &mut Schemas) -> Value {
        let pattern = "^[^.\\s]+(\\.[^.\\s]+)?$";
        json!({ "title": "an end of a wire", "type": "string", "pattern": pattern, "examples": ["K1.87", "battery"] })
    }
}

/// Reports why a quantity could not be read, with the units that would do.
fn report_quantity<Q: Quantity>(error: QuantityError, text: &str, place: Place, reader: &mut Reader) {
    let units = Q::UNITS.join(", ");
    let message = match &error {
        QuantityError::NotANumber => format!("`{text}` is not {}", Q::NAME),
        QuantityError::NoUnit => format!("`{text}` has no unit; {} is needed here", Q::NAME),
        QuantityError::WrongUnit(unit) => format!("`{unit}` is not a unit of {}", Q::NAME),
        QuantityError::OutOfRange => format!("`{text}` is out of range for {}", Q::NAME),
    };
    let is_range =
        |unit: &str| unit.strip_prefix(['-', '–']).is_some_and(|rest| rest.trim_start().starts_with(char::is_numeric));
    let hint = match &error {
        QuantityError::WrongUnit(unit) if is_range(unit) => {
            format!("a range is written with two dots: `{}`", text.replacen(['-', '–'], "..", 1))
        }
        _ => format!("write it with its unit ({units}), for example {}", Q::EXAMPLE),
    };
    reader.report(Problem::at(place, message).hint(hint));
}

fn quantity_schema<Q: Quantity>(range: bool) -> Value {
    let title = if range { format!("{}, or a range", Q::NAME) } else { Q::NAME.to_string() };
    let units: Vec<String> = Q::UNITS.iter().map(|u| u.replace('²', "[²]").replace('/', "\\/")).collect();
    let number = Q::NUMBER;
    let left = if range { format!("({number}[^.]*\\.\\.)?") } else { String::new() };
    let pattern = format!("^\\s*{left}{number}\\s*({})\\s*$", units.join("|"));
    json!({ "title": title, "type": "string", "pattern": pattern, "examples": [Q::EXAMPLE] })
}

macro_rules! quantity_forms {
    ($($name:ident),+) => {$(
        impl Form for quantity::$name {
            fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
                let text = reader.scalar(node, concat!("a value such as ", stringify!($name)))?;
                match text.parse::<Self>() {
                    Ok(q) => reader.is_allowed(&q, text, node.place).then_some(q),
                    Err(error) => { report_quantity::<Self>(error, text, node.place, reader); None }
                }
            }
            fn schema(_: &mut Schemas) -> Value { quantity_schema::<Self>(false) }
        }
        impl Form for Range<quantity::$name> {
            fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
                let text = reader.scalar(node, "a range such as 60..120 /min")?;
                match text.parse::<Span<quantity::$name>>() {
                    Ok(span) => [span.low, span.high]
                        .iter()
                        .all(|end| reader.is_allowed(end, text, node.place))
                        .then_some(Range(span)),
                    Err(error) => { report_quantity::<quantity::$name>(error, text, node.place, reader); None }
                }
            }
            fn schema(_: &mut Schemas) -> Value { quantity_schema::<quantity::$name>(true) }
        }
    )+};
}

/// A range of one quantity as it stands in a file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range<T>(pub Span<T>);

quantity_forms!(
    Volts,
    Amps,
    Ohms,
    Watts,
    Metres,
    Seconds,
    PerMinute,
    Share,
    Celsius,
    AmpHours,
    AmpSquaredSeconds,
    Gauge
);

/// What a part draws, as a current or as a power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Draw {
    /// A current.
    Current(quantity::Amps),
    /// A power, at the nominal voltage of the job.
    Power(quantity::Watts),
}

impl Form for Draw {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "a current or a power")?;
        if text.trim_end().ends_with('W') {
            return quantity::Watts::read(node, reader).map(Draw::Power);
        }
        quantity::Amps::read(node, reader).map(Draw::Current)
    }
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "anyOf": [quantity::Amps::schema(schemas), quantity::Watts::schema(schemas)] })
    }
}

/// A number without a unit.
impl Form for quantity::Exponent {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "a number such as 1.2")?;
        match text.parse::<Self>() {
            Ok(number) => reader.is_allowed(&number, text, node.place).then_some(number),
            Err(_) => {
                reader.report(Problem::at(node.place, format!("`{text}` is not a number such as 1.2")));
                None
            }
        }
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "a number", "type": ["number", "string"], "pattern": "^\\s*[+-]?[0-9]*\\.?[0-9]+\\s*$", "examples": [1.2] })
    }
}

/// A whole number from 0 to 9999.
impl Form for u16 {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        let text = reader.scalar(node, "a whole number")?;
        let number: Option<u16> = text.parse().ok().filter(|n| *n <= 9999);
        if number.is_none() {
            reader.report(Problem::at(node.place, format!("`{text}` is not a whole number from 0 to 9999")));
        }
        number.filter(|number| reader.is_allowed(number, text, node.place))
    }
    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "a whole number", "type": "integer", "minimum": 0, "maximum": 9999 })
    }
}

/// A map from free keys to values that are read as one form, in the order written.
impl<T: Form> Form for Vec<(Placed<Name>, T)> {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        if matches!(node.kind, Kind::Empty) {
            return Some(Vec::new());
        }
        let Some(entries) = reader.map(node, "this") else {
            reader.mark_unread(node);
            return None;
        };
        let mut pairs = Vec::new();
        for (key, value) in entries {
            if let (Some(name), Some(value)) = (Name::checked(&key.value, key.place, reader), T::read(value, reader)) {
                pairs.push((Placed { value: name, place: key.place }, value));
            }
        }
        Some(pairs)
    }
    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "type": "object", "additionalProperties": T::schema(schemas) })
    }
}
