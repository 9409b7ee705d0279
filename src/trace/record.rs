//! The record of a vehicle: what was found and changed at each visit. A trace begins with what the vehicle has.

use super::fault::{Harm, TOUCHING};
use super::seen::{WrongAnswer, pin_named, wire_named};
use circuit::{Change, Variant};
use facts::Facts;
use form::form;
use form::macros::serde_json::{Value, json};
use form::{Form, Node, Placed, Problem, Reader, Schemas, Text};
use std::fmt;

/// Version of the file's form.
const VERSION: &str = "1";

form! {
    /// The record of a vehicle.
    pub struct VehicleRecord ("the record of a vehicle") {
        /// Version of the form.
        pub version: Placed<Text>,
        /// The visits, the first one first.
        pub visits: Vec<RecordedVisit>,
    }
}

form! {
    /// A visit to the shop.
    pub struct RecordedVisit ("a visit") {
        /// Its date.
        pub date: VisitDate,
        /// The reading of the odometer or of the hour meter.
        pub distance: Option<Text>,
        /// What was found.
        pub findings: Vec<Text>,
        /// What was changed: `removed wire 7`, `removed D3` or `joined K1.30 to X2.3`.
        pub changes: Vec<Placed<Text>>,
        /// What remains to be done.
        pub remains: Vec<Text>,
    }
}

/// The day of a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VisitDate(jiff::civil::Date);

impl VisitDate {
    /// A day as ISO 8601 writes it: year, month and day with hyphens.
    ///
    /// # Errors
    /// Any other text, and a day that no calendar has.
    pub fn from_words(text: &str) -> Result<VisitDate, WrongAnswer> {
        let date = text.parse::<jiff::civil::Date>().ok().map(VisitDate);
        // The parser also takes a date with a time, and one without hyphens.
        date.filter(|date| date.to_string() == text).ok_or_else(|| WrongAnswer {
            what: format!("`{text}` is not a date"),
            hint: "write year, month and day: `2026-05-01`".to_string(),
        })
    }
}

impl VisitDate {
    /// Whether it is later than a day, which counts from 1970-01-01, and the day after it: somewhere that day has begun.
    pub fn is_after(self, day: i32) -> bool {
        let first = jiff::civil::date(1970, 1, 1);
        let next = first.checked_add(jiff::Span::new().days(day.saturating_add(1)));
        next.is_ok_and(|next| self.0 > next)
    }
}

impl fmt::Display for VisitDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl Form for VisitDate {
    fn read(node: &Node, reader: &mut Reader) -> Option<VisitDate> {
        let text = reader.scalar(node, "a date such as 2026-05-01")?;
        match VisitDate::from_words(text) {
            Ok(date) => Some(date),
            Err(wrong) => {
                reader.report(Problem::at(node.place, wrong.what).hint(wrong.hint));
                None
            }
        }
    }

    fn schema(_: &mut Schemas) -> Value {
        json!({ "title": "a date", "type": "string", "format": "date", "examples": ["2026-05-01"] })
    }
}

/// A visit that is added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewVisit {
    /// Its date.
    pub date: VisitDate,
    /// The reading of the odometer or of the hour meter; may be empty.
    pub distance: String,
    /// What was found.
    pub findings: Vec<String>,
    /// What was changed.
    pub changes: Vec<String>,
    /// What remains to be done.
    pub remains: Vec<String>,
}

impl RecordedVisit {
    fn is_same(&self, visit: &NewVisit) -> bool {
        // As they are read back: a space between words.
        let spaced = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let are = |own: &[&Text], new: &[String]| {
            own.iter().map(|text| spaced(&text.0)).eq(new.iter().map(|text| spaced(text)))
        };
        let distance = self.distance.as_ref().map_or("", |text| text.0.as_str());
        self.date == visit.date
            && spaced(distance) == spaced(&visit.distance)
            && are(&self.findings.iter().collect::<Vec<_>>(), &visit.findings)
            && are(&self.changes.iter().map(|change| &change.value).collect::<Vec<_>>(), &visit.changes)
            && are(&self.remains.iter().collect::<Vec<_>>(), &visit.remains)
    }
}

impl VehicleRecord {
    /// Reads a record. `file` is the file's number among the sources of messages.
    ///
    /// # Errors
    /// A text that is no record, or has another version.
    pub fn read(file: usize, text: &str) -> Result<VehicleRecord, Vec<Problem>> {
        let node = form::node::parse(file, text)?;
        let mut reader = Reader::default();
        match VehicleRecord::form(&node, &mut reader) {
            Some(record) if reader.problems.is_empty() => Ok(record),
            _ => Err(reader.problems),
        }
    }

    fn form(node: &Node, reader: &mut Reader) -> Option<VehicleRecord> {
        let record = <VehicleRecord as Form>::read(node, reader)?;
        if record.version.value.0 != VERSION {
            let message = format!("version {} of a record can't be read, only version {VERSION}", record.version.value);
            reader.report(Problem::at(record.version.place, message).hint("use the program that wrote it"));
        }
        Some(record)
    }

    /// The text of a record with one more visit. Every byte of the old text stays; an empty one begins a record.
    ///
    /// # Errors
    /// An old text that is no record, or that has something after its visits, so that nothing can be added at its end.
    pub fn with_visit(old: &str, visit: &NewVisit) -> Result<String, Vec<Problem>> {
        let known = match old.trim().is_empty() {
            true => Vec::new(),
            false => VehicleRecord::read(0, old)?.visits,
        };
        follows(&known, visit).map_err(|wrong| vec![Problem::whole(wrong.what).hint(wrong.hint)])?;
        let before = known.len();
        let mut text = match old.trim().is_empty() {
            true => format!(
                "{old}# What was found and changed in this vehicle, the first visit first.\nversion: {VERSION}\nvisits:\n"
            ),
            false => old.to_string(),
        };
        if !text.ends_with('\n') {
            text.push('\n');
        }
        let quoted = |text: &String| form::macros::serde_json::to_string(text).unwrap_or_default();
        let list = |all: &[String]| format!("[{}]", all.iter().map(quoted).collect::<Vec<_>>().join(", "));
        text.push_str(&format!("  - date: {}\n", quoted(&visit.date.to_string())));
        if !visit.distance.is_empty() {
            text.push_str(&format!("    distance: {}\n", quoted(&visit.distance)));
        }
        for (key, all) in [("findings", &visit.findings), ("changes", &visit.changes), ("remains", &visit.remains)] {
            text.push_str(&format!("    {key}: {}\n", list(all)));
        }
        let after = VehicleRecord::read(0, &text).map(|record| record.visits.len());
        match after {
            Ok(after) if after == before + 1 => Ok(text),
            _ => Err(vec![
                Problem::whole("a visit can't be added at the end of this record")
                    .hint("put `visits` last, each visit as `  - date: …`; the old text was not changed"),
            ]),
        }
    }
}

/// Whether a visit can follow those that are known.
fn follows(known: &[RecordedVisit], visit: &NewVisit) -> Result<(), WrongAnswer> {
    if let Some(last) = known.last().filter(|last| last.date.0 > visit.date.0) {
        return Err(WrongAnswer {
            what: format!("the last visit was on {}, after {}", last.date, visit.date),
            hint: "correct the date of the new visit; the first visit comes first".to_string(),
        });
    }
    if known.last().is_some_and(|last| last.is_same(visit)) {
        return Err(WrongAnswer {
            what: format!("the visit of {} is in the record already, word for word", visit.date),
            hint: "give `--found`, `--changed` or `--remains` what this visit adds".to_string(),
        });
    }
    let new = Distance::from_words(&visit.distance)?;
    let earlier = known.iter().rev().filter_map(|one| Distance::from_words(&one.distance.as_ref()?.0).ok()?);
    match (new, earlier.into_iter().next()) {
        (Some(new), Some(last)) if new.unit == last.unit && new.number < last.number => Err(WrongAnswer {
            what: format!("{} is less than the {} {} of an earlier visit", visit.distance, last.number, last.unit),
            hint: "read the odometer again; after it was replaced, write its own words: `120 km on the new odometer`"
                .to_string(),
        }),
        _ => Ok(()),
    }
}

/// The reading of an odometer or an hour meter.
struct Distance {
    number: f64,
    unit: String,
}

impl Distance {
    /// `84000 km`, `84 000 km`, `1203 h`; nothing for no words.
    fn from_words(text: &str) -> Result<Option<Distance>, WrongAnswer> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        let is_of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ' ' | '_' | '\'');
        let end = text.find(|c: char| !is_of_number(c)).unwrap_or(text.len());
        let digits: String = text[..end].chars().filter(|c| c.is_ascii_digit() || *c == '.').collect();
        let number = digits.parse::<f64>().ok().filter(|number| number.is_finite());
        let number = number.ok_or_else(|| WrongAnswer {
            what: format!("`{text}` is not a reading of an odometer or an hour meter"),
            hint: "write a number and its unit: `84000 km`, `1203 h`".to_string(),
        })?;
        Ok(Some(Distance { number, unit: text[end..].trim().to_string() }))
    }
}

/// How the vehicle differs from the spec, by the changes of all visits.
pub(crate) fn as_built(facts: &Facts, record: &VehicleRecord) -> Result<Harm, Box<Problem>> {
    let mut all = Harm::default();
    for change in record.visits.iter().flat_map(|visit| &visit.changes) {
        let made = changed(facts, &change.value.0)
            .map_err(|(what, hint)| Box::new(Problem::at(change.place, what).hint(hint)))?;
        all = all.and(&made);
    }
    Ok(all)
}

fn changed(facts: &Facts, text: &str) -> Result<Harm, (String, String)> {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
    let words: Vec<&str> = text.split_whitespace().collect();
    let pin = |name: &str| {
        let pin = pin_named(facts, name).map_err(|wrong| (wrong.what, wrong.hint))?;
        assembly.pin(pin).ok_or_else(|| (format!("`{name}` carries no current"), "name another pin".to_string()))
    };
    match words[..] {
        ["removed", "wire", id] => {
            let wire = wire_named(facts, id).map_err(|wrong| (wrong.what, wrong.hint))?;
            Ok(Harm { variant: Variant::open(assembly.wire(wire)), wires: vec![wire], ..Harm::default() })
        }
        ["removed", part] => {
            let id = model.part_named(part).ok_or_else(|| {
                (format!("`{part}` is not a part"), "write a part as the spec does, such as `removed D3`".to_string())
            })?;
            let branches =
                model.part(id).elements.iter().flat_map(|element| assembly.element(*element).iter().copied());
            Ok(Harm { variant: Variant::open(branches), ..Harm::default() })
        }
        ["joined", from, "to", to] => {
            Ok(Harm { variant: Change::Between(pin(from)?, pin(to)?, TOUCHING).into(), ..Harm::default() })
        }
        _ => Err((
            format!("`{text}` is no change"),
            "write `removed wire 7`, `removed D3` or `joined K1.30 to X2.3`".to_string(),
        )),
    }
}
